package daemon

import (
	"context"
	"slices"
	"strings"
	"time"

	"wetside/chem"
	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// unmeasured is what a tray is taken to hold until somebody enters what it does:
// more than any tray on a bench, so that nothing is refused for a guess.
const unmeasured quantity.Millilitre = 20000

// unnamed is the first tray of the configuration that an act is about; whether the
// book knows it at the time of the act, the check has said.
func (s *shelf) unnamed(a ledger.Act) (cards.ShelfTray, bool) {
	for _, id := range ledger.Fills(a) {
		if at := slices.IndexFunc(s.trays, func(t cards.ShelfTray) bool { return t.Container == id }); at >= 0 {
			return s.trays[at], true
		}
	}
	return cards.ShelfTray{}, false
}

// nameTray enters a tray that stands in the configuration, from the time of the act on.
func (s *shelf) nameTray(ctx context.Context, e cards.ShelfEntry, tray cards.ShelfTray) error {
	for _, id := range ledger.Fills(e.Act) {
		at := slices.IndexFunc(s.trays, func(t cards.ShelfTray) bool { return t.Container == id })
		if _, known := s.ledger.Container(id); at < 0 || known && id != tray.Container {
			continue
		}
		t := s.trays[at]
		naming := e
		naming.Note, naming.Seen, naming.Room = nil, 0, t.Room
		naming.Act = ledger.ContainerNamed{Container: t.Container, Vessel: ledger.Tray, Capacity: unmeasured, Bath: t.Bath}
		if err := s.ledger.Check(s.entry(naming)); err != nil {
			return err
		}
		if _, err := s.record(ctx, naming); err != nil {
			return err
		}
	}
	return nil
}

// showInRooms lets every room know what the book says that stands in its trays.
func (s *shelf) showInRooms(ctx context.Context) {
	ctx, cancel := context.WithTimeout(ctx, 5*time.Second)
	defer cancel()
	for _, r := range s.site.everyRoom() {
		trays := s.inRoom(r.config.ID)
		_ = r.ask(ctx, func(r *room) error { // a room that has ended is told at its next start
			r.board.Shelf = trays
			return nil
		})
	}
}

// inRoom is what the book says of the trays of a room.
func (s *shelf) inRoom(room string) rules.Trays {
	s.mu.RLock()
	defer s.mu.RUnlock()
	now := s.clock.Now().Wall
	out := rules.Trays{Filled: map[string]rules.Portion{}, LastFill: map[string]uint64{}}
	for _, t := range s.trays {
		if t.Room != room {
			continue
		}
		if c, ok := s.ledger.InTray(t.Bath, now); ok {
			out.Filled[t.Bath] = s.portion(c)
		}
		out.LastFill[t.Bath] = s.ledger.LastFill(t.Bath)
	}
	return out
}

func (s *shelf) portion(c ledger.Contents) rules.Portion {
	p := rules.Portion{What: s.called(c), Volume: c.Volume,
		Known: &rules.Known{Use: s.use(c), Emergence: s.emergence[c.Container].times, Limit: s.limit(c)}}
	var origins []string
	for _, share := range c.Shares {
		origins = append(origins, share.Origin)
	}
	if k, ok := s.ledger.Container(c.Container); ok {
		p.Covered, p.Record, p.By, p.Filled = k.Covered, k.Filled.Entry, k.Filled.By, k.Filled.At.UTC()
	}
	p.Batch = strings.Join(origins, " with ")
	if b, ok := s.ledger.Batch(p.Batch); ok {
		p.Concentrate, p.Water = b.Aim.Parent, b.Aim.Water
	}
	if c.Strength != nil {
		p.Known.Made = chem.Strength(*c.Strength)
	}
	if c.AimStrength != nil {
		p.Known.Aim = chem.Strength(*c.AimStrength)
	}
	return p
}

// limit is what binds the use of a bath.
func (s *shelf) limit(c ledger.Contents) rules.Limit {
	answer := s.ledger.MayPour(c.Container, s.clock.Now().Wall)
	limit := rules.Limit{Verdict: answer.Verdict, Name: answer.Because.Name, Words: answer.Because.Words, Due: answer.Because.Due}
	product, _ := s.ledger.Catalogue().Product(c.Product)
	limit.Left = product.Left(c)
	return limit
}

// called is what people call the content of a tray.
func (s *shelf) called(c ledger.Contents) string {
	if len(c.Shares) == 1 {
		if b, ok := s.ledger.Batch(c.Shares[0].Origin); ok {
			return b.Name
		}
	}
	if p, ok := s.ledger.Catalogue().Product(c.Product); ok {
		return p.Name
	}
	return string(c.Class)
}

// use is how much of its capacity a bath has used. A figure that is unverified
// never condemns it: it is then taken as used up, and no more.
func (s *shelf) use(c ledger.Contents) chem.BathUse {
	product, _ := s.ledger.Catalogue().Product(c.Product)
	wear := product.Wear(c)
	if !wear.Known() {
		return chem.BathUse{}
	}
	part := wear.Part
	if !wear.Sure {
		part = min(part, 1)
	}
	sheets := float64(c.Load.Total() / ledger.EightByTen)
	return chem.BathUse{Used: quantity.SquareMetre(part), Capacity: 1, Words: phrase.Measured("%.0f sheets 8x10", sheets)}
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
func (s *shelf) emergences(ctx context.Context) map[string]chemEmergence {
	out := map[string]chemEmergence{}
	for _, r := range s.ledger.Effective() {
		test, ok := r.Act.(ledger.TestDone)
		if !ok || test.Test != ledger.EmergenceTest {
			continue
		}
		if c, _ := s.ledger.Container(test.Container); c.Filled.Entry == 0 || r.At.Before(c.Filled.At) {
			continue
		}
		e, seconds := out[test.Container], time.Duration(test.Seconds*float64(time.Second))
		if test.Baseline {
			e = chemEmergence{baseline: r.Number}
			if known := s.emergence[test.Container]; known.baseline == r.Number {
				e.times.Fresh, e.times.FreshAt = known.times.Fresh, known.times.FreshAt
			} else if test.Temperature != nil {
				e.times.Fresh, e.times.FreshAt = seconds, *test.Temperature
			} else if at, measured := s.temperatureAt(ctx, test.Container, r.At); measured {
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

// temperatureAt is what the probe of a tray measured at a moment.
func (s *shelf) temperatureAt(ctx context.Context, container string, at time.Time) (quantity.Celsius, bool) {
	c, _ := s.ledger.Container(container)
	series, err := s.site.bathSeries(ctx, c.Bath, web.SeriesQuery{From: at.Add(-nearby), To: at.Add(nearby), Points: 500})
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
