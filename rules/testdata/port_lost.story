# A port is lost with six channels: one alarm. And when the duct's port goes, the alarm
# says what nobody can know meanwhile.
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
18:00 fill fix1 fixer
18:30 line trays gone
18:30:05 refused dev missing (line gone
18:30:05 lit none
18:31 lit line:trays=unacknowledged
18:31 says line:trays plug and cable
18:40 lit line:trays=unacknowledged
18:40 recorded 1 alarm line:trays
18:40 recorded 0 alarm channel
18:40 recorded 0 alarm bath
18:40 recorded 1 channel quality wash missing
18:41 line trays live
18:41:30 lit line:trays=returned-to-normal,-not-yet-seen
18:42 do Ada "alarm acknowledged" {"alarm":"line:trays","done":"pushed the plug in"}
18:42 lit none
19:00 line duct gone
19:00:05 air not proven
19:01 lit line:duct=unacknowledged
19:01 says line:duct airflow unknown
19:01 recorded 0 alarm air-proof unacknowledged
19:10 line duct live
19:11 do Ada "alarm acknowledged" {"alarm":"line:duct","done":"other socket"}
19:11 air moving
19:20 counted 9.5..10.5 of 79..81
# the duct's probe alone falls silent: its own alarm explains why the flow is not known
19:30 mute flow
19:31 lit channel:flow=unacknowledged
19:31 air not proven
