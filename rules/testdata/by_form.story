# An evening outside the calendar, opened by a form, with a drill and a sounder test.
date 2026-10-16
17:00 phase 
17:00 say flow 300
17:00 say fan 1
17:00 say pressure -5
17:30 phase 
17:30 refuse Ada "session ended" {"phase":"closed"} => no session is under way
17:30 refuse Ada "session started" {"phase":"open","people":-3} => not usable
17:30 refuse Ada "session started" {"phase":"closed"} => starts with
17:30 do Ada "session started" {"phase":"set-up","title":"Open evening","people":6,"until":"2026-10-16T18:00:00Z"}
17:30 phase set-up
17:31 do Ada "alarm drill" {"what":"air stopped, played to the class","found":"left within a minute"}
17:31 do Ada "sounder test" {"where":"wet side","heard":true}
17:40 do Ada "session started" {"phase":"open","title":"Open evening","people":6}
17:40 armed yes
17:41 recorded 1 session practice open
18:00 fill fix1 fixer
19:00 refuse Ada "session ended" {"phase":"closed"} => still filled
19:00 do Ada "session ended" {"phase":"take-down"}
19:00:10 phase take-down
19:00:10 armed yes
19:05 empty fix1
19:06 armed no
19:06 do Ada "session ended" {"phase":"closed"}
19:06:05 phase closed
19:06:05 recorded 1 session practice closed
19:06:05 recorded 1 alarm drill
19:06:05 recorded 1 sounder test
