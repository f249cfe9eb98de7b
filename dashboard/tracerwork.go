package dashboard

import (
	"context"
	"net/url"
	"strings"

	"wetside/rules"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// tracerGas is the channel that a decay is read from: carbon dioxide.
func tracerGas(snap *rules.Snapshot) (sensors.Channel, bool) {
	for _, c := range snap.Channels {
		if c.Channel.Kind == sensors.CarbonDioxide {
			return c.Channel, true
		}
	}
	return sensors.Channel{}, false
}

// tracer reads a test and works it out.
func (s *airPages) tracer(ctx context.Context, in visit, v url.Values) (rules.TestAirChanges, *problem) {
	figures := s.figures(in.site)
	f := figures.reader()
	act := rules.TestAirChanges{Method: rules.TestMethod(f.pick("method", v.Get("method"), string(rules.ByDecay), string(rules.BySteady))),
		Gas: strings.ReplaceAll(string(sensors.CarbonDioxide), "-", " "), Background: readPPM(f, "background", v.Get("background")), ByFlow: in.snap.Air.AirChanges}
	if f.problem != nil {
		return act, f.problem
	}
	if act.Method == rules.BySteady {
		act.Steady, act.People = readPPM(f, "settled", v.Get("settled")), readCrowd(f, "crowd", v.Get("crowd"))
	} else {
		act.SensorError, act.RoomEmpty = readPPM(f, "error", v.Get("error")), v.Get("empty") == "yes"
		act.Points = readTracerPoints(f, v.Get("points"))
		if f.problem == nil && len(act.Points) == 0 {
			sp := readTracerSpan(f, v)
			if f.problem == nil {
				f.problem = s.readDecay(ctx, &act, in, sp)
			}
		}
	}
	if f.problem != nil {
		return act, f.problem
	}
	worked, err := act.Work(in.snap.Air.Volume)
	if err != nil {
		return act, &problem{"act", s.figures(in.site).sentenceOf(err)}
	}
	return worked, nil
}

// decayPoints is how many readings a decay is thinned to.
const decayPoints = 120

// readDecay takes the readings of a time from the history, with the flow meanwhile.
func (s *airPages) readDecay(ctx context.Context, act *rules.TestAirChanges, in visit, sp span) *problem {
	gas, known := tracerGas(in.snap)
	switch {
	case !known:
		return &problem{"points", s.words.Say("tracer.no-probe")}
	case !sp.from.Before(sp.to):
		return &problem{"began", s.words.Say("tracer.no-span")}
	}
	ctx, cancel := context.WithTimeout(ctx, seriesWithin)
	defer cancel()
	got, err := s.View.Series(ctx, SeriesQuery{Channel: gas.ID, From: sp.from.UTC(), To: sp.to.UTC(), Points: decayPoints})
	if err != nil {
		return &problem{"began", s.figures(in.site).sentenceOf(err)}
	}
	for _, p := range got.Points {
		if !p.Suspect {
			act.Points = append(act.Points, rules.TracerPoint{Minutes: p.At.Sub(sp.from).Minutes(), PPM: p.Mean})
		}
	}
	if len(act.Points) == 0 {
		return &problem{"began", s.words.Say("tracer.no-readings")}
	}
	act.ByFlow = s.changesOver(ctx, in.snap, sp)
	return nil
}

// changesOver is the mean rate by the duct's probe over a time; nil when it was not read.
func (s *airPages) changesOver(ctx context.Context, snap *rules.Snapshot, sp span) *quantity.PerHour {
	if s.flows == nil || snap.Air.Probe == "" || !(snap.Air.Volume > 0) {
		return nil
	}
	got, err := s.flows.Flow(ctx, snap.Room, SeriesQuery{From: sp.from.UTC(), To: sp.to.UTC(), Points: decayPoints})
	if err != nil {
		return nil
	}
	var sum, n float64
	for _, p := range got.Points {
		if !p.Suspect {
			sum, n = sum+p.Mean, n+1
		}
	}
	if n == 0 {
		return nil
	}
	rate := quantity.PerHour(sum / n / float64(snap.Air.Volume))
	return &rate
}
