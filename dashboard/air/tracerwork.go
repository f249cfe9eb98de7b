package air

import (
	"context"
	"net/url"
	"slices"
	"strings"

	"go.uber.org/zap"

	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/coverage"
	"wetside/rules/record"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// tracerGas is the channel that a decay is read from: carbon dioxide.
func tracerGas(snap *rules.Snapshot) (sensors.Channel, bool) {
	for _, c := range snap.Channels {
		if c.Channel.Kind == sensors.CarbonDioxide {
			return *c.Channel, true
		}
	}
	return sensors.Channel{}, false
}

func (s *Pages) tracer(ctx context.Context, in web.Visit, v url.Values) (rules.TestAirChanges, *web.Problem) {
	figures := s.figures(in.Site)
	f := figures.Reader(v)
	act := rules.TestAirChanges{Method: web.PickOf(f, methodField, rules.ByDecay, rules.BySteady),
		Gas: strings.ReplaceAll(string(sensors.CarbonDioxide), "-", " "), Background: readPPM(f, backgroundField),
		ByFlow: in.Snap.Air.AirChanges}
	if f.Problem != nil {
		return act, f.Problem
	}
	if act.Method == rules.BySteady {
		act.Steady, act.People = readPPM(f, settledField), readCrowd(f, crowdField)
	} else {
		act.SensorError, act.RoomEmpty = readPPM(f, errorField), f.Get(emptyField) == "yes"
		act.Points = readTracerPoints(f)
		if f.Problem == nil && len(act.Points) == 0 {
			sp := readTracerSpan(f)
			if f.Problem == nil {
				f.Problem = s.readDecay(ctx, &act, in, sp)
			}
		}
	}
	if f.Problem != nil {
		return act, f.Problem
	}
	worked, err := act.Work(in.Snap.Air.Volume)
	if err != nil {
		return act, &web.Problem{Field: "act", Sentence: s.figures(in.Site).ErrorText(err)}
	}
	return worked, nil
}

// decayPoints is how many readings a decay is thinned to.
const decayPoints = 120

// readDecay takes the readings of a time from the history, with the flow meanwhile.
func (s *Pages) readDecay(ctx context.Context, act *rules.TestAirChanges, in web.Visit, sp coverage.Span) *web.Problem {
	gas, known := tracerGas(in.Snap)
	switch {
	case !known:
		return &web.Problem{Field: "points", Sentence: "No carbon dioxide probe is fitted here: enter the points of a hand-held one."}
	case !sp.From.Before(sp.To):
		return &web.Problem{Field: "began", Sentence: "Enter when the test began and ended, or the points themselves."}
	}
	ctx, cancel := context.WithTimeout(ctx, cards.SeriesWithin)
	defer cancel()
	got, err := s.Readings.Series(ctx, web.SeriesQuery{Channel: gas.ID, From: sp.From.UTC(), To: sp.To.UTC(), Points: decayPoints})
	if err != nil {
		return &web.Problem{Field: "began", Sentence: s.figures(in.Site).ErrorText(err)}
	}
	for _, p := range got.Points {
		if !p.Suspect {
			act.Points = append(act.Points, rules.TracerPoint{Minutes: p.At.Sub(sp.From).Minutes(), PPM: p.Mean})
		}
	}
	if len(act.Points) == 0 {
		return &web.Problem{Field: "began", Sentence: "No usable readings in that period."}
	}
	act.ByFlow = s.changesOver(ctx, in.Snap, sp)
	return nil
}

// changesOver is the mean rate by the duct's probe over a time; nil when it was not read.
func (s *Pages) changesOver(ctx context.Context, snap *rules.Snapshot, sp coverage.Span) *quantity.PerHour {
	if s.Flows == nil || snap.Air.Probe == "" || !(snap.Air.Volume > 0) {
		return nil
	}
	got, err := s.Flows.Flow(ctx, snap.Room, web.SeriesQuery{From: sp.From.UTC(), To: sp.To.UTC(), Points: decayPoints})
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
	return new(quantity.PerHour(sum / n / float64(snap.Air.Volume)))
}

type recorded[A rules.Act] struct {
	record.Record
	act A
}

// earlier are the acts of a kind in a room that are on record, the newest first.
func earlier[A rules.Act](ctx context.Context, s *Pages, room string) ([]recorded[A], error) {
	var none A
	records, err := s.Readings.Records(ctx, web.RecordsQuery{Room: room, Kinds: []string{none.Kind()}})
	if err != nil {
		s.Log.Error("records of the book can't be read", zap.String("kind", none.Kind()), zap.Error(err))
		return nil, err
	}
	var acts []recorded[A]
	for _, r := range slices.Backward(records) {
		act, err := rules.DecodeAct(r.Kind, r.Content)
		if a, is := act.(A); is && err == nil {
			acts = append(acts, recorded[A]{r, a})
		}
	}
	return acts, nil
}
