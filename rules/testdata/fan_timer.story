# The fan's count-down ends two hours into a three-hour class. It has stopped after two
# hours before, so the room knows it beforehand.
date 2026-10-14
runs 120m 120m10s 119m50s 95m 120m
17:30 say flow 0
17:30 say fan 0
17:30 say pressure 0
17:30 say acid 0
17:30 say dev 20
17:30 say stop 20
17:30 say fix1 20
17:30 say fix2 20
17:30 say aid 20
17:30 say wash 20
18:00 say flow 300
18:00 say fan 1
18:00 say pressure -5
18:05 fill dev print developer
18:05 fill fix1 fixer
18:10 phase open
18:10 notice The fan stops by itself at about 20:00, the session ends at 21:00
18:10 lit none
19:59 notice stops by itself
20:00 say flow 8
20:00 say fan 0
20:00 say pressure 0
20:00:10 lit none
20:00:20 lit air=unacknowledged
20:00:20 urgent air
20:00:20 says air Switch the fan on
20:00:20 air stopped
20:00:20 notice none
20:02 do Ada "alarm acknowledged" {"alarm":"air","done":"started the timer again"}
20:02 lit air=acknowledged
20:02 refuse Ada "alarm acknowledged" {"alarm":"air","done":"again"} => nothing to acknowledge
20:03 say flow 290
20:03 say fan 1
20:03 say pressure -5
20:03:30 lit none
20:30 counted 2.8..3.3 of 144..146
20:30 recorded 1 alarm air unacknowledged
20:30 recorded 1 alarm air acknowledged
20:30 recorded 1 alarm air normal
20:30 recorded 6 fan run
