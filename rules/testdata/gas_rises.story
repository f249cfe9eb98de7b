# Stop bath is spilled: the average over 15 minutes comes near its limit, passes it, and
# the sensor falls silent for a while: a gap is never zero.
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
17:00 say acid 0.05
17:10 gas acid below 0.1 ppm
18:00 fill stop stop bath
18:30 say acid 1 to 40 by 18:50
18:40 notice limit is reached in about
18:43 lit none
18:52 lit breathing:acid=unacknowledged
18:52 urgent breathing:acid
18:52 says breathing:acid send everybody out
18:52 gas acid over the limit
18:55 do Ada "alarm acknowledged" {"alarm":"breathing:acid","done":"aired"}
19:00 mute acid
19:00:40 gas acid missing (silent
# nothing is known of the last ten minutes: neither over nor within
19:20 gas acid can't tell
19:20 lit breathing:acid=acknowledged channel:acid=unacknowledged
19:30 say acid 0.5
20:00 gas acid within the limit
20:06 lit channel:acid=returned-to-normal,-not-yet-seen
