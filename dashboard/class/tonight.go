package class

import (
	"fmt"
	"net/http"
	"time"

	"wetside/chem"
	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/rules"
)

// tonightBody is the instructor's page: what to write on the whiteboard before class,
// whether it lasts, and what is entered while the class runs.
type tonightBody struct {
	Look    web.Look
	Room    string
	Problem string
	Who     string
	Session string
	Air     cards.AirCard
	Todo    cards.Todo
	Seers   []cards.SeerCard
	// Developers stand side by side; Compare says in a sentence how they differ.
	Developers []tonightDeveloper
	Compare    string
	Others     []tonightBath
	Last       lasting
	Use        *useBody
	// Back is the time of day that the look back is filled with.
	Back string
}

type tonightDeveloper struct {
	Card  cards.BathCard
	Forms developerUse
	Steps []string
	// Unknown names what the time takes to be as published, for want of better.
	Unknown []string
	Between string
	// Line is what follows the first developer: stop, fix and wash; Sources say what its times rest on.
	Line    *wetLine
	Sources []string
}

type tonightBath struct {
	Card   cards.BathCard
	Answer *cards.AnswerLine
}

func (s *Pages) tonightPage(w http.ResponseWriter, r *http.Request, in web.Visit) {
	f, l, q := s.figures(in.Site), web.LookOf(r), r.URL.Query()
	b := s.boardNow(in)
	body := tonightBody{Look: l, Room: in.Snap.Room, Who: web.Clip(q.Get("who")),
		Session: b.Head.Session, Air: b.Air.AirCard, Todo: b.Todo, Back: f.TimeOfDay(f.Now.Wall.Add(-lookBack))}
	if a := s.Attempt(r); a.Problem != nil {
		body.Problem, body.Who = a.Problem.Sentence, a.Typed.Who
	}
	body.Seers = f.SeerCards(s.Kit, r, in.Snap, r.URL.Path)
	next := "/rooms/" + in.Snap.Room + "/tonight?who="
	body.Use = s.use(in, l)
	for i, view := range in.Snap.Baths {
		switch {
		case view.Bath.Role == rules.Developer:
			d := s.tonightDeveloper(f, view, developerAt{b.Baths[i], next, b.Head.Lost})
			if d.Line != nil {
				d.Sources = f.lineSources(in.Snap)
			}
			body.Developers = append(body.Developers, d)
		default:
			body.Others = append(body.Others, s.tonightBath(f, view, b.Baths[i].Card))
		}
	}
	if body.Use != nil {
		body.Use.Who, body.Use.Next, body.Use.Developers = body.Who, next, nil
		if len(body.Use.Trays) == 0 {
			body.Use = nil
		}
	}
	body.Compare = f.compare(in.Snap.Baths, b.Head.Lost)
	body.Last = s.lasting(in, q)
	p := s.PageFor(web.Head{Name: "tonight", Title: "Tonight"}, l, in)
	p.Styles = append(p.Styles, "shelf.css", "tonight.css")
	p.Scripts = append(p.Scripts, "stopwatch.js")
	s.Show(w, r, http.StatusOK, p.With(body))
}

// developerAt is a developer as the board shows it, and where its forms lead back to.
type developerAt struct {
	boardBath
	next string
	lost bool
}

func (s *Pages) tonightDeveloper(f figures, view rules.BathView, at developerAt) tonightDeveloper {
	d := tonightDeveloper{Card: at.Card, Line: at.Line}
	if at.lost {
		return d
	}
	d.Steps, d.Unknown = f.Steps(view.Recommendation), f.Texts(view.Recommendation.Unknown())
	if low, high := view.Recommendation.Interval(); high > 0 {
		d.Between = fmt.Sprintf("the right time lies between %s and %s; %s", chem.MinutesSeconds(low), chem.MinutesSeconds(high),
			f.Text(view.Recommendation.LeavesOut()))
	}
	c := shelfContext{cards.BookCards{Figures: f.Figures}}
	if s.Shelf != nil {
		c = s.book(f)
	}
	d.Forms = c.developer(view, at.next)
	return d
}

func (s *Pages) tonightBath(f figures, view rules.BathView, card cards.BathCard) tonightBath {
	out := tonightBath{Card: card}
	if s.Shelf == nil || view.Portion == nil {
		return out
	}
	c := s.book(f)
	if held, ok := c.Book.InTray(view.Bath.ID, c.Book.At); ok {
		answer := c.Answer(held.Container)
		if card.Binds != answer.Word+": "+answer.Because {
			out.Answer = &answer
		}
	}
	return out
}

// compare says how two or more developers differ in time; empty unless two have one.
func (f figures) compare(baths []rules.BathView, lost bool) string {
	var quick, slow *rules.BathView
	known := 0
	for i := range baths {
		t, ok := baths[i].Recommendation.Time()
		if !ok || lost || baths[i].Bath.Role != rules.Developer {
			continue
		}
		known++
		if quick == nil || t < timeOf(quick) {
			quick = &baths[i]
		}
		if slow == nil || t > timeOf(slow) {
			slow = &baths[i]
		}
	}
	if known < 2 {
		return ""
	}
	if slow == quick || timeOf(slow) == timeOf(quick) {
		return "The developers take the same time now."
	}
	more := timeOf(slow) - timeOf(quick)
	return fmt.Sprintf("%s takes %s longer than %s: %s times as long.", slow.Bath.Name, chem.MinutesSeconds(more), quick.Bath.Name,
		f.Number(timeOf(slow).Seconds()/timeOf(quick).Seconds(), 1))
}

func timeOf(b *rules.BathView) time.Duration {
	t, _ := b.Recommendation.Time()
	return t
}
