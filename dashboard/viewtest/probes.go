package viewtest

import (
	"time"

	"wetside/rules"
	"wetside/rules/truth"
	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Probed gives the room's probes an invented life up to a moment: two checks and six
// hand readings of the developer's, a check of the stop bath's that is overdue, and
// two findings that are alike and wait beside one that was dismissed.
func (s *Scene) Probed(now time.Time) {
	developer, stop := Channel(s.Room.ID, "developer"), Channel(s.Room.ID, "stop")
	const day = 24 * time.Hour
	number := uint64(60)
	enter := func(act truth.Act, ago time.Duration) {
		number++
		s.board.Probes = s.board.Probes.With(act, truth.Stamp{Record: number, Person: "Ida", At: now.Add(-ago)})
	}
	enter(truth.FitProbe{Channel: developer, Probe: "P-12", Make: "steel thermometer", Accuracy: 0.5}, 200*day)
	enter(truth.FitProbe{Channel: stop, Probe: "P-13", Accuracy: 0.5}, 200*day)
	enter(truth.CheckProbe{Channel: stop, Method: truth.IcePoint, Uncertainty: 0.1, AsFound: 0.9, Next: now.Add(-3 * day)}, 190*day)
	enter(truth.CheckProbe{Channel: developer, Method: truth.IcePoint, Uncertainty: 0.1, AsFound: 0.2, Next: now.Add(30 * day)}, 150*day)
	for i := range 6 {
		raw := 19.6 + 0.05*float64(i)
		enter(truth.HandReading{Channel: developer, Value: 19.5, With: "glass thermometer 2", Uncertainty: 0.2, Raw: &raw},
			time.Duration(120-20*i)*day)
	}
	enter(truth.CheckProbe{Channel: developer, Method: truth.Reference, Reference: 20, Uncertainty: 0.1,
		Instrument: "reference thermometer", Certificate: "K-5", AsFound: 20.7, Correct: true,
		Next: now.Add(180 * day), Note: "invented"}, 2*day)
	waits := truth.Finding{ID: "out:stop", What: truth.OutOfBath, Channels: []sensors.ChannelID{stop}, From: now.Add(-20 * time.Minute),
		Confidence: 0.94,
		Text: phrase.Say("Stop bath tray left %s within two minutes and has followed the room air since: its probe may be out "+
			"of the liquid.", quantity.Celsius(19.1).To(0.1)),
		Basis: phrase.Say("after the step it lay %s from the air and %s from where the bath was", quantity.Celsius(0.1).To(0.1).Gap(),
			quantity.Celsius(1.9).To(0.1).Gap())}
	judged := waits
	judged.ID, judged.What, judged.From = "jump:stop", truth.Jump, now.Add(-30*day)
	judged.Text = phrase.Say("Stop bath tray moved by %s within two minutes and stayed there; no entry explains the change.",
		quantity.Celsius(2.1).To(0.1).Change())
	before := waits
	before.ID, before.From = "out:stop:before", now.Add(-7*day)
	s.board.Probes = s.board.Probes.Offered(judged).Offered(before).Offered(waits)
	enter(truth.DismissFinding{Finding: judged, Why: "I poured it anew and entered it later"}, 30*day)
}

// KnowClock sets what is known of the computer's clock.
func (s *Scene) KnowClock(c rules.ClockView) { s.board.Clock = c }
