# An evening without trouble: no alarm, one warning less to read, all of it counted.
date 2026-10-14
17:00 phase planned
17:00 armed no
17:00 say flow 0
17:00 say fan 0
17:00 say pressure 0
17:00 say acid 0
17:00 say dev 19
17:00 say stop 20
17:00 say fix1 20
17:00 say fix2 20
17:00 say aid 20
17:00 say wash 18
17:01 air stopped
17:01 lit none
17:01 airing none
17:20 say fan 1
17:20 say flow 300
17:20 say pressure -5
17:21 air moving
17:21 phase set-up
# 30 m³ at 300 m³/h: 99 % of the old air takes 27.6 min (-ln 0.01 / 10 an hour)
17:34 airing 89..91 before
17:47:25 airing 98..98.99 before
17:48 airing 99..100 before
17:50 refused dev no batch
17:50 fill dev print developer
17:50:05 phase set-up
17:50:05 armed yes
17:52 time dev 1:45..2:10
17:52 fill stop stop bath
17:52 fill fix1 fixer
18:00:05 phase open
18:30 say dev 20 to 22 by 20:00
19:00 lit none
19:00 notice none
20:00 time dev 1:20..1:30
20:30 cover fix1
20:55 empty dev
20:55 empty stop
20:55:05 phase open
20:55:05 airing 0..2 after
20:56 empty fix1
20:56:05 phase take-down
20:56:05 armed no
21:05 notice min left
21:05 counted 0..0 of 184..186
21:30 airing 99..100 after
21:30 say fan 0
21:30 say flow 0
21:39 phase take-down
21:41 phase closed
21:41 lit none
21:41 recorded 0 alarm air
21:41 recorded 0 alarm channel
21:41 recorded 0 alarm bath
21:41 recorded 1 alarms armed practice armed
21:41 recorded 1 session practice set-up
21:41 recorded 1 session practice open
21:41 recorded 1 session practice closed
21:41 recorded 1 fan run
# tomorrow nobody comes, next week's class is announced the day before
45:00 phase closed
45:00 lit none
162:30 phase planned
