package ledger

import (
	"math"
	"time"

	"wetside/sensors/quantity/phrase"
)

// reading is everything that the limits of one container are read from.
type reading struct {
	s   *state
	c   Container
	l   Liquid
	p   Product // the zero one when it is not in the catalogue
	now time.Time
}

func (r reading) limits() []Limit {
	if r.l.class == UnknownClass {
		return []Limit{r.unsure(phrase.Say("identity"), phrase.Say("Nobody knows what this is"))}
	}
	if r.s.sortOf(r.l) == FromConcentrate && r.l.unused() {
		return append([]Limit{r.run(phrase.Say("life once opened"), r.p.Opened, r.l.meanMade())}, r.pack()...)
	}
	limits := append(r.stained(), r.life(), r.area(), r.strength())
	if r.l.open > 0 {
		limits = append(limits, r.openTray())
	}
	r.settle(limits)
	r.justTested(limits)
	return append(limits, r.tested()...)
}

func (r reading) unsure(name, words phrase.Sentence) Limit {
	return Limit{Name: name, Verdict: TestFirst, Words: words, Source: phrase.Say("record book"), Standing: Verified}
}

// run is a limit by the calendar.
func (r reading) run(name phrase.Sentence, f *Figure, since time.Time) Limit {
	if f == nil {
		return r.unmeasured(name, phrase.Say("No figure is known for the %s", name))
	}
	limit, _ := f.Duration()
	age := r.now.Sub(since)
	c := Limit{Name: name, kind: lifeLimit, over: float64(age) / float64(limit), Verdict: Pour, Due: since.Add(limit),
		Source: phrase.Plain(f.Source), Standing: f.Standing,
		bare: phrase.Say("%s old, limit %s", span(age), f.Words())}
	c.Words = phrase.Say("%s: %s", name, c.bare)
	if age < -time.Second {
		return r.unsure(name, phrase.Say("The %s begins at %s, after the time asked about", name, when(since)))
	}
	if age >= limit {
		return c.out()
	}
	return c
}

// out is the limit once it has run out.
func (c Limit) out() Limit {
	c.Verdict = Discard
	if c.Standing == Unverified {
		c.Verdict, c.doubt = TestFirst, ranOut
	}
	return c
}

// unmeasured is a limit without a figure to compare with.
func (r reading) unmeasured(name, words phrase.Sentence) Limit {
	c := r.unsure(name, words)
	c.doubt, c.Source, c.Standing = noFigure, phrase.Say("catalogue"), ""
	return c
}

// unrecorded is a limit of a bath whose past nobody wrote down.
func (r reading) unrecorded(name, words phrase.Sentence) Limit {
	c := r.unsure(name, words)
	c.doubt = noPast
	return c
}

// pack is the date printed on the pack, if any.
func (r reading) pack() []Limit {
	var limits []Limit
	for _, id := range r.l.origins() {
		if expiry := r.s.lots[id].Expiry; !expiry.IsZero() {
			c := Limit{Name: phrase.Say("date on the pack"), Verdict: Pour, Due: expiry, Source: phrase.Say("pack of lot %s", id),
				Standing: Verified,
				Words:    phrase.Say("The pack says %s", onDay(expiry))}
			if !r.now.Before(expiry) {
				c.Verdict = TestFirst
			}
			limits = append(limits, c)
		}
	}
	return limits
}

// life is the life of the mix by the state of its container, from its age by volume.
func (r reading) life() Limit {
	if r.l.unknown.age {
		return r.unrecorded(phrase.Say("life"), phrase.Say("Nobody knows when it was mixed"))
	}
	name, figure := r.p.lifeIn(r.c)
	return r.run(name, figure, r.l.meanMade())
}

// fullFrom is the filling from which a bottle counts as full (common practice).
const fullFrom = 0.9

// lifeIn names the life that counts in the container, with its figure.
func (p Product) lifeIn(c Container) (phrase.Sentence, *Figure) {
	switch {
	case c.opens():
		return phrase.Say("life in an open tray"), p.OpenTray
	case c.FloatingLid:
		return phrase.Say("life under a floating lid"), p.Floating
	case c.Liquid != nil && c.Liquid.volume >= fullFrom*c.Capacity:
		return phrase.Say("life in a full bottle"), p.Full
	}
	return phrase.Say("life in a part-full bottle"), p.PartFull
}

