package rules

import (
	"time"

	"wetside/rules/alarm"
	"wetside/rules/session"
)

// changes compares what is said now with what was said last.
func changes(room Room, before Memory, s *Snapshot, transitions []alarm.Transition) []Event {
	var events []Event
	if before.air.State != s.Air.State {
		events = append(events, Event{Kind: AirState, Subject: room.ID, From: string(before.air.State), To: string(s.Air.State),
			Cause: s.Air.Sentence.String()})
	}
	events = append(events, deviceChanges(before, s)...)
	if was, is := armedWord(before.armed), armedWord(s.Armed); was != is {
		events = append(events, Event{Kind: AlarmsArmed, Subject: room.ID, From: was, To: is,
			Cause: "alarms are armed while a tray is filled or a session is open"})
	}
	for i := range s.Baths {
		events = append(events, bathChanges(before.bath(i, s.Baths[i].Bath.ID), &s.Baths[i])...)
	}
	for _, t := range transitions {
		if armingAlone(t) {
			continue
		}
		events = append(events, Event{Kind: AlarmChange, Subject: t.ID, From: string(t.From), To: string(t.To), Cause: t.Cause.String(),
			Alarm: &t.Alarm})
	}
	return events
}

// deviceChanges tells of channels and lines that went or came back.
func deviceChanges(before Memory, s *Snapshot) []Event {
	var events []Event
	for i := range s.Channels {
		c := &s.Channels[i]
		if i >= len(before.channels) || before.channels[i].Channel.ID != c.Channel.ID || before.channels[i].Grade == c.Grade {
			continue
		}
		events = append(events, Event{Kind: ChannelQuality, Subject: string(c.Channel.ID), From: before.channels[i].Grade.String(),
			To: c.Grade.String(), Cause: c.Cause(), Begun: c.GoodAt})
	}
	for i := range s.Lines {
		l, was := &s.Lines[i], ""
		if i < len(before.lines) && before.lines[i].Line.ID == l.Line.ID {
			was = string(before.lines[i].Status.State)
		}
		if was != string(l.Status.State) {
			events = append(events, Event{Kind: LineState, Subject: string(l.Line.ID), From: was, To: string(l.Status.State),
				Cause: l.Status.Lost().String()})
		}
	}
	return events
}

// sessionKept is how often the counts of a running session are recorded, so that a
// cut of the power loses no more than that.
const sessionKept = 10 * time.Minute

// sessionChanges tells of a phase that began, and now and then of the counts.
func sessionChanges(room Room, m *Memory, now time.Duration) []Event {
	var events []Event
	if m.over != nil {
		events, m.over = phaseChanges(room, m, *m.over, now), nil
	}
	return append(events, phaseChanges(room, m, m.Session.Settled(), now)...)
}

func phaseChanges(room Room, m *Memory, is session.Session, now time.Duration) []Event {
	was := m.phase
	m.phase = is.Phase
	e := Event{Subject: room.ID, From: string(was), To: string(is.Phase)}
	switch {
	case was != is.Phase && (is.Phase.Running() || is.Phase == session.Closed):
		e.Kind, e.Cause = SessionPhase, is.Why.String()
	case is.Phase.Running() && is.Tally.Watched > 0 && now-m.kept >= sessionKept:
		e.Kind, e.Cause = SessionCounts, is.Tally.Trays.Sentence().String()
	default:
		return nil
	}
	m.kept, e.Session = now, new(is)
	if e.Kind == SessionPhase && is.Phase == session.Closed {
		m.addFlow(is)
	}
	return []Event{e}
}

// LeftToCount is what was counted of a running session since it was recorded last, for a
// program that stops: a report on its book says then what the board said.
func (m Memory) LeftToCount(room string) []Event {
	is := m.Session.Settled()
	if !is.Phase.Running() || is.Tally.Watched == 0 {
		return nil
	}
	return []Event{{Kind: SessionCounts, Subject: room, From: string(is.Phase), To: string(is.Phase),
		Cause: is.Tally.Trays.Sentence().String(), Session: &is}}
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
