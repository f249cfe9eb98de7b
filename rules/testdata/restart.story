# The power strip is switched off in mid-session. What stood in the trays, what nobody had
# seen, what was put aside and what was counted comes back; the time in between counts as
# not known. Then somebody sets the clock an hour on: no average and no run moves.
date 2026-10-14
17:30 say acid 2
17:30 say dev 20
17:30 say stop 20
17:30 say fix1 20
17:30 say fix2 20
17:30 say aid 20
17:30 say wash 20
17:30 say flow 0
17:30 say fan 0
17:30 say pressure 0
17:40 say flow 300
17:40 say fan 1
17:40 say pressure -5
18:00 fill dev print developer
18:00 fill fix1 fixer
18:05 refuse Ada "alarm shelved" {"alarm":"channel:wash","until":"2026-10-14T18:00:00Z","why":""} => missing
18:05 refuse Ada "alarm shelved" {"alarm":"channel:elsewhere","until":"2026-10-14T18:00:00Z","why":"cable"} => no alarm
18:05 refuse Ada "alarm shelved" {"alarm":"history","until":"2026-10-14T18:00:00Z","why":"cable"} => can't be snoozed
18:05 do Ada "alarm shelved" {"alarm":"channel:wash","until":"2026-10-14T18:00:00Z","why":"cable on order"}
18:06 mute wash
18:10 lit none
18:10 aside channel:wash=shelved
18:30 say flow 0
18:30 say fan 0
18:31 lit air=unacknowledged
18:35 restart
18:35 lit air=unacknowledged
18:35 aside channel:wash=shelved
18:35 phase open
18:35:05 time dev 1:40..1:50
18:35:05 counted 4.9..5.2 of 34..36
18:36 say flow 300
18:36 say fan 1
18:36:30 lit air=returned-to-normal,-not-yet-seen
18:37 do Ada "alarm acknowledged" {"alarm":"air","done":"started the fan"}
18:37 lit none
19:00 wall 1h
19:30 counted 5.8..6.3 of 89..91
19:30 gas acid within the limit
# the shelving ends at 20:00 local, which the wall clock says an hour early
19:31 lit channel:wash=unacknowledged
19:32 do Ada "alarm out of service" {"alarm":"channel:wash","why":"waiting for the cable"}
19:32 aside channel:wash=out-of-service
19:32 lit none
19:40 do Ada "alarm put back" {"alarm":"channel:wash"}
19:41 lit channel:wash=unacknowledged
20:00 history lost
20:01 lit history=unacknowledged channel:wash=unacknowledged
