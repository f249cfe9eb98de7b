# The air is within the limits of the file. At seven a person enters a stricter ceiling of
# the place, and from the next full minute on it is judged by; taken off again, the
# alarm ends.
date 2026-10-14
17:00 say dev 20
17:00 say stop 20
17:00 say fix1 20
17:00 say fix2 20
17:00 say aid 20
17:00 say wash 20
17:00 say flow 300
17:00 say fan 1
17:00 say pressure -5
17:00 say acid 4
18:00 fill stop stop bath
19:00 gas acid within the limit
19:00 lit none
19:00 do Ada "breathing limit" {"agent":"acetic acid","jurisdiction":"the place","limit":"ceiling","value":7.5,"unit":"mg/m3","standing":"verified","source":"decision of the place","edition":"2026"}
19:01:10 gas acid over the limit
19:01:10 lit breathing:acid=unacknowledged
19:01:10 urgent breathing:acid
19:10 do Ada "breathing limit" {"agent":"acetic acid","jurisdiction":"the place","limit":"ceiling","off":true,"why":"it was a drill"}
19:11:10 gas acid within the limit
19:20 lit breathing:acid=returned-to-normal,-not-yet-seen
