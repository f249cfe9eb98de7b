package cards

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/session"
	"wetside/rules/ventilation"
)

// AirCard says in a word whether the air moves.
type AirCard struct {
	Word  string
	Shape string // moving, low, stopped, unproven: which drawing stands beside the word
	// Changes an hour, empty when not measured; Required beside it.
	Changes  string
	Required string
	Flow     string
	Sentence string
	Since    string
	// Notices are worth knowing; nobody has to act.
	Notices []string
	// Airing is the purge under way, counted down.
	Airing string
	// Steady is set while the air moves.
	Steady bool
}

// Todo is the one thing that needs doing, and how many wait behind it.
type Todo struct {
	Word   string
	Urgent bool
	Seen   bool
	Quiet  bool
	// Idle says that nothing is to be done, as far as the room's own readings go.
	Idle bool
	// Late says that a sheet is past its time, which nobody overlooks.
	Late  bool
	Text  string
	Act   string
	Since string
	More  string
	// Limit is what limits tonight most, said while nothing needs doing.
	Limit string
	// Sound is what the page plays for it: look, act, or nothing; Alarms names what
	// it is played for, so that another alarm is heard at once.
	Sound  string
	Alarms string
	// Asks is the alarm that one press on the board says was seen; empty where none waits.
	Asks string
	// Href leads to what is to be done where that is a page: that of the set-up or of the take-down.
	Href string
}

// AirCard says of the air what is known, and nothing more once the room is lost.
func (f Figures) AirCard(a rules.AirView, lost bool) AirCard {
	c := AirCard{Required: f.Number(float64(a.Required), 1), Sentence: f.Text(a.Sentence)}
	if a.Required <= 0 {
		c.Required = ""
	}
	if lost {
		a = rules.AirView{State: ventilation.NotProven}
		c.Sentence = "Airflow not known: wetside does not answer."
	}
	c.Word, c.Shape = f.airWord(a.State)
	c.Steady = a.State == ventilation.Moving
	if a.AirChanges != nil {
		c.Changes = f.Number(float64(*a.AirChanges), 1)
	}
	if a.Flow != nil {
		flow := f.Unit(FlowDimension)
		c.Flow = f.WithUnit(FlowDimension, float64(*a.Flow), flow.ToBase(1))
	}
	if !a.Since.Wall.IsZero() {
		c.Since = fmt.Sprintf("Since %s.", f.When(a.Since.Wall))
	}
	return c
}

func (f Figures) airWord(s ventilation.State) (word, shape string) {
	switch s {
	case ventilation.Moving:
		return "MOVING", "moving"
	case ventilation.Uneven:
		return "UNEVEN", "low"
	case ventilation.Low:
		return "LOW", "low"
	case ventilation.Stopped:
		return "STOPPED", "stopped"
	}
	return "NOT PROVEN", "unproven"
}

// Todo picks the one thing that needs doing: what nobody has seen comes before
// what somebody has acknowledged, the urgent before the rest.
func (f Figures) Todo(snap *rules.Snapshot, lost bool) Todo {
	if lost {
		return Todo{Sound: soundLook, Alarms: "lost", Word: "LOST", Urgent: true,
			Text: fmt.Sprintf("This room has not been updated since %s.", f.When(snap.At.Wall)),
			Act:  "Start wetside again, and tell the keeper of the computer."}
	}
	var t Todo
	first := -1
	for i, a := range snap.Alarms {
		if first < 0 || weight(a) > weight(snap.Alarms[first]) {
			first = i
		}
	}
	if first < 0 {
		return f.quiet(snap)
	}
	a := snap.Alarms[first]
	if !a.Acknowledged {
		t.Asks = a.ID
	}
	t.Urgent, t.Seen, t.Text, t.Act = a.Urgent, a.Acknowledged, f.Text(a.Text)+".", f.Text(a.Act)
	t.Word = f.AlarmWord(a)
	t.Sound, t.Alarms = soundOf(snap.Alarms)
	t.Since = fmt.Sprintf("Since %s.", f.When(a.Since))
	if !a.Over.IsZero() { // nothing is left to do but to see that it was
		t.Text, t.Act, t.Since = f.Text(a.Over)+" "+"Seen?", "", ""
	}
	if n := len(snap.Alarms) - 1; n > 0 {
		t.More = fmt.Sprintf("%d more", n)
	}
	return t
}

