package chem

import (
	"math"
	"slices"
	"time"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Line is what the times behind the developer depend on tonight.
type Line struct {
	Way   Way
	Fixer BathTemperature
	Wash  BathTemperature
	// Clearing of the first fixer, fresh and now, in the same film; both zero when nobody has taken it.
	ClearingFresh, ClearingNow time.Duration
	// PaperClears is the shortest fixing time after which a strip of the paper takes no tone; zero when not known.
	PaperClears time.Duration
	// Condemned are the stages whose bath must not be used, each with the reason.
	Condemned map[Stage]phrase.Sentence
	// Own are the times of the place at 20 °C, with their sources, in the stead of the published ones.
	Own []StageTime
}

// The temperatures between which a time is given: the coldest water of the manual, 35 °F (US Army TM 11-2323,
// par. 33), and 75 °F, above which gelatin softens (US Army MD0954, p. 69).
const (
	coldestWater quantity.Celsius = (35 - 32) * 5.0 / 9
	warmestWater quantity.Celsius = (75 - 32) * 5.0 / 9
)

// PublishedAt is the temperature of [PublishedTimes].
const PublishedAt quantity.Celsius = 20

// Times are the stages in order, each with its time or the reason why there is none.
func (l Line) Times() []StageTime {
	times := l.Written()
	for i, t := range times {
		switch t.Stage {
		case FirstFixing, SecondFixing:
			times[i] = l.fixing(times[i])
		case Rinsing, Washing:
			times[i] = warmed(times[i], l.Wash, washFactor)
		}
		if why, condemned := l.Condemned[t.Stage]; condemned {
			times[i] = times[i].refused(phrase.Say("this bath must not be used: %v", why))
		}
		times[i].Time = handy(times[i].Time)
	}
	return times
}

// handy is a time as people count it by a clock on the wall, never shorter: to five seconds, from ten minutes on to
// half a minute.
func handy(t time.Duration) time.Duration {
	step := 5 * time.Second
	if t >= 10*time.Minute {
		step = 30 * time.Second
	}
	return (t.Round(time.Second) + step - time.Second).Truncate(step)
}

// Written are the times at 20 °C, as published or as the place has them.
func (l Line) Written() []StageTime {
	times := PublishedTimes(l.Way)
	for i, t := range times {
		if own := slices.IndexFunc(l.Own, func(o StageTime) bool { return o.Stage == t.Stage }); own >= 0 {
			times[i] = l.Own[own]
		}
	}
	return times
}

// fixing is a fixing time by the temperature and the clearing test of the bath as it is now.
func (l Line) fixing(t StageTime) StageTime {
	ratio := 1.0
	if l.ClearingFresh > 0 && l.ClearingNow > 0 {
		ratio = l.ClearingNow.Seconds() / l.ClearingFresh.Seconds()
	}
	if ratio >= 2 {
		return t.refused(phrase.Say("the clearing time of the fixer has doubled: the bath is exhausted (US Navy, NAVEDTRA 14209)"))
	}
	if twice := max(2*l.PaperClears, time.Minute); l.PaperClears > 0 {
		t.Time, t.Standing = twice, Secondary
		t.Source = phrase.Say("twice the clearing time of this paper, at least a minute (a photographers' forum, apug.org, post 912413)")
		return l.bounded(t)
	}
	t = warmed(t, l.Fixer, fixFactor)
	if t.Refusal.IsZero() && ratio > 1 {
		t.Time = fromSeconds(t.Time.Seconds() * ratio)
		t.Causes = append(t.Causes, phrase.Say("the fixer clears in %.0f s, %.0f s when fresh: fixing takes longer by the same factor "+
			"(wetside's own rule)",
			l.ClearingNow.Seconds(), l.ClearingFresh.Seconds()))
	}
	return l.bounded(t)
}

// bounded refuses a time that is longer than the print should lie in the bath.
func (l Line) bounded(t StageTime) StageTime {
	if t.Refusal.IsZero() && t.Most > 0 && t.Time > t.Most {
		return t.refused(phrase.Say("the print would need %s and should not lie there for more than %s: warm the fixer or mix it fresh",
			MinutesSeconds(t.Time), MinutesSeconds(t.Most)))
	}
	return t
}

func (t StageTime) refused(why phrase.Sentence) StageTime {
	t.Time, t.Refusal = 0, why
	return t
}

// warmed is a time at the temperature of the bath; nothing is shorter than at 20 °C.
func warmed(t StageTime, bath BathTemperature, factor func(quantity.Celsius) float64) StageTime {
	c, known := bath.Value()
	switch {
	case !known:
		return t.refused(phrase.Say("the temperature is not known: measure it. %s from %s on, longer when colder",
			MinutesSeconds(t.Time), PublishedAt.To(1)))
	case c < coldestWater-edgeTolerance:
		return t.refused(phrase.Say("%s is colder than any published time: warm the bath", c.To(0.1)))
	case c > warmestWater+edgeTolerance:
		return t.refused(phrase.Say("above %s the gelatin softens: cool the bath", warmestWater.To(0.1)))
	case c >= PublishedAt:
		return t
	}
	t.Time = fromSeconds(t.Time.Seconds() * factor(c))
	t.Causes = append(t.Causes, phrase.Say("%s instead of %s (US Army TM 11-2323, par. 33)", c.To(0.1), PublishedAt.To(1)))
	return t
}

// fixFactor doubles the time for each 10 °C below 20 °C (US Army TM 11-2323, par. 33 c).
func fixFactor(c quantity.Celsius) float64 { return math.Exp2(float64(PublishedAt-c) / 10) }

// washFactor is 2 at 10 °C and 4 at 35 °F (US Army TM 11-2323, par. 33 d), in between by the logarithm.
func washFactor(c quantity.Celsius) float64 {
	const cool quantity.Celsius = 10
	if c >= cool {
		return math.Exp2(float64(PublishedAt-c) / float64(PublishedAt-cool))
	}
	return 2 * math.Exp2(float64(cool-c)/float64(cool-coldestWater))
}

// SheetAt is where a sheet is now, and since when: what the white light asks.
type SheetAt struct {
	Stage Stage
	Since time.Duration
}

// WhiteLight says whether the white light may go on, with the reason: no sheet may be in front of the fixer,
// and each must have had its whole time in the first one (common practice).
func WhiteLight(times []StageTime, sheets []SheetAt) (may bool, why phrase.Sentence) {
	at := slices.IndexFunc(times, func(t StageTime) bool { return t.Stage == FirstFixing })
	for _, s := range sheets {
		switch {
		case s.Stage < FirstFixing:
			return false, phrase.Say("no white light: a sheet is in the %s", s.Stage)
		case s.Stage > FirstFixing:
		case at < 0 || !times[at].Refusal.IsZero():
			return false, phrase.Say("no white light: the time in the first fixer is not known")
		case s.Since < times[at].Time:
			return false, phrase.Say("no white light for another %s: a sheet is in the first fixer", MinutesSeconds(times[at].Time-s.Since))
		}
	}
	return true, phrase.Say("white light may go on once all paper and film are put away")
}
