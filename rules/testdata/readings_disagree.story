# The flow probe stands still at what it read last while somebody switches the fan off: the
# switch contradicts it, so nothing is proven, an alarm says so, and no number is shown.
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
18:30 air moving
18:30 counted 0..0 of 29..31
18:30 say fan 0
18:30 say pressure 0
# a fan runs down within seconds: its moments are no disagreement
18:30:10 air moving
18:31 air readings disagree
18:31 lit air-readings=unacknowledged
18:31 urgent air-readings
18:31 says air-readings fan on
19:00 counted 29..30 of 59..61
19:00 recorded 1 air state practice readings disagree
19:00 do Ada "alarm acknowledged" {"alarm":"air-readings","done":"switched the fan on"}
19:00 say fan 1
19:00 say pressure -5
19:01 air moving
19:01 lit none
19:30 counted 29..31 of 88..91
# a stop that the probe does follow is a stop
19:30 say fan 0
19:30 say pressure 0
19:30:05 say flow 100
19:30:10 say flow 0
19:31 air stopped
19:31 lit air=unacknowledged
19:31 recorded 1 alarm air-readings unacknowledged
