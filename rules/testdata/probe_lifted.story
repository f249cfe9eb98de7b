# Tongs lift the developer's probe out of the tray for four minutes: it reads air, jumps,
# and is not believed. No time is given from it, and it comes back by itself.
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
18:30 time dev 1:40..1:50
19:00 doubt dev 25.4 jump
19:00:05 refused dev suspect (jump)
19:00:05 lit none
19:00:20 lit channel:dev=unacknowledged
19:00:20 says channel:dev is in the tray
19:01 mute dev
19:01:20 refused dev missing (silent
19:03:55 refused dev missing
19:04 say dev 19.8
19:04:05 time dev 1:40..1:55
19:04:20 lit channel:dev=returned-to-normal,-not-yet-seen
19:05 do Ada "alarm acknowledged" {"alarm":"channel:dev","done":"hung it back"}
19:05 lit none
19:05 recorded 1 channel quality dev suspect
19:05 recorded 1 channel quality dev missing
19:05 recorded 2 channel quality dev good
19:05 recorded 0 alarm bath:dev
