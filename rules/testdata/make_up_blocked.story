# Someone covers the make-up grille with black cloth: the fan runs, the room is drawn
# down, and less air moves. One cause, one alarm, with what to look for.
date 2026-10-14
17:30 say acid 0
17:30 say dev 20
17:30 say stop 20
17:30 say fix1 20
17:30 say fix2 20
17:30 say aid 20
17:30 say wash 20
17:30 say flow 300
17:30 say fan 1
17:30 say pressure -5
18:00 fill dev print developer
18:30 lit none
18:40 say flow 190
18:40 say pressure -18
18:40:10 lit none
18:40:40 lit make-up=unacknowledged
18:40:40 says make-up covered grille
18:40:40 air low
19:00 do Ada "alarm acknowledged" {"alarm":"make-up","done":"took the cloth off"}
19:00 say flow 300
19:00 say pressure -5
19:01 lit none
19:01 recorded 1 alarm make-up unacknowledged
19:01 recorded 0 alarm air-low unacknowledged
# a filter that clogs lowers the flow without drawing the room down: another alarm
19:30 say flow 200
19:30 say pressure -3
19:31 lit air-low=unacknowledged
19:31 says air-low filter
# and when the fan then stops, whoever had seen the one hears of the other
19:32 do Ada "alarm acknowledged" {"alarm":"air-low","done":"looked at the filter"}
19:33 say flow 0
19:33 say pressure 0
19:34 lit air=unacknowledged
19:34 urgent air
19:34 says air belt
