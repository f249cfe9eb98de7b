package class

import (
	"fmt"
	"net/url"
	"strconv"
	"strings"
	"time"

	"wetside/chem"
	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/rules"
)

// lookBack is how far back the look back begins: the last hour of a class that was flat.
const lookBack = time.Hour

// lasting is the question whether tonight's baths carry a class, and its answer.
type lasting struct {
	Students, Each, Size, Material string
	Sizes, Materials               []web.Choice
	Problem, Wrong                 string
	Asked                          bool
	Book                           string // where what is asked about can be booked
	Baths                          []lastingBath
}

// lastingBath is the answer for one bath: a word, a shape, and the figures behind it.
type lastingBath struct {
	Name, Word, Shape string
	Lines             []string
}

// lasting reads the question from the address of the page; the people of the session stand
// in it already. While nobody asks it answers for what is booked.
func (s *Pages) lasting(in web.Visit, q url.Values) lasting {
	out := lasting{Students: q.Get("students"), Each: q.Get("each"), Size: q.Get("size"), Material: q.Get("material"),
		Asked: q.Has("students")}
	if s.Shelf == nil {
		return out
	}
	if n := in.Snap.Session.People; !out.Asked && n > 0 {
		out.Students = strconv.Itoa(n)
	}
	c := s.book(s.figures(in.Site))
	out.Sizes, out.Materials = marked(c.Sizes(), out.Size), marked(c.Materials(), out.Material)
	load := c.Booked(in)
	if out.Asked {
		work, wrong := c.askedWork(out)
		if wrong != nil {
			out.Problem, out.Wrong = wrong.Sentence, wrong.Field
			return out
		}
		load.Work, load.Sessions, load.Asked = []ledger.Work{{WorkBooked: work}}, nil, true
		out.Book = c.toBook(in.Snap.Room, out)
	}
	out.Baths = c.lastingBaths(in, load)
	return out
}

// lastingBaths answers for every bath of a room that the work goes through.
func (c shelfContext) lastingBaths(in web.Visit, load cards.Workload) []lastingBath {
	var list []lastingBath
	for _, t := range c.Book.Trays {
		if t.Room != in.Snap.Room {
			continue
		}
		line := c.Lasting(t, load)
		if line == nil || line.Word == "" {
			continue
		}
		bath := lastingBath{Name: t.Name, Word: line.Word, Shape: line.Shape}
		lines := []string{line.Text, line.Short, line.Source, line.Limit}
		view := bathOf(in.Snap, t.Bath)
		if in, leaves := view.Forecast.Leaves(); leaves && (load.Until.IsZero() || c.Now.Wall.Add(in).Before(load.Until)) {
			lines = append(lines, c.Stay(view.Forecast))
		}
		for _, text := range lines {
			if text != "" {
				bath.Lines = append(bath.Lines, text)
			}
		}
		list = append(list, bath)
	}
	return list
}

// bathOf is a bath as the room shows it; one that shows nothing when there is none.
func bathOf(snap *rules.Snapshot, id string) rules.BathView {
	for _, view := range snap.Baths {
		if view.Bath.ID == id {
			return view
		}
	}
	return rules.BathView{}
}

// toBook leads to the form that books what is asked about.
func (c shelfContext) toBook(room string, l lasting) string {
	q := url.Values{"room": {room}, "begins": {c.TypedMoment(c.Book.At)}, "students": {l.Students}, "sheets_each": {l.Each},
		"sheet_m2": {l.Size},
		"material": {l.Material}, "next": {"/rooms/" + room + "/tonight"}}
	return "/shelf/enter/work-booked?" + q.Encode()
}

// marked marks the option that was taken, else the first.
func marked(list []web.Choice, value string) []web.Choice {
	found := false
	for i := range list {
		list[i].Checked = list[i].Value == value
		found = found || list[i].Checked
	}
	if !found && len(list) > 0 {
		list[0].Checked = true
	}
	return list
}

// askedWork reads how many print how much of which size, as work that would be booked.
func (c shelfContext) askedWork(l lasting) (ledger.WorkBooked, *web.Problem) {
	var wrong *web.Problem
	count := func(field web.Field, text string) int {
		n, err := strconv.Atoi(strings.TrimSpace(text))
		if wrong == nil && (err != nil || n < 1 || n > web.MostPeople) {
			wrong = &web.Problem{Field: field.Name, Sentence: fmt.Sprintf(`%s: "%s" is not a count. Write a whole number from 1 to %d.`, field.Label,
				web.Clip(text), web.MostPeople)}
		}
		return n
	}
	work := ledger.WorkBooked{Students: count(web.Field{Name: "students", Label: "People who print"}, l.Students),
		SheetsEach: count(web.Field{Name: "each", Label: "Sheets each"}, l.Each),
		Material:   ledger.Material(l.Material)}
	sheet, err := chem.ParseSheet(l.Size)
	if l.Size == cards.RollSize {
		sheet, err = chem.FilmRoll(), nil
	}
	if wrong == nil && err != nil {
		wrong = &web.Problem{Field: "size", Sentence: c.ErrorText(err)}
	}
	work.SheetArea = sheet.Area
	return work, wrong
}
