package ledger

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// SilverFigure is a concentration of silver as a report or a strip gives it, in
// milligrams a litre: a figure, a range, or a bound.
type SilverFigure struct {
	Low, High float64 // the same for a single figure
	Under     bool    // somewhere below High, which is not reached
	Over      bool    // Low or above it
}

// mostSilver in mg/L is more than any bath holds.
const mostSilver = 100_000

// ParseSilver reads a figure such as "4.9", "<0.2 mg/L", "2-4 g/L" or ">6 g/L". Without
// a unit it is in mg/L; a part per million is taken for 1 mg/L, as in water.
func ParseSilver(text string) (SilverFigure, error) {
	bad := Problem{ErrForm, phrase.Say("%q is not a silver figure", text),
		phrase.Say("Write it as the report or the strip does: 4.9 mg/L, <0.5 mg/L, 2-4 g/L or >6 g/L")}
	rest, scale := strings.Join(strings.Fields(text), ""), 1.0
	for _, u := range []struct {
		name  string
		scale float64
	}{{"mg/l", 1}, {"g/l", 1000}, {"ppm", 1}} {
		if number, is := strings.CutSuffix(strings.ToLower(rest), u.name); is {
			rest, scale = number, u.scale
			break
		}
	}
	under, over := strings.HasPrefix(rest, "<"), strings.HasPrefix(rest, ">")
	low, high, ranged := strings.Cut(strings.TrimPrefix(strings.TrimPrefix(rest, "<"), ">"), "-")
	if !ranged {
		high = low
	}
	from, err := quantity.Number(low)
	to, err2 := quantity.Number(high)
	f := SilverFigure{from * scale, to * scale, under, over}
	switch {
	case err != nil || err2 != nil, ranged && (under || over), strings.HasPrefix(rest, "<>"), f.valid() != nil:
		return SilverFigure{}, bad
	case under:
		f.Low = 0
	}
	return f, nil
}

func (f SilverFigure) valid() error {
	if !(f.Low >= 0 && f.Low <= f.High && f.High <= mostSilver) || f.Under && (f.Over || f.High == 0) {
		return Problem{ErrForm, phrase.Say("The silver figure is out of range"),
			phrase.Say("Write the lower figure first, both between 0 and 100 g/L")}
	}
	return nil
}

// String writes the figure as [ParseSilver] reads it, in mg/L.
func (f SilverFigure) String() string { return f.Sentence().String() }

// Sentence is the figure as people read it.
func (f SilverFigure) Sentence() phrase.Sentence {
	number := func(v float64) quantity.Decimal { return quantity.Decimal(strconv.FormatFloat(v, 'f', -1, 64)) }
	switch {
	case f.Under:
		return phrase.Say("<%s mg/L", number(f.High))
	case f.Over:
		return phrase.Say(">%s mg/L", number(f.Low))
	case f.Low != f.High:
		return phrase.Say("%s-%s mg/L", number(f.Low), number(f.High))
	}
	return phrase.Say("%s mg/L", number(f.Low))
}

func (f SilverFigure) MarshalText() ([]byte, error) { return []byte(f.String()), nil }

// UnmarshalText reads what MarshalText writes.
func (f *SilverFigure) UnmarshalText(text []byte) error {
	read, err := ParseSilver(string(text))
	*f = read
	return err
}

// SilverLine says on which side of the US federal line a figure lies.
type SilverLine string

// The answers. What cannot be told is to be treated as reaching the line.
const (
	ReachesLine SilverLine = "at or above 5.0 mg/L"
	UnderLine   SilverLine = "under 5.0 mg/L"
	LineUnknown SilverLine = "cannot be compared with 5.0 mg/L"
)

// Line compares the figure with the US federal line, see [HazardousSilver].
func (f SilverFigure) Line() SilverLine {
	switch {
	case HazardousSilver(f.Low):
		return ReachesLine
	case f.Over || HazardousSilver(f.High) && !(f.Under && f.High == silverLine):
		return LineUnknown
	}
	return UnderLine
}

// SilverMethod is how a figure was found.
type SilverMethod string

// How silver is measured.
const (
	Laboratory SilverMethod = "laboratory"
	TestStrip  SilverMethod = "test strip"
)

// SilverMethods lists them, the surest first.
func SilverMethods() []SilverMethod { return []SilverMethod{Laboratory, TestStrip} }

// SilverMeasured is a figure that somebody found for the silver in a liquid: in a
// container of the book, or in a sample of something else, such as the outflow of a
// recovery unit. The sample may be older than the entry, as a laboratory takes its time.
type SilverMeasured struct {
	Container string       `json:"container,omitempty"`
	Sample    string       `json:"sample,omitempty"`
	Silver    SilverFigure `json:"silver"`
	Method    SilverMethod `json:"method"`
	Sampled   time.Time    `json:"sampled"`
	Reference string       `json:"reference,omitempty"` // of the report, or which strip
}

func (SilverMeasured) Kind() string { return "silver measured" }

func (a SilverMeasured) about() []string { return named(a.Container) }

func (a SilverMeasured) Sentence() phrase.Sentence {
	return phrase.Say("silver in %s: %s, %s, sampled %s", a.Of(), a.Silver, a.Method, onDay(a.Sampled))
}

