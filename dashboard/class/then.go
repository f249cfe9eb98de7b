package class

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"time"

	"go.uber.org/zap"

	"wetside/dashboard/cards"
	"wetside/dashboard/report"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// Then works out again what the board of a room showed at a moment in the past.
type Then interface {
	Then(ctx context.Context, q ThenQuery) (Moment, error)
}

// ThenQuery asks for a room at a moment.
type ThenQuery struct {
	Room string
	At   time.Time
}

// Moment is a room as it stood.
type Moment struct {
	Snapshot *rules.Snapshot
	// Begun is when the record book begins.
	Begun time.Time
	// Readings is how many samples of the minutes before it rests on; none means that nothing was kept.
	Readings int
	// Alarms are those that stood, by the record book.
	Alarms []report.Alarm
	// Said is what the board and the people said around the moment, oldest first.
	Said []Said
	// SettingsChanged is set when the settings are no longer those of the moment.
	SettingsChanged bool
}

// Said is a record of what the board told, or of what somebody told it.
type Said struct {
	At time.Time
	// Subject, From and To are set for a change that the board told of itself.
	Subject, From, To string
	Text              phrase.Sentence
}

// thenBody is the page that looks back at a moment.
type thenBody struct {
	Look           web.Look
	Room           string
	At, When       string
	Earlier, Later string
	Problem        string
	Known          bool
	Baths          []tonightDeveloper
	Air            cards.AirCard
	Alarms         []thenAlarm
	// Near are the records next to the moment; Before and After stand behind a press.
	Before, Near, After []saidLine
	Missing             []missingLine
	SettingsChanged     bool
}

type thenAlarm struct {
	ID                  string
	Text, Since, Answer string
	Answered            bool
}

type saidLine struct {
	When, What, Text string
	After            bool // it was said after the moment
}

// missingLine are the channels of which nothing was known at the moment, for one reason.
type missingLine struct{ Names, Why string }

// mostNear is how many records before a moment, and how many after it, are shown at once.
const mostNear = 6

// lookStep is how far the links of the page go.
const lookStep = 10 * time.Minute

func (s *Pages) thenPage(w http.ResponseWriter, r *http.Request, in web.Visit) {
	f, l := s.figures(in.Site), web.LookOf(r)
	body := thenBody{Look: l, Room: in.Snap.Room, At: r.URL.Query().Get("at")}
	at, ok := f.momentOf(body.At)
	status := http.StatusOK
	switch {
	case body.At == "": // nobody has asked yet
	case !ok:
		body.Problem, status = fmt.Sprintf(`"%s" is not a past time: write it like 20:40, or 2026-01-15 20:40.`, web.Clip(body.At)),
			http.StatusBadRequest
	default:
		if err := s.lookBack(r.Context(), &body, lookAt{f, in.Snap, at}); err != nil {
			s.Log.Warn("the board at an earlier time could not be worked out", zap.Time("at", at), zap.Error(err))
			body.Problem, status = fmt.Sprintf("The record can't be read now: %s.", phrase.Error(err, s.figures(s.View.Now()))),
				http.StatusServiceUnavailable
		}
	}
	p := s.PageFor(web.Head{Name: "then", Title: "The board at an earlier time"}, l, in)
	s.Show(w, r, status, p.With(body, "shelf.css", "tonight.css"))
}

// momentOf reads a time of the day, as the last moment at which the place's clock showed
// it, or a full local time.
func (f figures) momentOf(text string) (time.Time, bool) {
	now := f.Now.Wall.In(f.Zone)
	for _, layout := range []string{"2006-01-02T15:04", "2006-01-02 15:04"} {
		if at, err := time.ParseInLocation(layout, text, f.Zone); err == nil {
			return at, !at.After(now)
		}
	}
	reader := f.Reader(nil)
	next := reader.Until(text)
	if reader.Problem != nil || next.IsZero() {
		return time.Time{}, false
	}
	y, m, d := next.Date()
	at := time.Date(y, m, d, next.Hour(), next.Minute(), 0, 0, f.Zone)
	for at.After(now) {
		d--
		at = time.Date(y, m, d, next.Hour(), next.Minute(), 0, 0, f.Zone)
	}
	return at, true
}

// lookAt is a moment of a room that is looked back at.
type lookAt struct {
	figures
	snap *rules.Snapshot
	at   time.Time
}

