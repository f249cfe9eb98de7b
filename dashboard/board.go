package dashboard

import (
	"strings"
	"time"

	"wetside/rules"
	"wetside/rules/ventilation"
)

// board is one room as the red page shows it. Every field is text or a flag: a
// value that is not good and recent has no way into it.
type board struct {
	Room  string
	Head  boardHead
	Baths []bathCard
	Air   airCard
	Todo  todo
	// Say is what is read aloud when it changes.
	Say        string
	Developers int
	Clocks     clockBoard
	Sound      soundBox
}

type boardHead struct {
	Name      string
	Simulated bool
	Clock     string
	// Age of the newest good reading in words.
	Age  string
	Lost bool
	// Session is where the evening stands, empty when none is planned for today or under way.
	Session string
}

// airCard says in a word whether the air moves.
type airCard struct {
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
}

// todo is the one thing that needs doing, and how many wait behind it.
type todo struct {
	Word   string
	Urgent bool
	Seen   bool
	Quiet  bool
	Text   string
	Act    string
	Since  string
	More   string
	// Limit is what limits tonight most, said while nothing needs doing.
	Limit string
	// Sound is what the page plays for it: look, act, or nothing; Alarms names what
	// it is played for, so that another alarm is heard at once.
	Sound  string
	Alarms string
}

// lostAfter is how old the newest state of a room may be before it proves nothing.
const lostAfter = 4 * time.Second

// boardOf turns a snapshot into text. When lost is set, the room's loop has not
// spoken lately, and nothing it said is shown as if it held.
func (f figures) boardOf(snap *rules.Snapshot, site *Site, lost bool) board {
	b := board{Room: snap.Room, Head: boardHead{Name: snap.Name, Simulated: site.Simulated, Clock: f.clock(f.now.Wall), Lost: lost}}
	b.Head.Age = f.newest(snap, lost)
	for _, bath := range snap.Baths {
		card := f.bathCard(bath, lost)
		if card.Developer {
			b.Developers++
		}
		b.Baths = append(b.Baths, card)
	}
	b.Air = f.airCard(snap.Air, lost)
	if !lost {
		b.Head.Session = f.sessionLine(snap.Session)
		b.Air.Airing, b.Air.Notices = f.airing(snap), f.boardNotices(snap)
	}
	b.Todo = f.todo(snap, lost)
	b.Say = strings.TrimSpace(b.Todo.Word + " " + b.Todo.Text + " " + f.words.Say("say.air", b.Air.Word))
	return b
}

func (f figures) newest(snap *rules.Snapshot, lost bool) string {
	switch {
	case lost:
		return f.words.Say("age.lost", f.tell(rules.Age(f.now.Since(snap.At))))
	case snap.Newest < 0:
		return f.words.Say("age.none")
	}
	age := snap.Newest + max(0, f.now.Since(snap.At))
	if age < 3*time.Second {
		return f.words.Say("age.now")
	}
	return f.words.Say("age.ago", f.tell(rules.Age(age)))
}

func (f figures) airCard(a rules.AirView, lost bool) airCard {
	c := airCard{Required: f.number(float64(a.Required), 1), Sentence: f.tell(a.Sentence)}
	if a.Required <= 0 {
		c.Required = ""
	}
	if lost {
		a = rules.AirView{State: ventilation.NotProven}
		c.Sentence = f.words.Say("lost.air")
	}
	c.Word, c.Shape = f.airWord(a.State)
	if a.AirChanges != nil {
		c.Changes = f.number(float64(*a.AirChanges), 1)
	}
	if a.Flow != nil {
		flow := f.unit(flowDimension)
		c.Flow = f.withUnit(flowDimension, float64(*a.Flow), flow.ToBase(1))
	}
	if !a.Since.Wall.IsZero() {
		c.Since = f.words.Say("air.since", f.when(a.Since.Wall))
	}
	return c
}

// airWord gives the word for the state of the air, and the shape beside it.
func (f figures) airWord(s ventilation.State) (word, shape string) {
	switch s {
	case ventilation.Moving:
		return f.words.Say("air.moving"), "moving"
	case ventilation.Uneven:
		return f.words.Say("air.uneven"), "low"
	case ventilation.Low:
		return f.words.Say("air.low"), "low"
	case ventilation.Stopped:
		return f.words.Say("air.stopped"), "stopped"
	}
	return f.words.Say("air.not-proven"), "unproven"
}

// todo picks the one thing that needs doing: what nobody has seen comes before
// what somebody has acknowledged, the urgent before the rest.
func (f figures) todo(snap *rules.Snapshot, lost bool) todo {
	if lost {
		return todo{Sound: soundLook, Alarms: "lost", Word: f.words.Say("todo.lost"), Urgent: true, Text: f.words.Say("lost.room", f.when(snap.At.Wall)), Act: f.words.Say("lost.act")}
	}
	var t todo
	first := -1
	for i, a := range snap.Alarms {
		if first < 0 || weight(a) > weight(snap.Alarms[first]) {
			first = i
		}
	}
	if first < 0 {
		t.Quiet, t.Text, t.Limit = true, f.words.Say("todo.nothing"), f.tightest(snap)
		if !snap.Armed {
			t.Act = f.words.Say("todo.rest")
		}
		return t
	}
	a := snap.Alarms[first]
	t.Urgent, t.Seen, t.Text, t.Act = a.Urgent, a.Acknowledged, f.tell(a.Text)+".", f.tell(a.Act)
	t.Word = f.alarmWord(a)
	t.Sound, t.Alarms = soundOf(snap.Alarms)
	t.Since = f.words.Say("todo.since", f.when(a.Since))
	if !a.Over.IsZero() { // nothing is left to do but to see that it was
		t.Text, t.Act, t.Since = f.tell(a.Over)+" "+f.words.Say("todo.ask-seen"), "", ""
	}
	if n := len(snap.Alarms) - 1; n > 0 {
		t.More = f.words.Say("todo.more", n)
	}
	return t
}

// alarmWord is the one word that says how pressing an alarm is.
func (f figures) alarmWord(a rules.AlarmView) string {
	switch {
	case a.Acknowledged:
		return f.words.Say("todo.seen")
	case a.Urgent:
		return f.words.Say("todo.halt")
	}
	return f.words.Say("todo.check")
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