func (a SilverMeasured) validate() error {
	switch {
	case (a.Container == "") == (a.Sample == ""):
		return Problem{ErrForm, phrase.Say("It is not clear what was sampled"),
			phrase.Say("Choose the vessel, or write in words what it was; not both")}
	case a.Sampled.IsZero():
		return Problem{ErrTime, phrase.Say("The date of the sample is missing"), phrase.Say("Write the date")}
	}
	return first(maybeName(phrase.Say("vessel"), a.Container), maybeName(phrase.Say("sample"), a.Sample), a.Silver.valid(),
		oneOf(phrase.Say("method"), a.Method, SilverMethods()...), maybeName(phrase.Say("reference"), a.Reference))
}

func (a SilverMeasured) touches() []string { return nil } // adds a figure and contradicts nobody

func (a SilverMeasured) check(s *state, e Entry) error {
	if a.Sampled.After(e.At) {
		return Problem{ErrTime, phrase.Say("A sample of %s lies in the future", onDay(a.Sampled)), phrase.Say("Check the date of the sample")}
	}
	if a.Container == "" {
		return nil
	}
	_, err := s.container(a.Container)
	return err
}

func (a SilverMeasured) apply(s *state, e Entry) {
	s.silver.add(SilverRecord{a, e.Number, e.At, e.By})
}

// Of names what was sampled.
func (a SilverMeasured) Of() string { return a.Container + a.Sample }

// SilverRecord is a measured figure as it stands in the book.
type SilverRecord struct {
	SilverMeasured
	Entry uint64
	At    time.Time // when it was entered
	By    string
}

// SilverLog lists the figures that were measured, the newest sample first.
func (l *Ledger) SilverLog() []SilverRecord {
	log := slices.Collect(l.now.silver.backward())
	slices.SortStableFunc(log, func(a, b SilverRecord) int { return b.Sampled.Compare(a.Sampled) })
	return log
}

// aDay is how exact the time of a sample is: it has a day, no time.
const aDay = 24 * time.Hour

// SilverIn is the newest figure of what a container holds now, and when more came in after the sample:
// zero while the figure still holds. ok is false when nobody has measured it since its first drop.
func (l *Ledger) SilverIn(container string) (r SilverRecord, changed time.Time, ok bool) {
	c, known := l.now.containers[container]
	if !known || c.Liquid == nil {
		return SilverRecord{}, time.Time{}, false
	}
	for _, r := range l.SilverLog() {
		if r.Container != container || r.Sampled.Before(c.FirstDrop.Add(-aDay)) {
			continue
		}
		if !r.holds(c.added) {
			changed = c.added
		}
		return r, changed, true
	}
	return SilverRecord{}, time.Time{}, false
}

// holds says whether a figure is still that of the content: nothing came in after the day of the sample, and
// on that day nothing after the figure was entered. A figure entered later does not tell the hours of its day apart.
func (r SilverRecord) holds(added time.Time) bool {
	sameDay := r.At.Before(r.Sampled.Add(aDay))
	return !added.After(r.Sampled) || sameDay && !added.After(r.At)
}

// SilverArea is the area whose silver is in a liquid.
type SilverArea struct {
	Here    quantity.SquareMetre // of sheets that met no fixing bath before
	After   quantity.SquareMetre // of sheets that came from one
	Carried float64              // m² a mL/m²: what these carried over, for each millilitre that a square metre carries
}

func (a SilverArea) plus(b SilverArea) SilverArea {
	return SilverArea{a.Here + b.Here, a.After + b.After, a.Carried + b.Carried}
}

func (a SilverArea) times(f float64) SilverArea {
	k := quantity.SquareMetre(f)
	return SilverArea{a.Here * k, a.After * k, a.Carried * f}
}

// with is the whole area, given how much liquid a square metre carries over. While nobody
// has stated that, all of the silver counts: too much rather than too little.
func (a SilverArea) with(carryOver quantity.Millilitre) quantity.SquareMetre {
	if carryOver == 0 {
		return a.Here + a.After
	}
	return a.Here + quantity.SquareMetre(a.Carried*float64(carryOver))
}

// silverOf is what an area brings into a fixing bath: all of its silver, or the part of
// the bath before that clings to it, as that is after these sheets.
func silverOf(area quantity.SquareMetre, before *Liquid) SilverArea {
	if before == nil {
		return SilverArea{Here: area}
	}
	return SilverArea{After: area, Carried: float64(area) * float64(before.silver.Here) / float64(before.volume)}
}

// Silver estimates the concentration in what a container holds, from the area that
// gave its silver to it; false for what has not fixed anything as far as the book knows.
func (in TakeDownInputs) Silver(c Contents) (SilverFigure, bool) {
	area := c.Silver.with(in.Losses.CarryOver)
	low, ok := in.SilverLow.SilverLoad(area, c.Volume)
	high, ok2 := in.SilverHigh.SilverLoad(area, c.Volume)
	f := SilverFigure{Low: 1000 * float64(low), High: 1000 * float64(high)}
	return f, ok && ok2 && c.SilverBearing && f.High > 0 && f.valid() == nil
}
