package cards

import (
	"wetside/dashboard/web"
	"wetside/rules"
)

// ActAcknowledge is the act of having seen to an alarm.
const ActAcknowledge = "acknowledge"

// Acknowledge says that somebody has seen to an alarm.
func Acknowledge() web.Act {
	return web.ReadsOnAlarm(ActAcknowledge, "", func(f *web.FormReader, t web.Typed) rules.AcknowledgeAlarm {
		return rules.AcknowledgeAlarm{Alarm: t.Alarm, Done: f.Line(web.DoneField(), true)}
	})
}

// SoundBox is what a page with sound needs: where a test is entered.
type SoundBox struct {
	Room  string
	Look  web.Look
	Token string
}

// SoundBoxOf is that of a room, for one entry.
func SoundBoxOf(room string, l web.Look) SoundBox { return SoundBox{room, l, web.NewToken()} }