// openTray counts the hours that the liquid stood open in all.
func (r reading) openTray() Limit {
	hours := r.l.open / float64(r.l.volume)
	open := time.Duration(hours * float64(time.Hour))
	if r.p.TrayTime == nil {
		return r.unmeasured(phrase.Say("hours in an open tray"), phrase.Say("Open for %s; no limit known", span(open)))
	}
	limit, _ := r.p.TrayTime.Duration()
	c := Limit{Name: phrase.Say("hours in an open tray"), kind: trayLimit, over: hours / limit.Hours(), Verdict: Pour,
		Source: phrase.Plain(r.p.TrayTime.Source), Standing: r.p.TrayTime.Standing,
		Words: phrase.Say("Open for %s, limit %s", span(open), r.p.TrayTime.Words())}
	if hours >= limit.Hours() {
		return c.out()
	}
	return c
}

// area compares the area processed with the tightest published capacity.
func (r reading) area() Limit {
	w := r.p.Wear(r.c.contents())
	switch {
	case r.l.unknown.age:
		return r.unrecorded(phrase.Say("area processed"), phrase.Say("Use so far unknown"))
	case !w.Known():
		return r.unmeasured(phrase.Say("area processed"),
			phrase.Say("%s processed; capacity for %s unknown", SheetsOf(r.l.load.Total()), w.Missing))
	case r.l.load.Total() == 0:
		return Limit{Name: phrase.Say("area processed"), Verdict: Pour, Words: phrase.Say("No sheets recorded"),
			Source: phrase.Say("record book"), Standing: Verified}
	}
	c := Limit{Name: phrase.Say("area processed"), kind: areaLimit, over: w.Part, Verdict: Pour, Source: phrase.Plain(w.Binds.Source),
		Standing: w.Binds.Standing, Words: r.worn(w)}
	step := w.Step()
	if w.Place != OnlyBath && (step.Rotate || step.Discard) {
		c.do = step.todo()
	}
	if w.spent() {
		return c.out()
	}
	return c
}

func (r reading) worn(w Wear) phrase.Sentence {
	words := phrase.Say("%s went through %s: %.0f %% of the capacity, %s (%s)", SheetsOf(r.l.load.Total()), r.l.volume.Litres(10), 100*w.Part,
		w.Binds.Figure.Words(), w.Binds.Use)
	switch moved := w.Step(); w.Place {
	case FirstOfTwo:
		return phrase.Say("%s, as the first of two baths; rotations so far: %d", words, r.l.row.Rotations)
	case SecondOfTwo:
		if moved.Rotate {
			return phrase.Say("%s, as the second of two baths: the first bath is spent", words)
		}
		return phrase.Say("%s, as the second of two baths", words)
	}
	return words
}

// The strength of a mix, as a fraction of what was meant; common practice.
const (
	strengthDoubt  = 0.10 // from here on, test first
	strengthTooFar = 0.30 // from here on, mix a fresh bath
)

// strength compares the mix with what was meant: it may be poured where it surely lies within the
// limit, and is condemned where it surely lies beyond.
func (r reading) strength() Limit {
	if r.l.unknown.strength || r.l.unknown.aim {
		c := r.unsure(phrase.Say("strength"), phrase.Say("Strength unknown"))
		c.doubt = byMixing
		return c
	}
	off := r.l.strength/r.l.aim - 1
	c := Limit{Name: phrase.Say("strength"), Verdict: Pour, Source: phrase.Say("volumes in the record book; limits 10 %% and 30 %%"),
		Standing: CommonPractice,
		Words:    phrase.Say("The strength is as intended"), doubt: byMixing}
	spread := r.l.spread / r.l.aim
	switch {
	case spread >= 0.005:
		c.Words = phrase.Say("The strength is %.0f %% of what was intended, ± %.0f", 100*(1+off), 100*spread)
	case math.Abs(off) >= 0.005:
		c.Words = phrase.Say("The strength is %.0f %% of what was intended", 100*(1+off))
	}
	switch {
	case math.Abs(off)-spread >= strengthTooFar:
		c.Verdict = Discard
	case math.Abs(off)+spread >= strengthDoubt:
		c.Verdict = TestFirst
	}
	return c
}

// meanMade is when the liquid was made, averaged by volume.
func (l Liquid) meanMade() time.Time {
	return time.Unix(int64(math.Round(l.made/float64(l.volume))), 0).UTC()
}

// span writes an age as people say it.
func span(d time.Duration) phrase.Sentence {
	switch {
	case d < 2*time.Hour:
		return phrase.Say("%.0f min", d.Minutes())
	case d < 48*time.Hour:
		return phrase.Say("%.1f h", d.Hours())
	}
	return phrase.Say("%.1f days", d.Hours()/24)
}
