# Too little air, nobody has answered yet, and the flow probe drops out for moments: the
# alarm stands as it was raised, once, and over a restart. While the flow lies between low
# and moving again, a moment without it does not make the air move.
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
18:30 say flow 200
18:31 lit air-low=unacknowledged
18:32 doubt flow 900 jump
18:32:05 air not proven
18:32:05 lit air-low=unacknowledged
18:32:10 say flow 200
18:33 lit air-low=unacknowledged
18:34 say flow 250
18:34:30 air low
18:35 doubt flow 900 jump
18:35:10 say flow 250
18:36 air low
18:36 lit air-low=unacknowledged
18:37 restart
18:37 lit air-low=unacknowledged
18:38 recorded 1 alarm air-low
18:38 do Ada "alarm acknowledged" {"alarm":"air-low","done":"cleaned the filter"}
18:39 say flow 300
18:40 lit none
# the same for a bath whose probe gives one reading that is not believed
19:00 say dev 26
19:02 lit bath:dev=unacknowledged
19:03 doubt dev 50 jump
19:03:05 lit bath:dev=unacknowledged
19:03:05 say dev 26
19:05 lit bath:dev=unacknowledged
19:05 recorded 1 alarm bath:dev
# a probe that stays away is an alarm of its own, which explains the bath's
19:10 mute dev
19:12 lit channel:dev=unacknowledged
19:12 say dev 20
19:13 do Ada "alarm acknowledged" {"alarm":"channel:dev","done":"hung it back"}
19:14 lit none
# a probe that drops out every ten seconds hides nothing
19:30 say flow 200
19:30:10 doubt flow 900 jump
19:30:15 say flow 200
19:30:20 doubt flow 900 jump
19:30:25 say flow 200
19:30:30 lit air-low=unacknowledged
