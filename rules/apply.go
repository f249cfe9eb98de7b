package rules

import (
	"maps"
	"slices"
	"time"

	"wetside/rules/session"
	"wetside/rules/truth"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// Done is an act that is on record.
type Done struct {
	Command Command
	Record  uint64
	At      time.Time // UTC
}

// Sentence says in words what was recorded.
func (d Done) Sentence(room Room) phrase.Sentence {
	if act, ok := d.Command.Act.(AnnounceTime); ok {
		b, _ := room.bath(act.Bath)
		return announcedSentence(d, act, b)
	}
	return phrase.Say("Record %d: %s by %s.", d.Record, d.what(room), d.Command.Person)
}

func (d Done) what(room Room) phrase.Sentence {
	name := func(id string) string {
		b, _ := room.bath(id)
		return b.Name
	}
	switch act := d.Command.Act.(type) {
	case FillTray:
		return phrase.Say("%s was filled with %s", name(act.Bath), act.What)
	case EmptyTray:
		return phrase.Say("%s was emptied (%s)", name(act.Bath), act.Where)
	case CoverTray:
		if act.Covered {
			return phrase.Say("%s was covered", name(act.Bath))
		}
		return phrase.Say("%s was uncovered", name(act.Bath))
	case AcknowledgeAlarm:
		return phrase.Say("the alarm was acknowledged")
	case ResetAlarm:
		return phrase.Say("the alarm was reset")
	case ShelveAlarm:
		return phrase.Say("the alarm was shelved until %s", act.Until.In(room.zone()).Format("15:04"))
	case DisableAlarm:
		return phrase.Say("the alarm was taken out of service")
	case RestoreAlarm:
		return phrase.Say("the alarm was put back")
	case StartSession:
		return phrase.Say("the session is %s, entered", act.Phase)
	case EndSession:
		return phrase.Say("the session is in %s, entered", act.Phase)
	case CommissionAir:
		return phrase.Measured("a traverse found %.0f m³/h, from which the limits of the flow now follow; it was entered", float64(act.Flow))
	case TestAirChanges:
		return act.what()
	case RequireAir:
		return act.what(room.zone())
	case LimitGas:
		return act.what(room.zone())
	case truth.Act:
		return probeSentence(act, room)
	case ConfirmClock:
		return phrase.Say("the time was confirmed")
	case ReportComplaint:
		return phrase.Say("the complaint and what the probes read were written down")
	}
	return phrase.Plain(d.Command.Act.Kind())
}

// complaint is one that waits for what the probes read at its moment.
type complaint struct {
	record uint64
	person string
	what   string
	at     time.Time
	noted  bool // the readings are on record
}

// Apply gives the board after an act that is on record. The board passed in is not changed.
func Apply(board Board, d Done, now sensors.Instant) (Board, error) {
	var err error
	switch act := d.Command.Act.(type) {
	case truth.Act:
		board.Probes = board.Probes.With(act, truth.Stamp{Record: d.Record, Person: d.Command.Person, At: d.At})
	case FillTray:
		board.Portions = maps.Clone(board.Portions)
		board.Portions[act.Bath] = Portion{Record: d.Record, Batch: act.Batch, What: act.What, By: d.Command.Person,
			Filled: d.At, Concentrate: act.Concentrate, Water: act.Water, Volume: act.Volume}
	case EmptyTray:
		board.Portions = maps.Clone(board.Portions)
		delete(board.Portions, act.Bath)
	case CoverTray:
		return board.cover(act)
	case AnnounceTime:
		board = board.told(d, act)
	case CommissionAir:
		board = board.commission(d, act)
	case RequireAir:
		board.required = enteredWith(board.required, d, act)
	case LimitGas:
		board.limited = enteredWith(board.limited, d, act)
	case alarmAct:
		after, moved, err := act.change(board.Memory.Alarms, d.Command.Person, now)
		if err != nil {
			return board, err
		}
		board.Memory.Alarms = after
		board.Memory.acted = append(slices.Clone(board.Memory.acted), moved)
	case StartSession:
		board.Memory.Session, err = board.Memory.Session.Start(act.Phase, act.by(d.Command.Person), now)
	case EndSession:
		board.Memory.Session, err = board.Memory.Session.End(act.Phase, d.Command.Person, now)
	case ReportComplaint:
		board.Memory.complaint = complaint{record: d.Record, person: d.Command.Person, what: act.What, at: d.At}
	}
	return board, err
}

// covered says whether the portion that stands in a tray now has its lid on. Of a
// tray that was filled from the shelf, its book knows.
func (b Board) covered(bath string, p Portion) bool {
	if p.Known != nil {
		return p.Covered
	}
	return p.Record != 0 && b.Lids[bath] == p.Record
}

// cover puts a lid on a tray or takes it off.
func (b Board) cover(act CoverTray) (Board, error) {
	p, filled := b.portion(act.Bath)
	if !filled {
		return b, phrase.Errorf("the tray %q holds nothing that could be covered", act.Bath)
	}
	lids := map[string]uint64{}
	maps.Copy(lids, b.Lids)
	if lids[act.Bath] = 0; act.Covered {
		lids[act.Bath] = p.Record
	}
	b.Lids = lids
	return b, nil
}

// addSession brings back an evening from the book.
func (m *Memory) addSession(s session.Session) {
	m.Session, m.phase = s, s.Phase
	if s.Phase == session.Closed {
		m.addFlow(s)
	}
}
