package dashboard

import (
	"net/url"
	"strconv"
	"strings"
	"time"

	"wetside/chem"
	"wetside/chem/ledger"
	"wetside/rules"
	"wetside/sensors/quantity"
)

// lookBack is how far back the look back begins: the last hour of a class that was flat.
const lookBack = time.Hour

// lasting is the question whether tonight's baths carry a class, and its answer.
type lasting struct {
	Students, Each, Size, Material string
	Sizes, Materials               []option
	Problem, Wrong                 string
	Asked                          bool
	Baths                          []lastingBath
}

// lastingBath is the answer for one bath: a word, a shape, and the figures behind it.
type lastingBath struct {
	Name, Word, Shape string
	Lines             []string
}

// lasting reads the question from the address of the page; the people of the session stand in it already.
func (s *Server) lasting(in visit, q url.Values) lasting {
	out := lasting{Students: q.Get("students"), Each: q.Get("each"), Size: q.Get("size"), Material: q.Get("material"), Asked: q.Has("students")}
	if s.shelf == nil {
		return out
	}
	if n := in.snap.Session.People; !out.Asked && n > 0 {
		out.Students = strconv.Itoa(n)
	}
	s.shelf.Look(func(b *ShelfBook) {
		c := shelfContext{s.figures(in.site), b}
		out.Sizes, out.Materials = marked(c.options(fromSizes, nil), out.Size), marked(c.options(fromMaterial, nil), out.Material)
		if !out.Asked {
			out.Baths = c.bookedBaths(in.snap.Room)
			return
		}
		booking, wrong := c.booking(out)
		if wrong != nil {
			out.Problem, out.Wrong = wrong.Sentence, wrong.Field
			return
		}
		for _, view := range in.snap.Baths {
			if held, ok := b.InTray(view.Bath.ID, b.At); ok {
				out.Baths = append(out.Baths, c.lasts(view, held, booked{booking, ledger.Material(out.Material), in.snap.Session.To}))
			}
		}
	})
	return out
}

// bookedBaths answers for what is booked already; none while nothing is.
func (c shelfContext) bookedBaths(room string) []lastingBath {
	var list []lastingBath
	for _, t := range c.book.Trays {
		if t.Room != room {
			continue
		}
		line := c.lasting(t)
		if line == nil || line.Word == "" {
			continue
		}
		bath := lastingBath{Name: t.Name, Word: line.Word, Shape: line.Shape}
		for _, text := range []string{line.Text, line.Short, line.Source} {
			if text != "" {
				bath.Lines = append(bath.Lines, text)
			}
		}
		list = append(list, bath)
	}
	return list
}

// marked marks the option that was taken, else the first.
func marked(list []option, value string) []option {
	found := false
	for i := range list {
		list[i].Chosen = list[i].Value == value
		found = found || list[i].Chosen
	}
	if !found && len(list) > 0 {
		list[0].Chosen = true
	}
	return list
}

// booking reads how many print how much of which size.
func (c shelfContext) booking(l lasting) (chem.Booking, *problem) {
	count := func(field, text string) (int, *problem) {
		n, err := strconv.Atoi(strings.TrimSpace(text))
		if err != nil || n < 1 || n > mostPeople {
			return 0, &problem{field, c.words.Say("tonight.count", c.words.Say("tonight."+field), clip(text), mostPeople)}
		}
		return n, nil
	}
	students, wrong := count("students", l.Students)
	if wrong != nil {
		return chem.Booking{}, wrong
	}
	each, wrong := count("each", l.Each)
	if wrong != nil {
		return chem.Booking{}, wrong
	}
	sheet, err := chem.ParseSheet(l.Size)
	if l.Size == rollSize {
		sheet, err = chem.FilmRoll(), nil
	}
	if err != nil {
		return chem.Booking{}, &problem{"size", sentenceOf(err)}
	}
	return chem.Booking{Students: students, SheetsEach: each, Sheet: sheet}, nil
}

// booked is what is asked of a bath, and until when.
type booked struct {
	chem.Booking
	material ledger.Material
	until    time.Time
}

// lasts answers for one bath: by its published capacity, its passport and its temperature.
func (c shelfContext) lasts(view rules.BathView, held ledger.Contents, b booked) lastingBath {
	out := lastingBath{Name: view.Bath.Name}
	product, _ := c.book.Catalogue.Product(held.Product)
	least, perLitre := tightest(product, b.material)
	capacity := chem.Capacity{PerLitre: perLitre, Source: least.Source}
	part, _ := UsedPart(product, held)
	used := capacity.Of(held.Volume) * quantity.SquareMetre(part)
	switch got, err := (chem.Bath{Volume: held.Volume, Capacity: capacity, Used: used}).Lasts(b.Booking); {
	case part < 0 || err != nil:
		out.Word, out.Shape = c.words.Say("tonight.not-known"), "unproven"
		out.Lines = append(out.Lines, c.words.Say("tonight.no-capacity"))
	case got.Enough:
		out.Word, out.Shape = c.words.Say("tonight.lasts"), "moving"
		out.Lines = append(out.Lines, c.words.Say("tonight.left", got.SheetsLeft, b.Sheet.Name), c.sourced(least.Source, least.Standing))
	default:
		out.Word, out.Shape = c.words.Say("tonight.short"), "stopped"
		out.Lines = append(out.Lines, c.words.Say("tonight.left", got.SheetsLeft, b.Sheet.Name), c.words.Say("tonight.mix-more", c.volume(got.Short)), c.sourced(least.Source, least.Standing))
	}
	return c.alsoLimits(out, view, b)
}

// alsoLimits adds what the passport and the temperature say against the bath before the
// class ends; a full capacity does not help a bath that is past its life.
func (c shelfContext) alsoLimits(out lastingBath, view rules.BathView, b booked) lastingBath {
	if p := view.Portion; p != nil && p.Known != nil {
		l := p.Known.Limit
		ends := !l.Due.IsZero() && (l.Due.Before(c.now.Wall) || !b.until.IsZero() && l.Due.Before(b.until))
		if l.Verdict != ledger.Pour || ends {
			out.Word, out.Shape = c.words.Say("tonight.look"), "low"
			out.Lines = append(out.Lines, c.binds(p))
		}
	}
	if in, leaves := view.Forecast.Leaves(); leaves && (b.until.IsZero() || c.now.Wall.Add(in).Before(b.until)) {
		out.Lines = append(out.Lines, c.stay(view.Forecast))
	}
	return out
}
