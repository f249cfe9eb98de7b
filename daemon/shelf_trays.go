package daemon

import (
	"context"
	"strings"
	"time"

	"wetside/chem"
	"wetside/chem/ledger"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/sensors/quantity"
)

func (b *chemistry) inRoom(room string, now time.Time) rules.Trays {
	out := rules.Trays{Filled: map[string]rules.Portion{}, LastFill: map[string]uint64{}}
	for _, t := range b.trays {
		if t.Room != room {
			continue
		}
		if c, ok := b.ledger.InTray(t.Bath, now); ok {
			out.Filled[t.Bath] = b.portion(c, now)
		}
		out.LastFill[t.Bath] = b.ledger.LastFill(t.Bath)
	}
	return out
}

func (b *chemistry) portion(c ledger.Contents, now time.Time) rules.Portion {
	p := rules.Portion{What: b.called(c), Volume: c.Volume,
		Known: &rules.Known{Use: b.use(c), Emergence: b.emergence[c.Container].times, Limit: b.limit(c, now)}}
	if cleared, tested := c.Tests[ledger.ClearingTest]; tested {
		p.Known.ClearingFresh, p.Known.ClearingNow = inSeconds(cleared.FreshSeconds), inSeconds(cleared.Seconds)
	}
	var origins []string
	for _, share := range c.Shares {
		origins = append(origins, share.Origin)
	}
	if k, ok := b.ledger.Container(c.Container); ok {
		p.Covered, p.Record, p.By, p.Filled = k.Covered, k.Filled.Entry, k.Filled.By, k.Filled.At.UTC()
	}
	p.Batch = strings.Join(origins, " with ")
	if batch, ok := b.ledger.Batch(p.Batch); ok {
		p.Concentrate, p.Water = batch.Aim.Parent, batch.Aim.Water
	}
	if c.Strength != nil {
		p.Known.Made, p.Known.Spread = chem.Strength(*c.Strength), c.StrengthSpread
	}
	if c.AimStrength != nil {
		p.Known.Aim = chem.Strength(*c.AimStrength)
	}
	return p
}

func inSeconds(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }

// limit is what binds the use of a bath.
func (b *chemistry) limit(c ledger.Contents, now time.Time) rules.Limit {
	answer := b.ledger.MayPour(c.Container, now)
	limit := rules.Limit{Verdict: answer.Verdict, Tested: answer.Because.Tested, Name: answer.Because.Name, Mix: answer.Because.OfMix(),
		Words: answer.Because.Words, Due: answer.Because.Due}
	product, _ := b.ledger.Catalogue().Product(c.Product)
	limit.Left = product.Left(c)
	return limit
}

// called is what people call the content of a tray.
func (b *chemistry) called(c ledger.Contents) string {
	if len(c.Shares) == 1 {
		if batch, ok := b.ledger.Batch(c.Shares[0].Origin); ok {
			return batch.Name
		}
	}
	if p, ok := b.ledger.Catalogue().Product(c.Product); ok {
		return p.Name
	}
	return string(c.Class)
}

// use is how much of its capacity a bath has used. A figure that is unverified
// never condemns it: it is then taken as used up, and no more.
func (b *chemistry) use(c ledger.Contents) chem.BathUse {
	product, _ := b.ledger.Catalogue().Product(c.Product)
	wear := product.Wear(c)
	if !wear.Known() {
		return chem.BathUse{}
	}
	part := wear.Part
	if !wear.Sure {
		part = min(part, 1)
	}
	return chem.BathUse{Used: quantity.SquareMetre(part), Capacity: 1, Words: ledger.SheetsOf(c.Load.Total())}
}

// chemEmergence is what is known of the emergence of the image in a tray.
type chemEmergence struct {
	times    chem.Emergence
	baseline uint64 // the record of the fresh time
}

// newestTimes is how many of the last emergence times count.
const newestTimes = 3

// emergences gathers the emergence times of every bath as it is filled now. The
// temperature of the fresh time is the one that was entered, else what the probe of the tray
// measured then; without either, emergence tells nothing of the time.
func (s *shelf) emergences(ctx context.Context, b *chemistry) map[string]chemEmergence {
	out := map[string]chemEmergence{}
	for r := range b.ledger.Effective() {
		test, ok := r.Act.(ledger.TestDone)
		if !ok || test.Test != ledger.EmergenceTest {
			continue
		}
		c, _ := b.ledger.Container(test.Container)
		if c.Filled.Entry == 0 || r.At.Before(c.Filled.At) {
			continue
		}
		e, seconds := out[test.Container], time.Duration(test.Seconds*float64(time.Second))
		if test.Baseline {
			e = chemEmergence{baseline: r.Number}
			if known := b.emergence[test.Container]; known.baseline == r.Number {
				e.times.Fresh, e.times.FreshAt = known.times.Fresh, known.times.FreshAt
			} else if test.Temperature != nil {
				e.times.Fresh, e.times.FreshAt = seconds, *test.Temperature
			} else if at, measured := s.site.temperatureAt(ctx, c.Bath, r.At); measured {
				e.times.Fresh, e.times.FreshAt = seconds, at
			}
		} else if e.times.Fresh > 0 {
			e.times.Now = append(e.times.Now, seconds)
			e.times.Now = e.times.Now[max(0, len(e.times.Now)-newestTimes):]
		}
		out[test.Container] = e
	}
	return out
}

// nearby is how far from a moment a measured temperature may lie.
const nearby = 90 * time.Second

// temperatureAt is what the probe of a bath measured at a moment.
func (s *site) temperatureAt(ctx context.Context, bath string, at time.Time) (quantity.Celsius, bool) {
	series, err := s.bathSeries(ctx, bath, web.SeriesQuery{From: at.Add(-nearby), To: at.Add(nearby), Points: 500})
	if err != nil {
		return 0, false
	}
	var best web.SeriesPoint
	for _, p := range series.Points {
		if !p.Suspect && !p.Imported && (best.Count == 0 || p.At.Sub(at).Abs() < best.At.Sub(at).Abs()) {
			best = p
		}
	}
	return quantity.Celsius(best.Mean), best.Count > 0
}
