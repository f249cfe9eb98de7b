package chem

import (
	"math"
	"time"

	"wetside/sensors/quantity/phrase"
)

// model is a time in the making: the logarithm of its seconds, how far that may
// be off, and the steps so far.
type model struct {
	ln      float64
	off     spread
	shown   time.Duration
	basis   phrase.Sentence
	steps   []Step
	unknown []phrase.Sentence
	timed   bool
}

// newModel applies the effects one after the other to the reference time.
func newModel(ref Point, effects []effect) *model {
	m := &model{ln: math.Log(ref.Time.Seconds()), shown: ref.Time.Round(time.Second), basis: effects[0].basis,
		steps: []Step{{Cause: phrase.Say("%s at %s", MinutesSeconds(ref.Time), toldDegrees(ref.At, ref.Written))}}}
	for _, e := range effects {
		m.move(m.ln+e.ln, m.off.plus(e.off), e.cause)
	}
	return m
}

// move takes the model to a new time. The steps are differences of whole
// seconds, so that they add up to the time shown.
func (m *model) move(ln float64, off spread, cause phrase.Sentence) {
	m.ln, m.off = ln, off
	now := fromSeconds(math.Exp(ln)).Round(time.Second)
	m.steps = append(m.steps, Step{Cause: cause, Change: now - m.shown})
	m.shown = now
}

// correct brings in a measured emergence time. Its ratio to the fresh one tells
// the whole activity of the developer (temperature, strength and use), so that
// t = t_ref f(fresh's temperature) now/fresh, with no probe involved.
func (m *model) correct(in Inputs) error {
	now := median(in.Emergence.Now)
	fresh, err := temperatureFactor(in.Table, Measured(in.Emergence.FreshAt, 0))
	if err != nil {
		m.steps = append(m.steps, Step{Cause: phrase.Say("emergence not usable: on the fresh bath %v", err)})
		return nil
	}
	ln := math.Log(in.Table.reference().Time.Seconds()) + fresh.ln + math.Log(now.Seconds()/in.Emergence.Fresh.Seconds())
	off := deviating(in.Emergence.uncertainty())
	if err := activity(ln - m.ln); err != nil {
		return err
	}
	cause := phrase.Say("emergence %.0f s", now.Seconds())
	m.basis, m.timed = phrase.Say("%s and emergence", m.basis), true
	switch {
	case !in.Use.known():
		m.move(ln, off, cause)
	case math.Abs(ln-m.ln) > 2*off.plus(m.off).standard():
		m.move(ln, off, phrase.Say("%s overrides the count", cause))
	default:
		share := off.variance / (off.variance + m.off.variance) // of the model, by the inverse variances
		m.move(m.ln*share+ln*(1-share), m.off.times(share).plus(off.times(1-share)), cause)
	}
	return nil
}

// activity refuses an emergence that differs from the model by more than a
// factor of two (common practice): something other than use is wrong.
func activity(off float64) error {
	switch {
	case off > math.Ln2:
		return Refusal{phrase.Say("the image comes %.1f times later than temperature, strength and use explain: the developer is spent, "+
			"contaminated or not what its label says", math.Exp(off))}
	case off < -math.Ln2:
		return Refusal{phrase.Say("the image comes %.1f times sooner than temperature, strength and use explain: time it again, or the "+
			"developer is stronger than its label says", math.Exp(-off))}
	}
	return nil
}

func (m *model) recommendation() Recommendation {
	return Recommendation{
		time: fromSeconds(math.Exp(m.ln)), low: fromSeconds(math.Exp(m.ln - m.off.most())), high: fromSeconds(math.Exp(m.ln + m.off.most())),
		basis: m.basis, steps: m.steps, unknown: m.unknown, timed: m.timed,
	}
}

// spread is how far a value may be off: its variance, and its fourth cumulant, which tells a hard limit
// from a bell. Both add up over causes that have nothing to do with each other.
type spread struct{ variance, fourth float64 }

// within is the spread of something that lies anywhere within plus or minus a limit.
func within(limit float64) spread {
	v := limit * limit / 3
	return spread{v, -1.2 * v * v}
}

// deviating is the spread of a bell with a standard deviation.
func deviating(sd float64) spread { return spread{variance: sd * sd} }

func (s spread) plus(o spread) spread { return spread{s.variance + o.variance, s.fourth + o.fourth} }

// times is the spread of the value times a factor.
func (s spread) times(f float64) spread { return spread{s.variance * f * f, s.fourth * f * f * f * f} }

func (s spread) standard() float64 { return math.Sqrt(s.variance) }

// most is how far off the value is in 95 of 100 cases: 1.645 standard uncertainties where one hard limit is all
// there is, 1.902 for two like ones, 1.960 for a bell, and by their kurtosis in between (worked out from the
// rectangle, the triangle and the normal distribution). Two throughout would hold all of a hundred truths
// behind one hard limit.
func (s spread) most() float64 {
	if s.variance <= 0 {
		return 0
	}
	kurtosis := s.fourth / (s.variance * s.variance)
	return (1.960 - 0.0685*kurtosis - 0.2758*kurtosis*kurtosis) * s.standard()
}

// finite says whether a number is one that can be measured: neither without end nor none at all.
func finite(v float64) bool { return math.Abs(v) <= math.MaxFloat64 }
