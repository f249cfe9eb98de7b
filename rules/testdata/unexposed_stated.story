# A class of less than eight hours: its average over 8 h can't be told until a manager has
# stated that nobody is exposed outside the class, and no longer once that is withdrawn.
date 2026-10-16
18:00 say dev 20
18:00 say flow 300
18:00 say fan 1
18:00 say acid 4
18:00 refuse Ada "unexposed time stated" {"off":true,"why":"never mind"} => no statement to withdraw
18:00 refuse Ada "unexposed time stated" {} => reason is missing
18:00 do Ada "session started" {"phase":"open","title":"Open evening","people":6}
19:00 gas acid can't tell
19:00 do Ada "unexposed time stated" {"effective":"2026-10-01T00:00:00Z","why":"no other work with acid"}
19:02 gas acid within the limit
19:02 gas acid count as zero by the statement of Ada
# after a restart the book still knows the statement, but the readings of the class are gone
20:00 restart
20:02 gas acid can't tell
20:10 do Ada "unexposed time stated" {"off":true,"why":"two of them work in a print shop"}
20:12 gas acid can't tell
