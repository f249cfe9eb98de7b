package rules

import (
	"encoding/json"
	"time"

	"wetside/rules/alarm"
	"wetside/rules/record"
	"wetside/sensors"
)

// ProbeKinds lists the kinds of record by which a probe is believed.
func ProbeKinds() []string { return record.Names(Kinds(), record.Judging(record.Readings)) }

// RecalledKinds lists the kinds of record from which a board is brought back.
func RecalledKinds() []string { return record.Names(Kinds(), record.RecalledAs(record.Always)) }

// latelyFor is how far back records are read that matter for a few days alone.
const latelyFor = 48 * time.Hour

// LatelyKinds lists the kinds of record that matter for a few days alone, however long
// the book is; they are recalled after those of [RecalledKinds].
func LatelyKinds() (kinds []string, within time.Duration) {
	return record.Names(Kinds(), record.RecalledAs(record.Within(latelyFor))), latelyFor
}

// Recall brings one record back onto the board; records come in the order of their
// numbers. A record that no longer makes sense is passed over: it stays in the book.
func Recall(board Board, r record.Record) Board {
	if e, ok := eventKinds[r.Kind]; ok {
		return e.bring(board, r.Content)
	}
	act, err := DecodeAct(r.Kind, r.Content)
	if err != nil {
		return board
	}
	after, err := Apply(board, Done{Command{Person: r.Person, Act: act}, r.Number, r.At}, sensors.Instant{Wall: r.At})
	if err != nil {
		return board
	}
	after.Memory.acted = nil // on record already
	return after
}

// eventKind is a kind of event, with what a record of it brings back when a room starts again.
type eventKind struct {
	name     string
	judges   record.Subject
	recalled record.Recalled
	back     func(Board, Event) Board // nil where nothing is brought back
	matters  func(Event) []matter     // nil where every record counts for ever
}

func events() []eventKind {
	return []eventKind{
		{AirState, record.Air, record.Never, nil, nil},
		{ChannelQuality, record.Nothing, record.Never, nil, nil},
		{LineState, record.Nothing, record.Never, nil, nil},
		{DevelopmentTime, record.Trays, record.Never, nil, nil},
		{AlarmsArmed, record.Alarms, record.Never, nil, nil},
		{ComplaintReadings, record.Nothing, record.Never, nil, nil},
		{AlarmChange, record.Alarms, record.Always, alarmBack, alarmMatters},
		{FindingOffered, record.Readings, record.Always, findingBack, nil},
		{FanRun, record.Nothing, record.Always, fanRunBack, fanRunMatters},
		{SessionPhase, record.Sessions, record.Always, sessionBack, sessionMatters},
		{SessionCounts, record.Sessions, record.Within(latelyFor), countsBack, nil},
	}
}

// eventKinds finds a kind of event by its name. It is made once and never changed.
var eventKinds = func() map[string]eventKind {
	known := map[string]eventKind{}
	for _, e := range events() {
		known[e.name] = e
	}
	return known
}()

func (k eventKind) bring(board Board, content json.RawMessage) Board {
	var e Event
	if k.back == nil || json.Unmarshal(content, &e) != nil {
		return board
	}
	return k.back(board, e)
}

func alarmBack(board Board, e Event) Board {
	if e.Alarm == nil || !e.Alarm.Restorable() {
		return board
	}
	m := &board.Memory
	m.Alarms = m.Alarms.Restore(*e.Alarm)
	m.unnamed = m.unnamed.add(*e.Alarm, alarm.State(e.From), alarm.State(e.To))
	if e.Alarm.ID == lowAlarm || e.Alarm.ID == airAlarm {
		m.air.recall(m.Alarms)
	}
	return board
}

func findingBack(board Board, e Event) Board {
	if e.Finding != nil {
		board.Probes = board.Probes.Offered(*e.Finding)
	}
	return board
}

func fanRunBack(board Board, e Event) Board {
	if e.Run != nil && e.Run.Length() > 0 {
		board.Memory.air.fan = board.Memory.air.fan.with(*e.Run)
	}
	return board
}

func sessionBack(board Board, e Event) Board {
	if e.Session != nil {
		board.Memory.addSession(*e.Session)
	}
	return board
}

// countsBack takes later counts of the session that is there.
func countsBack(board Board, e Event) Board {
	was := &board.Memory.Session
	if e.Session != nil && was.Begun.Equal(e.Session.Begun) && e.Session.Tally.To.After(was.Tally.To) {
		*was = *e.Session
	}
	return board
}
