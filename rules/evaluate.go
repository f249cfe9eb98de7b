package rules

import (
	"fmt"
	"slices"
	"time"

	"wetside/chem"
	"wetside/rules/alarm"
	"wetside/sensors"
)

// Memory is what the rules said last, so that a change can be told from a repeat.
// Its owner hands it back unread.
type Memory struct {
	air    airMemory
	grades map[sensors.ChannelID]sensors.Grade
	lines  map[sensors.LineID]sensors.LineState
	baths  map[string]bathMemory
	armed  bool
	// Alarms is the life of every alarm; it outlasts a restart.
	Alarms alarm.Set
}

// Evaluate says what is true of a room now: what may be shown, what to remember,
// and the changes to record before anything is shown. The board is not changed.
func Evaluate(room Room, board Board, now sensors.Instant) (Snapshot, Memory, []Event) {
	v := views(viewChannels(room, board, now))
	s := Snapshot{At: now, Room: room.ID, Name: room.Name, History: board.History, Newest: newest(v)}
	m := Memory{grades: map[sensors.ChannelID]sensors.Grade{}, lines: map[sensors.LineID]sensors.LineState{}, baths: map[string]bathMemory{}}
	for _, c := range room.Channels {
		s.Channels = append(s.Channels, v[c.ID])
		m.grades[c.ID] = v[c.ID].Grade
	}
	for _, l := range room.Lines {
		status := board.Lines[l.ID]
		s.Lines = append(s.Lines, LineView{Line: l, Status: status})
		m.lines[l.ID] = status.State
	}
	for _, b := range room.Baths {
		view, memory := viewBath(bathInput{b, v[b.Channel], board, room.Announce}, now)
		s.Baths = append(s.Baths, view)
		m.baths[b.ID] = memory
	}
	var contradictions []string
	s.Air, m.air, contradictions = judgeAir(room, v, board.Memory.air, now)
	s.Notices = append(s.Notices, contradictions...)

	m.armed = armed(s)
	var transitions []alarm.Transition
	m.Alarms, transitions = alarm.Step(board.Memory.Alarms, signals(room, s), now)
	s.Alarms = alarmViews(m.Alarms)
	return s, m, changes(room, board.Memory, s, transitions)
}

// newest is the age of the newest good reading; negative when there is none.
func newest(v views) time.Duration {
	age := time.Duration(-1)
	for _, view := range v {
		if _, ok := view.Good(); ok && (age < 0 || view.Age < age) {
			age = view.Age
		}
	}
	return age
}

// changes compares what is said now with what was said last.
func changes(room Room, before Memory, s Snapshot, transitions []alarm.Transition) []Event {
	var events []Event
	if before.air.State != s.Air.State {
		events = append(events, Event{Kind: AirState, Subject: room.ID, From: string(before.air.State), To: string(s.Air.State), Cause: s.Air.Sentence})
	}
	for _, c := range s.Channels {
		if was, known := before.grades[c.Channel.ID]; known && was != c.Grade {
			events = append(events, Event{Kind: ChannelQuality, Subject: string(c.Channel.ID), From: was.String(), To: c.Grade.String(), Cause: c.Cause(), Begun: c.GoodAt})
		}
	}
	for _, l := range s.Lines {
		if was := before.lines[l.Line.ID]; was != l.Status.State {
			events = append(events, Event{Kind: LineState, Subject: string(l.Line.ID), From: string(was), To: string(l.Status.State), Cause: l.Status.LastError})
		}
	}
	if was, is := armedWord(before.armed), armedWord(armed(s)); was != is {
		events = append(events, Event{Kind: AlarmsArmed, Subject: room.ID, From: was, To: is, Cause: "alarms are armed while a tray is filled"})
	}
	for _, b := range s.Baths {
		events = append(events, bathChanges(before.baths[b.Bath.ID], b)...)
	}
	for _, t := range transitions {
		if armingAlone(t) {
			continue
		}
		events = append(events, Event{Kind: AlarmChange, Subject: t.ID, From: string(t.From), To: string(t.To), Cause: t.Cause, Alarm: &t.Alarm})
	}
	return events
}

// armed says whether alarms are wanted: while a tray is filled, somebody is there to act.
func armed(s Snapshot) bool {
	return slices.ContainsFunc(s.Baths, func(b BathView) bool { return b.Portion != nil })
}

func armedWord(armed bool) string {
	if armed {
		return "armed"
	}
	return "not armed"
}

// armingAlone is a change that follows from arming: the one event of the arming stands for all of them.
func armingAlone(t alarm.Transition) bool {
	quiet := func(s alarm.State) bool { return s == alarm.Normal || s == alarm.Suppressed }
	return quiet(t.From) && quiet(t.To)
}

// Age writes how long ago something was, coarse as people say it: "4 s", "6 min", "2 h 5 min".
func Age(d time.Duration) string {
	switch {
	case d < 0:
		return "0 s"
	case d < 2*time.Minute:
		return fmt.Sprintf("%d s", int(d.Seconds()))
	case d < 2*time.Hour:
		return fmt.Sprintf("%d min", int(d.Minutes()))
	case d < 48*time.Hour:
		return fmt.Sprintf("%d h %d min", int(d.Hours()), int(d.Minutes())%60)
	default:
		return fmt.Sprintf("%d days", int(d.Hours()/24))
	}
}

// RecommendationText is how a recommendation is recorded and compared.
func recommendationText(r chem.Recommendation) string {
	if t, ok := r.Time(); ok {
		return chem.MinutesSeconds(t)
	}
	return "refused"
}
