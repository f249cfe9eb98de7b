package dashboard

import (
	"math"
	"net/url"
	"slices"
	"time"

	"wetside/chem"
	"wetside/chem/ledger"
	"wetside/sensors/quantity"
)

// lastingLine says whether a bath carries the work of tonight.
type lastingLine struct {
	Word, Shape string // empty while there is no work
	Text        string
	Short       string // what would make up for the rest
	Limit       string // what else binds the bath before the end
	Source      string
	Book        string // where the work is booked, while none is
}

// workload is what is held against a bath: what is booked, less what went through
// already, or what somebody asks about from now on.
type workload struct {
	work  []ledger.Work
	asked bool
	until time.Time // the end of the session; zero when nobody knows
}

// booked is the work that is booked in the room of a visit.
func (c shelfContext) booked(in visit) workload {
	return workload{work: c.tonightsWork(in.snap.Room), until: in.snap.Session.To}
}

// around is how far from now work begins that counts as tonight's.
const around = 12 * time.Hour

// tonightsWork is what is booked for a room about now.
func (c shelfContext) tonightsWork(room string) []ledger.Work {
	return slices.DeleteFunc(c.book.Work(c.book.At.Add(-around), c.book.At.Add(around)), func(w ledger.Work) bool { return c.roomOf(w.Entry) != room })
}

// roomOf is the room that a record belongs to.
func (c shelfContext) roomOf(number uint64) string {
	at := slices.IndexFunc(c.book.Records, func(r ShelfRecord) bool { return r.Number == number })
	if at < 0 {
		return ""
	}
	return c.book.Records[at].Room
}

// lasting says of a tray how many sheets it still carries, and whether that is enough;
// nil for one that holds nothing of the shelf, that no sheet wears out, or that is not
// asked about. What binds it before the end comes first: a capacity that is left does
// not help a bath that is past its life.
func (c shelfContext) lasting(t ShelfTray, load workload) *lastingLine {
	line := c.carries(t, load)
	if line == nil || line.Shape == "stopped" || line.Word == "" {
		return line
	}
	held, _ := c.book.InTray(t.Bath, c.book.At)
	a := c.book.MayPour(held.Container, c.book.At)
	switch due := a.Because.Due; {
	case a.Verdict == ledger.TestFirst:
		line.Limit = c.words.Say("binds.test", c.tell(a.Because.Words))
	case !due.IsZero() && due.Before(load.until):
		line.Limit = c.words.Say("binds.until", c.clock(due), c.tell(a.Because.Name))
	default:
		return line
	}
	line.Word, line.Shape = c.words.Say("lasts.look"), "low"
	return line
}

// carries holds the capacity of a bath against the work.
func (c shelfContext) carries(t ShelfTray, load workload) *lastingLine {
	held, ok := c.book.InTray(t.Bath, c.book.At)
	if !ok || held.Class == ledger.WashAid || held.Class == ledger.Toner {
		return nil
	}
	if a := c.book.MayPour(held.Container, c.book.At); a.Verdict == ledger.Discard {
		word, shape := c.verdict(a.Verdict)
		return &lastingLine{Word: word, Shape: shape, Text: sentenceCase(c.tell(a.Because.Words)), Source: c.sourced(c.tell(a.Because.Source), a.Because.Standing)}
	}
	product, _ := c.book.Catalogue.Product(held.Product)
	load.work = slices.DeleteFunc(slices.Clone(load.work), func(w ledger.Work) bool { return !processes(held.Class, w.Material) })
	switch {
	case len(load.work) == 0 && load.asked:
		return nil
	case len(load.work) == 0:
		return c.unbooked(product, held, t.Room)
	}
	booked, needed, least := c.toCome(t.Room, held, load)
	wear := product.Wear(held)
	if !wear.Known() || least.Value == 0 {
		return &lastingLine{Word: c.words.Say("lasts.unknown"), Shape: "low", Text: c.words.Say("lasts.no-capacity")}
	}
	perLitre, _ := least.AreaPerLitre()
	bath := chem.Bath{Volume: held.Volume, Capacity: chem.Capacity{PerLitre: perLitre, Source: least.Source}}
	bath.Used = quantity.SquareMetre(wear.Part) * bath.Capacity.Of(held.Volume)
	line := &lastingLine{Source: c.sourced(least.Source, least.Standing)}
	if needed.SheetsEach == 0 {
		line.Word, line.Shape, line.Text = c.words.Say("lasts.enough"), "moving", c.words.Say("lasts.all-done", booked)
		return line
	}
	l, err := bath.Lasts(needed)
	if err != nil {
		return &lastingLine{Word: c.words.Say("lasts.unknown"), Shape: "low", Text: c.sentenceOf(err)}
	}
	line.Word, line.Shape = c.words.Say("lasts.enough"), "moving"
	line.Text = c.words.Say("lasts.left", l.SheetsLeft, needed.Sheet.Name, needed.SheetsEach, booked)
	if load.asked {
		line.Text = c.words.Say("lasts.left-asked", l.SheetsLeft, needed.Sheet.Name, booked)
	}
	if !l.Enough {
		line.Word, line.Shape = c.words.Say("lasts.short"), "stopped"
		line.Short = c.words.Say("lasts.mix", c.volume(l.Short))
	}
	if !wear.Sure || least.Standing == ledger.Unverified {
		line.Text += " " + c.words.Say("lasts.unverified")
	}
	return line
}