func (s *Pages) lookBack(ctx context.Context, body *thenBody, at lookAt) error {
	ctx, cancel := context.WithTimeout(ctx, cards.SeriesWithin)
	defer cancel()
	link := func(to time.Time) string { return at.linkTo(body.Look, to) }
	body.At = at.at.In(at.Zone).Format("2006-01-02 15:04")
	then, err := s.Then.Then(ctx, ThenQuery{Room: at.snap.Room, At: at.at.UTC()})
	switch {
	case err != nil:
		return err
	case then.Begun.After(at.at):
		body.Problem = fmt.Sprintf("The record book begins at %s: nothing is known of the time before it.", at.Moment(then.Begun))
		return nil
	}
	body.When = at.Moment(at.at)
	body.Earlier, body.Later = link(at.at.Add(-lookStep)), link(at.at.Add(lookStep))
	if at.at.Add(lookStep).After(at.Now.Wall) {
		body.Later = ""
	}
	body.Known, body.SettingsChanged = then.Readings > 0, then.SettingsChanged
	for _, a := range then.Alarms {
		body.Alarms = append(body.Alarms, at.alarmThen(a))
	}
	body.tell(at, then.Said)
	at.fill(body, then)
	return nil
}

// fill draws the baths and the air as the board drew them, with the clock of that moment.
func (m lookAt) fill(body *thenBody, then Moment) {
	f := m.figures
	f.Now = sensors.Instant{Wall: m.at, Mono: then.Snapshot.At.Mono}
	for _, b := range then.Snapshot.Baths {
		body.Baths = append(body.Baths, tonightDeveloper{Card: f.BathCard(b, false), Steps: f.Steps(b.Recommendation),
			Forms: developerUse{Told: f.Announced(b)}})
	}
	body.Air = f.AirCard(then.Snapshot.Air, false)
	for _, c := range then.Snapshot.Channels {
		if _, good := c.Good(); !good {
			body.miss(c.Channel.Name, f.Text(c.Why()))
		}
	}
}

// miss adds a channel to those that were not known for the same reason.
func (b *thenBody) miss(name, why string) {
	for i := range b.Missing {
		if b.Missing[i].Why == why {
			b.Missing[i].Names += ", " + name
			return
		}
	}
	b.Missing = append(b.Missing, missingLine{name, why})
}

// tell divides what was recorded, oldest first, into what is next to the moment and the rest.
func (b *thenBody) tell(at lookAt, said []Said) {
	moment := 0
	var lines []saidLine
	for _, s := range said {
		line := at.saidLine(s)
		if lines = append(lines, line); !line.After {
			moment = len(lines)
		}
	}
	from, to := max(0, moment-mostNear), min(len(lines), moment+mostNear)
	b.Before, b.Near, b.After = lines[:from], lines[from:to], lines[to:]
}

func (m lookAt) alarmThen(a report.Alarm) thenAlarm {
	out := thenAlarm{ID: a.ID, Text: m.Text(a.Text), Since: fmt.Sprintf("Since %s.", m.When(a.Raised)),
		Answer: "Not answered."}
	if !a.Answered.IsZero() && !a.Answered.After(m.at) {
		out.Answered, out.Answer = true, fmt.Sprintf("Answered by %s at %s: %s.", a.By, m.When(a.Answered), a.Done)
	}
	return out
}

func (m lookAt) saidLine(said Said) saidLine {
	out := saidLine{When: m.WhenExactly(said.At), Text: m.Text(said.Text), After: said.At.After(m.at)}
	if said.Subject == "" {
		return out
	}
	name := said.Subject
	if at := slices.IndexFunc(m.snap.Baths, func(b rules.BathView) bool { return b.Bath.ID == said.Subject }); at >= 0 {
		name = m.snap.Baths[at].Bath.Name
	} else if said.Subject == m.snap.Room {
		name = "Air"
	}
	if out.What = fmt.Sprintf("%s: %s, then %s.", name, said.From, said.To); said.From == "" {
		out.What = fmt.Sprintf("%s: %s.", name, said.To)
	}
	return out
}

// linkTo leads to another moment.
func (m lookAt) linkTo(l web.Look, at time.Time) string {
	return l.Keep("/rooms/" + m.snap.Room + "/then?at=" + at.In(m.Zone).Format("2006-01-02T15:04"))
}
