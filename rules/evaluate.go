package rules

import (
	"fmt"
	"time"

	"wetside/chem"
	"wetside/rules/alarm"
	"wetside/rules/session"
	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// Memory is what the rules said last, so that a change can be told from a repeat.
// Its owner hands it back unread.
type Memory struct {
	air       airMemory
	purge     purgeMemory
	gases     map[sensors.ChannelID]gasMemory
	channels  []ChannelView
	lines     []LineView
	baths     []bathMemory // in the order of the room
	armed     bool
	booking   bookingMemory
	kept      time.Duration    // monotonic: when the session's counts were last recorded
	phase     session.Phase    // last recorded
	over      *session.Session // was ended by somebody, and is to be recorded as over
	decline   declineMemory
	complaint complaint
	acted     []alarm.Transition // by people since the last turn
	unnamed   unnamedAlarms
	// Alarms is the life of every alarm and Session the evening under way; both outlast a restart.
	Alarms  alarm.Set
	Session session.Session
}

// bookingMemory is the booking last looked up: the calendar is asked once a minute.
type bookingMemory struct {
	booking session.Booking
	planned bool
	asked   bool
	at      time.Duration
}

// Evaluate says what is true of a room now: what may be shown, what to remember,
// and the changes to record before anything is shown. The board is not changed.
func Evaluate(room Room, board Board, now sensors.Instant) (*Snapshot, Memory, []Event) {
	before := board.Memory
	room = room.proven(board.Proven).requiredBy(board.required).limitedBy(board.limited)
	m := before
	s := &Snapshot{At: now, Room: room.ID, Name: room.Name, History: board.History, Probes: board.Probes, Clock: board.Clock,
		Unexposed: board.unexposed, FlatAfter: board.FlatAfter, stageTimes: room.Stages}
	s.Lines = viewLines(room.Lines, &board)
	s.Channels = viewChannels(&room, s.Lines, &board, now)
	s.Newest = newest(s.Channels)
	m.channels, m.lines = s.Channels, s.Lines
	m.baths = make([]bathMemory, len(room.Baths))
	s.Baths = make([]BathView, len(room.Baths))
	for i := range room.Baths {
		m.baths[i] = before.bath(i, room.Baths[i].ID)
		s.Baths[i].view(&m.baths[i], bathInput{room.Baths[i], views(s.Channels).get(room.Baths[i].Channel), room.Announce}, &board, now)
	}
	events := evaluateAir(room, s, &m)
	evaluateSession(room, s, &m)
	s.Session.SignedOff = board.Shelf.SignedOff
	m.purge, s.Purge = purge(room, before.purge, s)
	s.Breathing, m.gases = breathe(room, before.gases, s)
	s.Mixtures = mixtures(room, s.Breathing)
	s.Armed = s.filled() > 0 || s.Session.Phase == session.Open
	m.armed = s.Armed
	var transitions []alarm.Transition
	m.Alarms, transitions = alarm.Step(before.Alarms, signals(s), now)
	transitions, m.acted = append(before.acted[:len(before.acted):len(before.acted)], transitions...), nil
	s.Alarms, s.Aside = alarmViews(m.Alarms, room.zone())
	s.Unnamed = m.unnamed.since(now.Wall.Add(-askedFor))
	m.decline = m.decline.fit(s.Air.Limits)
	s.Air.Trend, s.Air.Estimate = m.decline.trend, estimate(room, s)
	s.Notices = notices(room, s, m)
	events = append(events, sessionChanges(room, &m, now.Mono)...)
	events = append(events, complaintReadings(room, s, &m)...)
	return s, m, append(events, changes(room, before, s, transitions)...)
}

// evaluateAir judges the air and follows the runs of the fan.
func evaluateAir(room Room, s *Snapshot, m *Memory) []Event {
	was := m.air
	in := airInput{before: was, now: s.At}
	if m.Session.Phase.Running() {
		in.people = m.Session.People
	}
	s.Air, m.air.disputes = judgeAir(room, s.Channels, in)
	m.air.State, m.air.Since = s.Air.State, s.Air.Since
	if s.Air.State.Known() {
		m.air.known = s.Air.State
	}
	var run *ventilation.Run
	m.air.fan, run = was.fan.follow(was.State, s.Air.State, s.At)
	s.Air.FanStop = m.air.fan.stop(s.At, room.zone())
	if run == nil {
		return nil
	}
	return []Event{{Kind: FanRun, Subject: room.ID, From: run.Start.UTC().Format(time.RFC3339), To: run.Stop.UTC().Format(time.RFC3339),
		Cause: fmt.Sprintf("air moved for %.0f min", run.Length().Minutes()), Run: run}}
}

// evaluateSession goes on with the evening.
func evaluateSession(room Room, s *Snapshot, m *Memory) {
	m.booking = m.booking.ask(room.Calendar, s.At)
	e := session.Evidence{Filled: s.filled(), Uncovered: s.uncovered(), Known: s.Air.State.Known(), Unserved: s.unserved(room.Hood)}
	e.Proven = s.Air.State.Proven() || s.Air.State == ventilation.Uneven && e.Unserved == 0
	if m.booking.planned {
		e.Booking = m.booking.booking
	}
	if s.Air.Flow != nil {
		e.Flow = *s.Air.Flow
	}
	e.Heard = views(s.Channels).get(s.Air.Probe).LastAt
	on, known := views(s.Channels).good(sensors.FanCommand)
	e.FanOn = known && on > 0.5 || s.Air.State.Drawn()
	m.Session = m.Session.Step(e, s.At)
	s.Session = sessionView(m.Session, m.booking)
}

func (b bookingMemory) ask(c session.Calendar, now sensors.Instant) bookingMemory {
	if b.asked && now.Mono-b.at < time.Minute {
		return b
	}
	b.booking, b.planned = c.Next(now.Wall)
	b.asked, b.at = true, now.Mono
	return b
}

// zone is the place's own time, for sentences with a time of the day.
func (r Room) zone() *time.Location {
	if r.Calendar.Zone == nil {
		return time.UTC
	}
	return r.Calendar.Zone
}

func (s *Snapshot) filled() (n int) {
	for i := range s.Baths {
		if s.Baths[i].Portion != nil {
			n++
		}
	}
	return n
}

func (s *Snapshot) uncovered() (n int) {
	for i := range s.Baths {
		if p := s.Baths[i].Portion; p != nil && !p.Covered {
			n++
		}
	}
	return n
}

// unserved counts the uncovered trays for which no flow is proven: none of them while all
// is proven, those at a place of the hood that draws too little, or all.
func (s *Snapshot) unserved(h Hood) (n int) {
	weak, uneven := s.Air.Weak.Get()
	if s.Air.State.Proven() {
		return 0
	}
	for i := range s.Baths {
		if b := &s.Baths[i]; b.Portion != nil && !b.Portion.Covered && (!uneven || h.serves(weak, b.Bath.ID)) {
			n++
		}
	}
	return n
}

// newest is the age of the newest good reading; negative when there is none.
func newest(v views) time.Duration {
	age := time.Duration(-1)
	for i := range v {
		if v[i].Grade == sensors.Good && (age < 0 || v[i].Age < age) {
			age = v[i].Age
		}
	}
	return age
}

// notices are worth saying, but nobody has to act on them now.
func notices(room Room, s *Snapshot, m Memory) []phrase.Sentence {
	list := s.Air.notices()
	list = append(list, fanNotice(s)...)
	list = append(list, m.decline.notice()...)
	list = append(list, s.Air.Commissioned.notice()...)
	list = append(list, m.complaint.notice(room, s.At.Wall)...)
	list = append(list, breathingNotices(s)...)
	list = append(list, probeNotices(room, s)...)
	list = append(list, s.Clock.notices()...)
	return append(list, sessionNotices(room, s)...)
}

// Age writes how long ago something was, coarse as people say it: "4 s", "6 min", "2 h 5 min".
func Age(d time.Duration) phrase.Sentence {
	switch {
	case d < 0:
		return phrase.Say("0 s")
	case d < 2*time.Minute:
		return phrase.Say("%d s", int(d.Seconds()))
	case d < 2*time.Hour:
		return phrase.Say("%d min", int(d.Minutes()))
	case d < 48*time.Hour:
		return phrase.Say("%d h %d min", int(d.Hours()), int(d.Minutes())%60)
	default:
		return phrase.Say("%d days", int(d.Hours()/24))
	}
}

// recommendationText is how a recommendation is recorded and compared.
func recommendationText(r chem.Recommendation) string {
	if t, ok := r.Time(); ok {
		return chem.MinutesSeconds(t)
	}
	return "refused"
}
