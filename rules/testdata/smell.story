# Somebody complains of a smell while every reading is in order. The complaint and the
# readings are on record, the room does not call anything safe, and no alarm is invented.
date 2026-10-14
17:30 say acid 2
17:30 say dev 20
17:30 say stop 20
17:30 say fix1 20
17:30 say fix2 20
17:30 say aid 20
17:30 say wash 20
17:30 say flow 300
17:30 say fan 1
17:30 say pressure -5
18:00 fill stop stop bath
19:00 gas acid 2 ppm
19:00 gas acid within the limit
19:20 refuse Bo "complaint" {"what":""} => missing
19:20 do Bo "complaint" {"what":"sharp smell at the stop bath"}
19:20 notice Bo reported at 19:20: sharp smell at the stop bath
19:20 lit none
19:20 recorded 1 complaint
19:20 recorded 1 readings at a complaint practice record
20:20 notice Bo reported
20:50 empty stop
32:30 notice none
