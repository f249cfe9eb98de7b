package rules

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"wetside/chem"
	"wetside/chem/ledger"
	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// announceChange is the change of a recommended time worth a record: 10 %, common practice.
const announceChange = 0.10

// bathMemory is what was last recorded of a bath, and its temperature of the last hour.
type bathMemory struct {
	id, alarm string // of the bath, and the name of its alarm, made once
	announced time.Duration
	refused   bool
	track     track
	fitted    fitted
	// still is what times go by, nil before the first reading of a content.
	still *quantity.Celsius
	// filled and volume are of the content that the track belongs to: a pour or a top-up ends it.
	filled uint64
	volume quantity.Millilitre
	timed  timed
	// recommended is the time for that: most readings are of other probes.
	recommended chem.Recommendation
}

// timed is what the time of a developer rests on.
type timed struct {
	temperature quantity.Celsius
	still       *quantity.Celsius
	known       *Known
}

// stillWithin is by how many kelvin the readings of a bath may scatter before its times follow them: one that
// changes by a second with each reading can't be read. A fixing time is 1.4 % longer meanwhile at the most (2^0.02),
// a developing time some 2 %, and the probe of a tray is hardly as true as that. It is wetside's own rule.
const stillWithin = 0.2

type bathInput struct {
	bath    Bath
	channel ChannelView
	share   float64 // by which a time must change to be told anew
}

// resolution is the step of the bath's probe in kelvin.
func (in bathInput) resolution() float64 {
	traits, _ := in.channel.Channel.Kind.Traits()
	return traits.Resolution
}

// bath is what was remembered of a bath, which nearly always stands at the same place.
func (m *Memory) bath(likely int, id string) bathMemory {
	if likely < len(m.baths) && m.baths[likely].id == id {
		return m.baths[likely]
	}
	if at := slices.IndexFunc(m.baths, func(b bathMemory) bool { return b.id == id }); at >= 0 {
		return m.baths[at]
	}
	return bathMemory{id: id, alarm: "bath:" + id}
}

// view makes the view of a bath and goes on with what is remembered of it.
func (view *BathView) view(memory *bathMemory, in bathInput, board *Board, now sensors.Instant) {
	view.Bath, view.Channel, view.alarm = in.bath, in.channel, memory.alarm
	if in.bath.Channel == "" {
		view.Channel.Reason = sensors.NotConfigured
	}
	if p, ok := board.portion(in.bath.ID); ok {
		view.Portion = new(p)
		if p.Record != memory.filled || p.Volume != memory.volume {
			memory.track, memory.still, memory.filled, memory.volume = track{}, nil, p.Record, p.Volume
		}
	}
	temperature, known := view.Temperature()
	memory.track = memory.track.with(now, temperature, known)
	if known {
		if memory.still == nil || math.Abs(float64(temperature-*memory.still)) > stillWithin {
			memory.still = new(temperature)
		}
		view.still = memory.still
		view.Band = bandState(in.bath.Band, temperature)
		view.Trend = memory.track.slope(now)
		if !view.RunningWater() { // it comes ever anew: it goes to no end by the law of cooling
			memory.fitted = memory.fitted.renewed(memory.track, in.bath, in.resolution())
			view.Forecast = memory.fitted.now(now.Mono)
		}
	}
	if in.bath.Role == Developer {
		view.Recommendation = memory.recommend(view)
		memory.remember(view.Recommendation)
		view.Told, view.Announce = announcement(view, board.Told[in.bath.ID], in.share)
	}
}

func bandState(band sensors.Range, c quantity.Celsius) BandState {
	switch {
	case band == sensors.Range{}:
		return BandUnknown
	case float64(c) < band.Low:
		return BelowBand
	case float64(c) > band.High:
		return AboveBand
	default:
		return InBand
	}
}