// quiet is the panel while no alarm is open. It says that nothing is to be done only where
// every probe gives a reading and every bath carries another sheet: a new site and a room before its first
// class are told the next step.
func (f Figures) quiet(snap *rules.Snapshot) Todo {
	bad := slices.IndexFunc(snap.Baths, func(b rules.BathView) bool { return f.mustNotBeUsed(b.Portion) != "" })
	if bad >= 0 {
		return unusable(snap, snap.Baths[bad])
	}
	t := Todo{Quiet: true}
	unheard, silent := unread(snap.Channels)
	used, tests := usedUp(snap), toTest(snap)
	filled := slices.ContainsFunc(snap.Baths, func(b rules.BathView) bool { return b.Portion != nil })
	airing := snap.Purge != nil && snap.Purge.After && snap.Air.State == ventilation.Moving
	fills, empty := snap.Session.Phase == session.SetUp || snap.Session.Phase == session.Open, stillEmpty(snap)
	switch {
	case unheard > 0:
		t.Text = web.Count(unheard, "%d probe not found.", "%d probes not found.")
	case silent > 0:
		t.Text = web.Count(silent, "%d probe gives no good reading.", "%d probes give no good reading.")
	case used != "":
		t.Quiet, t.Text, t.Act = false, used+": no sheet is left by its figures.", "Test it before the next sheet."
	case airing && !snap.Purge.Done:
		t.Idle, t.Text = true, "Leave the fan on until the room is aired."
	case airing && !filled:
		t.Idle, t.Text = true, "The room is aired: the fan may go off."
	case fills && empty > 0:
		t.Text, t.Limit = web.Count(empty, "%d tray is still empty.", "%d trays are still empty."), f.tightest(snap)
	case len(tests) > 0:
		t.Idle, t.Limit = true, f.tightest(snap)
		t.Text = fmt.Sprintf("Test before the next sheet: %s.", strings.Join(tests, ", "))
	case filled:
		t.Idle, t.Text, t.Limit = true, "Nothing to do.", f.tightest(snap)
	}
	step := func(act string, page session.Phase) {
		t.Act, t.Href = act, fmt.Sprintf("/rooms/%s/%s?look=red", snap.Room, page)
	}
	switch {
	case fills && empty > 0 && t.Act == "":
		step("Fill the trays", session.SetUp)
	case !filled && snap.Session.Phase == session.TakeDown && snap.Session.SignedOff: // its page has nothing left to do
		t.Text = cmp.Or(t.Text, "Nothing to do.")
	case !filled && snap.Session.Phase == session.TakeDown:
		step("Go on taking down", session.TakeDown)
	case !filled && !fills && len(snap.Baths) > 0:
		step("Set up for a class", session.SetUp)
	}
	if !snap.Armed {
		t.More = "Alarms are off until a tray is filled or a session is open."
	}
	return t
}

// unusable is what to do with a bath that must not be used.
func unusable(snap *rules.Snapshot, b rules.BathView) Todo {
	t := Todo{Text: b.Bath.Name + " must not be used.", Act: "Discard it and refill the tray."}
	if b.Portion.Known.Limit.Mix {
		t.Act, t.Href = "Put the mix right", "/rooms/"+snap.Room+"/set-up?more=on&look=red"
	}
	return t
}

// unread counts the probes without a good reading: those that nobody ever heard, and those that fell silent.
func unread(channels []rules.ChannelView) (unheard, silent int) {
	for _, c := range channels {
		switch _, good := c.Good(); {
		case good:
		case !c.Seen:
			unheard++
		default:
			silent++
		}
	}
	return unheard, silent
}

// stillEmpty counts the trays that a board draws as empty while a bath that a print can't do without is missing: a second
// fixer may stay empty all evening, water is never entered, and once a class works its stop bath is water or was skipped.
func stillEmpty(snap *rules.Snapshot) int {
	needed := []rules.Role{rules.Developer, rules.Fixer}
	if snap.Session.Phase == session.SetUp {
		needed = append(needed, rules.StopBath)
	}
	of := func(role rules.Role, filled bool) bool {
		return slices.ContainsFunc(snap.Baths, func(b rules.BathView) bool {
			return b.Bath.Role == role && (b.Portion != nil) == filled
		})
	}
	if !slices.ContainsFunc(needed, func(role rules.Role) bool { return of(role, false) && !of(role, true) }) {
		return 0
	}
	n := 0
	for _, b := range snap.Baths {
		if b.Empty() {
			n++
		}
	}
	return n
}

// AlarmWord is the one word that says how pressing an alarm is.
func (f Figures) AlarmWord(a rules.AlarmView) string {
	switch {
	case a.Acknowledged:
		return "SEEN"
	case a.Urgent:
		return "HALT"
	}
	return "CHECK"
}

func weight(a rules.AlarmView) int {
	w := 0
	if a.Urgent {
		w++
	}
	if !a.Acknowledged {
		w += 2
	}
	return w
}

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