// processes says whether a material goes through a class of bath.
func processes(class ledger.Class, m ledger.Material) bool {
	switch class {
	case ledger.PrintDeveloper:
		return m != ledger.Film
	case ledger.FilmDeveloper:
		return m == ledger.Film
	}
	return true
}

// unbooked is what is left of a bath while nothing is booked.
func (c shelfContext) unbooked(p ledger.Product, held ledger.Contents, room string) *lastingLine {
	q := url.Values{"room": {room}, "begins": {c.typedMoment(c.book.At)}, "next": {"/rooms/" + room + "/baths"}}
	line := &lastingLine{Text: c.words.Say("lasts.no-capacity"), Book: "/shelf/enter/work-booked?" + q.Encode()}
	if left := p.Left(held); len(left) > 0 {
		least, _ := p.CapacityFor(held, left[0].Material)
		line.Text, line.Source = sentenceCase(c.left(left)), c.sourced(least.Source, least.Standing)
	}
	return line
}

// toCome is how many sheets are booked, what of them is still to come as one booking
// of their size, and the capacity that it is held against. Where materials differ, each
// counts by what it takes of the bath.
func (c shelfContext) toCome(room string, held ledger.Contents, load workload) (booked int, left chem.Booking, least ledger.Capacity) {
	work := load.work
	p, _ := c.book.Catalogue.Product(held.Product)
	least, _ = p.CapacityFor(held, work[0].Material)
	perLitre, _ := least.AreaPerLitre()
	left = chem.Booking{Students: 1, Sheet: chem.Sheet{Name: c.sheetName(work[0].SheetArea), Area: work[0].SheetArea}}
	area := quantity.SquareMetre(0)
	for _, w := range work {
		of, ok := p.CapacityFor(held, w.Material)
		each, _ := of.AreaPerLitre()
		if !ok {
			return 0, left, ledger.Capacity{}
		}
		if of.Standing == ledger.Unverified {
			least.Standing = of.Standing
		}
		booked += w.Sheets()
		area += w.SheetArea * quantity.SquareMetre(w.Sheets()) * (perLitre / each)
	}
	for _, s := range c.openSessions(room) {
		if !load.asked {
			area -= c.book.Processed(s.ID, held.Class)
		}
	}
	left.SheetsEach = max(0, int(math.Ceil(float64(area/left.Sheet.Area)-1e-6)))
	return booked, left, least
}

// factorLines are the times by first appearance, for everybody and for each who has a factor.
func (c shelfContext) factorLines(product string, emergence []time.Duration) []string {
	var lines []string
	for _, person := range append(c.book.Judges(product), "") {
		f, err := c.book.Factor(product, person)
		if err != nil {
			continue
		}
		t, err := f.Time(emergence...)
		if err != nil {
			continue
		}
		line := c.words.Say("use.factor", chem.MinutesSeconds(t), c.number(f.Value, 1), f.Source)
		if !slices.Contains(lines, line) {
			lines = append(lines, line)
		}
	}
	return lines
}