// recommend gives tonight's time, worked out anew when something is new that it rests on.
func (m *bathMemory) recommend(view *BathView) chem.Recommendation {
	c, known := view.Temperature()
	if !known || view.Portion == nil {
		return recommend(view)
	}
	if by := (timed{c, view.still, view.Portion.Known}); m.timed != by {
		m.timed, m.recommended = by, recommend(view)
	}
	return m.recommended
}

// recommend gives tonight's time only for a known batch and a fresh good reading.
func recommend(view *BathView) chem.Recommendation {
	in, err := view.Developing()
	if err != nil {
		return chem.Refused(phrase.Say("%v", err))
	}
	return chem.Tonight(in)
}

// Developing is what tonight's time for the bath rests on; the error says why there is none.
func (b BathView) Developing() (chem.Inputs, error) {
	c, known := b.Temperature()
	why, condemned := b.condemned()
	switch {
	case b.Portion == nil:
		return chem.Inputs{}, phrase.Errorf("no batch is entered for this tray")
	case condemned:
		return chem.Inputs{}, phrase.Errorf("this bath must not be used: %v", why)
	case b.Bath.Channel == "":
		return chem.Inputs{}, phrase.Errorf("no temperature probe is fitted to this tray")
	case !known:
		return chem.Inputs{}, phrase.Errorf("the temperature is %s", b.Channel.Why())
	}
	in := chem.Inputs{
		Table:             b.Bath.Developing,
		Temperature:       chem.Measured(c, b.Bath.Accuracy),
		HydroquinoneFloor: b.Bath.HydroquinoneFloor,
	}
	if known := b.Portion.Known; known != nil {
		in.Strength, in.Use, in.Emergence = b.Bath.strength(*known), b.Bath.use(*known), known.Emergence
	}
	if b.still != nil {
		still := in
		still.Temperature = chem.Measured(*b.still, math.Hypot(b.Bath.Accuracy, stillWithin))
		_, now := chem.Tonight(in).Time()
		if _, then := chem.Tonight(still).Time(); now && then { // a reading that has no time has none beside another either
			return still, nil
		}
	}
	return in, nil
}

// condemned says whether what is in the tray must not be used, and why.
func (b BathView) condemned() (why phrase.Sentence, bad bool) {
	if b.Portion == nil || b.Portion.Known == nil || b.Portion.Known.Limit.Verdict != ledger.Discard {
		return phrase.Sentence{}, false
	}
	return b.Portion.Known.Limit.Words, true
}

// remember keeps the recommendation last recorded until a change is worth a record.
func (m *bathMemory) remember(r chem.Recommendation) {
	t, ok := r.Time()
	switch {
	case !ok:
		m.announced, m.refused = 0, true
	case m.announced == 0 || worthSaying(m.announced, t, announceChange):
		m.announced, m.refused = t, false
	}
}

// worthSaying says whether a time moved by more than a share; zero takes [announceChange].
func worthSaying(before, now time.Duration, share float64) bool {
	share = cmp.Or(share, announceChange)
	ratio := float64(now) / float64(before)
	return ratio > 1+share || ratio < 1-share
}

// bathChanges gives an event when a time appears, is refused, or changes enough.
func bathChanges(before bathMemory, b *BathView) []Event {
	if b.Bath.Role != Developer {
		return nil
	}
	t, ok := b.Recommendation.Time()
	said, refused := before.announced != 0, before.refused
	unchanged := ok && said && !worthSaying(before.announced, t, announceChange) || !ok && refused
	if unchanged {
		return nil
	}
	from := "nothing"
	switch {
	case said:
		from = chem.MinutesSeconds(before.announced)
	case refused:
		from = "refused"
	}
	cause := b.Recommendation.Sentence().String()
	if source := b.Bath.Developing.Source(); source != "" {
		cause = fmt.Sprintf("%s (%s)", cause, source)
	}
	return []Event{{Kind: DevelopmentTime, Subject: b.Bath.ID, From: from, To: recommendationText(b.Recommendation), Cause: cause}}
}
