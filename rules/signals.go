package rules

import (
	"slices"
	"strings"
	"time"

	"wetside/rules/alarm"
	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// signals lists every condition on which somebody would have to act.
func signals(s *Snapshot) []alarm.Signal {
	list := make([]alarm.Signal, 0, 8+len(s.Lines)+len(s.Channels)+len(s.Baths)+2*len(s.Breathing))
	list = append(list, airSignals(s)...)
	speakers := make([]lineSpeaker, len(s.Lines))
	for i := range s.Lines {
		speakers[i] = lineSpeaker{&s.Lines[i], s}
		list = append(list, lineSignal(&speakers[i]))
	}
	for i := range s.Channels {
		list = append(list, channelSignal(&s.Channels[i], s.Armed))
	}
	for i := range s.Baths {
		list = append(list, bandSignal(&s.Baths[i], s.Session.Phase.Running()))
	}
	for i := range s.Breathing {
		list = append(list, breathingSignals(&s.Breathing[i], s.Armed)...)
	}
	return append(list, alarm.Signal{
		ID: "history", Says: alarm.Words{Text: phrase.Say("History is not being kept"), Act: s.History.Sentence, Cause: s.History.Sentence},
		Holds: alarm.Of(!s.History.Kept), Armed: true, Profile: alarm.Equipment.Profile(),
	}, alarm.Signal{
		ID: bookAlarm, Says: alarm.Words{Text: phrase.Say("The record book is damaged or was changed"), Cause: s.History.Broken,
			Act: phrase.Say("Leave the data folder as it is, run wetside verify, and compare the history with the last backup: %s",
				s.History.Broken)},
		Holds: alarm.Of(!s.History.Broken.IsZero()), Armed: true, Profile: alarm.Equipment.Profile(),
	})
}

// airSignals: no air, too little air, readings that disagree, no reading of the flow, a
// place of the hood that draws nothing, and make-up air that can't get in. Blocked make-up
// explains a low flow; a probe that gives nothing explains why the flow is not known. Low
// and stopped are two alarms, so that whoever has acknowledged the one still hears of the other.
func airSignals(s *Snapshot) []alarm.Signal {
	state := s.Air.State
	stopped := s.airSignal(airAlarm, airSpeaker{s}, airTruth(state, ventilation.Stopped))
	stopped.Profile.Urgent = true
	low := s.airSignal(lowAlarm, lowSpeaker{s}, airTruth(state, ventilation.Low))
	if stopped.Holds == alarm.True {
		low.Parent = airAlarm
	}
	disputed := s.airSignal(disputeAlarm, disputeSpeaker{s}, alarm.Of(state == ventilation.Disputed))
	disputed.Profile.Urgent = s.Air.MayStand
	proof := s.airSignal(proofAlarm, proofSpeaker{s}, alarm.Of(state == ventilation.NotProven))
	proof.Armed = s.Armed && len(s.Channels) > 0
	if probe, found := flowProbe(s.Channels); found && probe.Grade != sensors.Good {
		proof.Parent = probe.alarm
	}
	hood := s.airSignal(hoodAlarm, hoodSpeaker{s}, airTruth(state, ventilation.Uneven))
	makeUp := s.airSignal(makeUpAlarm, makeUpSpeaker{s}, makeUpTruth(s))
	makeUp.Profile = alarm.Pressure.Profile()
	if makeUp.Holds == alarm.True || makeUp.Holds == alarm.Between {
		low.Parent = makeUp.ID
	}
	return []alarm.Signal{makeUp, stopped, low, disputed, proof, hood}
}

func (s *Snapshot) airSignal(id string, says alarm.Speaker, holds alarm.Truth) alarm.Signal {
	return alarm.Signal{ID: id, Says: says, Armed: s.Armed, Holds: holds, Profile: alarm.Flow.Profile()}
}

// airTruth: while the flow is not known, it can't be told whether too little moves.
func airTruth(state, asked ventilation.State) alarm.Truth {
	if !state.Known() {
		return alarm.Unknown
	}
	return alarm.Of(state == asked)
}

// makeUpTruth sets the room pressure against what is usual; it can't be told while the
// probe gives nothing. A room without one is not judged.
func makeUpTruth(s *Snapshot) alarm.Truth {
	usual, known := s.Air.Commissioned.RoomPressure.Get()
	probe, found := views(s.Channels).of(sensors.RoomPressure)
	if !known || !found {
		return alarm.False
	}
	now, good := probe.Good()
	band, err := alarm.Pressure.Below(float64(ventilation.BlockedFrom(usual)), probe.Channel.Plausible.High-probe.Channel.Plausible.Low)
	if !good || err != nil {
		return alarm.Unknown
	}
	return band.Truth(now)
}

func lineSignal(by *lineSpeaker) alarm.Signal {
	holds := lineTruth(by.line.Status.State)
	if by.room.allSilent(by.line.Line.ID) {
		holds = alarm.True
	}
	return alarm.Signal{ID: by.line.alarm, Says: by, Armed: by.room.Armed, Holds: holds, Profile: alarm.Equipment.Profile()}
}

// allSilent says whether all that a line brings is too old although it was heard a moment ago, as
// after the computer stood still, or when frames come without a value in them: one cause, one alarm.
func (s *Snapshot) allSilent(line sensors.LineID) bool {
	silent := 0
	for i := range s.Channels {
		switch c := &s.Channels[i]; {
		case c.Line != line || c.Reason == sensors.OutOfService:
		case c.Reason != sensors.Silent:
			return false
		default:
			silent++
		}
	}
	return silent > 1
}

// lineTruth: a line that is only just open may speak yet.
func lineTruth(state sensors.LineState) alarm.Truth {
	switch state {
	case sensors.StateLive:
		return alarm.False
	case sensors.StateGone, sensors.StateSilent:
		return alarm.True
	}
	return alarm.Unknown
}

func channelSignal(c *ChannelView, armed bool) alarm.Signal {
	// Who took the probe out knows that it says nothing.
	armed = armed && c.Reason != sensors.OutOfService
	return alarm.Signal{ID: c.alarm, Says: channelSpeaker{c}, Armed: armed, Parent: c.lineAlarm,
		Holds: alarm.Of(c.Grade != sensors.Good), Profile: alarm.Equipment.Profile()}
}

// bandSignal has a deadband of 1 % of the channel's plausible range, but never so
// much that a narrow band could not be left and entered again.
func bandSignal(b *BathView, running bool) alarm.Signal {
	// Of a wash, which is water, nothing is entered: it runs while a session does.
	armed := b.Portion != nil || b.Bath.Role == Wash && running
	s := alarm.Signal{ID: b.alarm, Says: bandSpeaker{b}, Armed: armed,
		Parent: b.Channel.alarm, Profile: alarm.Temperature.Profile()}
	c, known := b.Temperature()
	band, plausible := b.Bath.Band, b.Channel.Channel.Plausible
	if !known || b.Band == BandUnknown {
		return s
	}
	span := min(plausible.High-plausible.Low, 25*(band.High-band.Low))
	high, errHigh := alarm.Temperature.Above(band.High, span)
	low, errLow := alarm.Temperature.Below(band.Low, span)
	if errHigh != nil || errLow != nil {
		return s
	}
	s.Holds = either(high.Truth(float64(c)), low.Truth(float64(c)))
	return s
}

// either holds if one of two conditions holds and is gone only if both are.
func either(a, b alarm.Truth) alarm.Truth {
	switch {
	case a == alarm.True || b == alarm.True:
		return alarm.True
	case a == alarm.Between || b == alarm.Between:
		return alarm.Between
	}
	return alarm.False
}

// The names of the alarms of the room's air.
const (
	airAlarm     = "air"
	lowAlarm     = "air-low"
	disputeAlarm = "air-readings"
	proofAlarm   = "air-proof"
	hoodAlarm    = "hood"
	makeUpAlarm  = "make-up"
)

// OfTheAir says whether an alarm is of the room's air or of a gas in it.
func OfTheAir(id string) bool {
	return slices.Contains([]string{airAlarm, lowAlarm, disputeAlarm, proofAlarm, hoodAlarm, makeUpAlarm}, id) || strings.HasPrefix(id,
		"breathing")
}

// bookAlarm is the alarm of a record book that does not hold.
const bookAlarm = "book"

func lineAlarm(id sensors.LineID) string { return "line:" + string(id) }

func channelAlarm(id sensors.ChannelID) string { return "channel:" + string(id) }

// alarmViews lists what people are told of, and apart from it what somebody put aside.
func alarmViews(set alarm.Set, zone *time.Location) (told, aside []AlarmView) {
	for _, a := range set.Told() {
		told = append(told, viewAlarm(a, a.Raised))
		told[len(told)-1].Over = over(a, zone)
	}
	for _, a := range set.Apart() {
		aside = append(aside, viewAlarm(a, a.Since))
	}
	return told, aside
}

func viewAlarm(a alarm.Alarm, since time.Time) AlarmView {
	return AlarmView{ID: a.ID, State: string(a.State), Text: a.Text, Act: a.Act, Since: since, Urgent: a.Urgent && a.State != alarm.Returned,
		Acknowledged: a.State == alarm.Acknowledged, By: a.By, Note: a.Note, Until: a.Until}
}

// over says of an alarm that is over and that nobody has seen what was wrong, and from when
// to when; empty of any other.
func over(a alarm.Alarm, zone *time.Location) phrase.Sentence {
	if a.State != alarm.Returned {
		return phrase.Sentence{}
	}
	from, to := a.Raised.In(zone).Format("15:04"), a.Since.In(zone).Format("15:04")
	switch a.ID {
	case airAlarm:
		return phrase.Say("The air stopped %s to %s and moves again.", from, to)
	case lowAlarm:
		return phrase.Say("Too little air moved %s to %s; enough moves again.", from, to)
	case disputeAlarm:
		return phrase.Say("The air readings disagreed %s to %s and agree again.", from, to)
	case proofAlarm:
		return phrase.Say("Airflow was unknown %s to %s and is measured again.", from, to)
	case hoodAlarm:
		return phrase.Say("Part of the hood drew too little air %s to %s and draws again.", from, to)
	case makeUpAlarm:
		return phrase.Say("Fresh air could not get in %s to %s and can again.", from, to)
	}
	return phrase.Say("Cleared, %s to %s: %s.", from, to, a.Text)
}

// knownAlarm says whether the room could ever raise an alarm of that ID.
func (r Room) knownAlarm(id string) bool {
	switch id {
	case airAlarm, lowAlarm, disputeAlarm, proofAlarm, hoodAlarm, makeUpAlarm, "history", bookAlarm:
		return true
	}
	for _, l := range r.Lines {
		if lineAlarm(l.ID) == id {
			return true
		}
	}
	ofChannel := func(c sensors.Channel) bool {
		return channelAlarm(c.ID) == id || breathingAlarm(c.ID) == id || dayAlarm(c.ID) == id
	}
	return slices.ContainsFunc(r.Channels, ofChannel) || slices.ContainsFunc(r.Baths, func(b Bath) bool { return "bath:"+b.ID == id })
}
