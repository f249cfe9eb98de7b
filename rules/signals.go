package rules

import (
	"fmt"
	"time"

	"wetside/rules/alarm"
	"wetside/rules/ventilation"
	"wetside/sensors"
)

// Delays by kind of signal: flow 15 s and temperature 60 s are the usual starting
// values of alarm management (from memory); the others are this program's choice.
func flowProfile(urgent bool) alarm.Profile {
	return alarm.Profile{OnDelay: 15 * time.Second, OffDelay: 15 * time.Second, Urgent: urgent}
}

func temperatureProfile() alarm.Profile {
	return alarm.Profile{OnDelay: time.Minute, OffDelay: time.Minute}
}

func equipmentProfile() alarm.Profile {
	return alarm.Profile{OnDelay: 10 * time.Second, OffDelay: 10 * time.Second}
}

// signals lists every condition on which somebody would have to act. They are
// armed while a tray is filled: nobody wants an alarm in an empty room.
func signals(room Room, s Snapshot) []alarm.Signal {
	armed := armed(s)
	list := airSignals(s, armed)
	for _, l := range s.Lines {
		list = append(list, lineSignal(l, armed))
	}
	for _, c := range s.Channels {
		list = append(list, channelSignal(room, c, armed))
	}
	for _, b := range s.Baths {
		list = append(list, bandSignal(b))
	}
	return append(list, alarm.Signal{
		ID: "history", Text: "History is not being kept", Act: s.History.Sentence, Cause: s.History.Sentence,
		Holds: alarm.Of(!s.History.Kept), Armed: true, Profile: equipmentProfile(),
	})
}

func airSignals(s Snapshot, armed bool) []alarm.Signal {
	state := s.Air.State
	return []alarm.Signal{
		{
			ID: "air", Text: "The air does not move enough", Cause: s.Air.Sentence, Armed: armed,
			Act:   "Switch the fan on. If it does not help, cover the trays and let people out.",
			Holds: airTruth(state, state == ventilation.Stopped || state == ventilation.Low), Profile: flowProfile(state == ventilation.Stopped),
		},
		{
			ID: "air-proof", Text: "It is not known whether the air moves", Cause: s.Air.Sentence, Armed: armed && len(s.Channels) > 0,
			Act:   "Hold a strip of paper to the grille, and look at the air probe.",
			Holds: alarm.Of(state == ventilation.NotProven), Profile: flowProfile(false),
		},
	}
}

// airTruth: while the flow is not proven, it can't be told whether too little moves.
func airTruth(state ventilation.State, holds bool) alarm.Truth {
	if state == ventilation.NotProven {
		return alarm.Unknown
	}
	return alarm.Of(holds)
}

func lineSignal(l LineView, armed bool) alarm.Signal {
	state := l.Status.State
	return alarm.Signal{
		ID: lineAlarm(l.Line.ID), Text: fmt.Sprintf("No word from the probes on %s", l.Line.Name), Armed: armed,
		Act:   "Look at the plug and the cable of that port.",
		Cause: fmt.Sprintf("line %s is %s: %s", l.Line.ID, state, l.Status.LastError),
		Holds: lineTruth(state), Profile: equipmentProfile(),
	}
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

func lineAlarm(id sensors.LineID) string { return "line:" + string(id) }

func channelSignal(room Room, c ChannelView, armed bool) alarm.Signal {
	s := alarm.Signal{
		ID: "channel:" + string(c.Channel.ID), Text: fmt.Sprintf("%s gives no usable value", c.Channel.Name), Armed: armed,
		Act:   "Look whether the probe hangs in the tray and its cable is whole.",
		Cause: fmt.Sprintf("%s is %s", c.Channel.Name, c.Why()),
		Holds: alarm.Of(c.Grade != sensors.Good), Profile: equipmentProfile(),
	}
	if l, ok := room.lineOf(c.Channel.ID); ok {
		s.Parent = lineAlarm(l.ID)
	}
	return s
}

func bandSignal(b BathView) alarm.Signal {
	s := alarm.Signal{
		ID: "bath:" + b.Bath.ID, Text: fmt.Sprintf("%s is out of its temperature band", b.Bath.Name), Armed: b.Portion != nil,
		Parent: "channel:" + string(b.Bath.Channel), Profile: temperatureProfile(),
	}
	c, known := b.Temperature()
	if !known || b.Band == BandUnknown {
		return s
	}
	s.Holds = alarm.Of(b.Band != InBand)
	s.Cause = fmt.Sprintf("%.1f °C, wanted %.1f to %.1f °C", float64(c), b.Bath.Band.Low, b.Bath.Band.High)
	s.Act = "Cool the tray, or announce the time for this temperature."
	if b.Band == BelowBand {
		s.Act = "Put hot water round the tray, or announce the time for this temperature."
	}
	return s
}

// alarmViews lists what people are told of.
func alarmViews(set alarm.Set) []AlarmView {
	var list []AlarmView
	for _, a := range set.Listed() {
		if a.State.Annunciated() {
			list = append(list, AlarmView{ID: a.ID, State: string(a.State), Text: a.Text, Act: a.Act, Since: a.Raised, Urgent: a.Urgent,
				Acknowledged: a.State == alarm.Acknowledged || a.State == alarm.LatchedAcknowledged})
		}
	}
	return list
}
