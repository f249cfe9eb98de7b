# Three weeks without sessions: probes fall silent, the fan stands still, a port goes and
# comes. No alarm; everything is on record; after the break all is armed again.
date 2026-12-16
21:30 say dev 18
21:30 say flow 0
21:30 say fan 0
21:30 say pressure 0
21:30 say acid 0
22:00 lit none
48:00 mute dev
60:00 line trays gone
70:00 line gas gone
80:00 line trays live
80:00 line gas live
300:00 lit none
300:00 armed no
300:00 phase 
300:00 recorded 0 alarm
300:00 recorded 1 channel quality dev missing
300:00 recorded 1 line state trays gone
300:00 recorded 0 session
624:00 phase 
666:00 phase planned
666:00 lit none
# Wednesday 2027-01-13, 18:00 is the first class after the break
690:30 fill dev print developer
690:31 lit air=unacknowledged channel:dev=unacknowledged channel:stop=unacknowledged channel:fix1=unacknowledged channel:fix2=unacknowledged channel:aid=unacknowledged channel:wash=unacknowledged
