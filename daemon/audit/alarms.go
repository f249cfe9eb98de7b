package audit

import (
	"wetside/dashboard/report"
	"wetside/rules/alarm"
	"wetside/rules/past"
)

func alarmOf(a past.RoomAlarm) report.Alarm {
	t := a.Raised
	out := report.Alarm{Room: a.Room, ID: t.ID, Text: t.Alarm.Text, Cause: t.Cause.String(), Urgent: t.Alarm.Urgent, Raised: t.At.Wall,
		Record:   t.Record,
		Answered: a.Answered, By: a.Seen().String(), Done: a.Done, Cleared: a.Cleared, Ended: a.Ended, Dropped: a.Unanswered == alarm.Rests}
	if a.Answered.IsZero() {
		out.Why = a.Unanswered.Said()
	}
	return out
}

// asideOf is an alarm that a person put aside, as a report tells it.
func asideOf(a past.RoomAside) report.Aside {
	t := a.Since
	return report.Aside{Room: a.Room, ID: t.ID, State: t.To.Said(), By: t.Alarm.By, Why: t.Alarm.Note, From: t.At.Wall, Back: a.Back,
		Record: t.Record}
}
