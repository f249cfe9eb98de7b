package cards

import (
	"fmt"
	"net/url"
	"slices"
	"time"

	"wetside/chem"
	"wetside/chem/ledger"
	"wetside/dashboard/web"
)

// LastingLine says whether a bath carries the work of tonight.
type LastingLine struct {
	Word, Shape string // empty while there is no work
	Text        string
	Short       string // what would make up for the rest
	Limit       string // what else binds the bath before the end
	Source      string
	Book        string // where the work is booked, while none is
}

// Workload is what is held against a bath: what is booked, less what went through
// already, or what somebody asks about from now on.
type Workload struct {
	ledger.Workload
	Asked bool
}

// around is how far from now work begins that counts as tonight's.
const around = 12 * time.Hour

// Booked is the work that is booked in the room of a visit.
func (c BookCards) Booked(in web.Visit) Workload {
	load := ledger.Workload{Work: c.TonightsWork(in.Snap.Room), Until: in.Snap.Session.To}
	for _, s := range c.OpenSessions(in.Snap.Room) {
		load.Sessions = append(load.Sessions, s.ID)
	}
	return Workload{Workload: load}
}

// TonightsWork is what is booked for a room about now.
func (c BookCards) TonightsWork(room string) []ledger.Work {
	return slices.DeleteFunc(c.Book.Work(c.Book.At.Add(-around), c.Book.At.Add(around)),
		func(w ledger.Work) bool { return c.Book.AsKept(ledger.Entry{Number: w.Entry}).Room != room })
}

// Lasting says of a tray how many sheets it still carries, and whether that is enough;
// nil for one of which there is nothing to say.
func (c BookCards) Lasting(t ShelfTray, load Workload) *LastingLine {
	a, ok := c.Book.WillLast(t.Bath, load.Workload, c.Book.At)
	if !ok {
		return nil
	}
	line := &LastingLine{Source: c.Sourced(a.Capacity.Source, a.Capacity.Standing)}
	switch a.Verdict {
	case ledger.MayNotPour:
		line.Word, line.Shape = c.Verdict(ledger.Discard)
		line.Text, line.Source = web.SentenceCase(c.Text(a.Limit.Words)), c.Sourced(c.Text(a.Limit.Source), a.Limit.Standing)
	case ledger.CapacityUnknown:
		line.Word, line.Shape, line.Text, line.Source = "NOT KNOWN", "low",
			capacityUnknown, ""
		if a.Why != nil {
			line.Text = c.ErrorText(a.Why)
		}
	case ledger.AllDone:
		line.Word, line.Shape, line.Text = "ENOUGH", "moving", fmt.Sprintf("All %d booked sheets are done.", a.Booked)
	case ledger.LastsToTheEnd:
		line.Word, line.Shape, line.Text = "ENOUGH", "moving", c.counted(a, load)
	case ledger.RunsShort:
		line.Word, line.Shape, line.Text = "SHORT", "stopped", c.counted(a, load)
		line.Short = fmt.Sprintf("Mix %s more, or change the bath during class.", c.Volume(a.Short))
	default:
		if load.Asked {
			return nil
		}
		return c.unbooked(a, t)
	}
	if a.CheckFirst {
		line.Word, line.Shape, line.Limit = "CHECK FIRST", "low", c.ends(a.Limit)
	}
	return line
}

// capacityUnknown says what helps where no figure is at hand.
const capacityUnknown = "Capacity unknown: test the bath in between, or add the figure from its bottle."

// counted says how many sheets are left, beside how many are to come.
func (c BookCards) counted(a ledger.Lasting, load Workload) string {
	left := fmt.Sprintf("About %s %s left", web.Count(a.SheetsLeft, "%d sheet", "%d sheets"), c.sheetName(a.Sheet))
	text := fmt.Sprintf("%s; %d of %d booked are still to come.", left, a.ToCome, a.Booked)
	if load.Asked {
		text = fmt.Sprintf("%s; the class needs %d.", left, a.Booked)
	}
	if !a.Sure {
		text += " " + "The figure is unverified: test the bath in between."
	}
	return text
}

// ends says what binds a bath before the end of the work.
func (c BookCards) ends(limit ledger.Limit) string {
	if limit.Verdict == ledger.TestFirst {
		word, _ := c.InTray(limit.Verdict, limit.Tested)
		return fmt.Sprintf("%s: %s", word, c.Text(limit.Words))
	}
	return fmt.Sprintf("until %s: %s", c.TimeOfDay(limit.Due), c.Text(limit.Name))
}

// unbooked is what is left of a bath while nothing is booked.
func (c BookCards) unbooked(a ledger.Lasting, t ShelfTray) *LastingLine {
	q := url.Values{"room": {t.Room}, "begins": {c.TypedMoment(c.Book.At)}, "next": {"/rooms/" + t.Room + "/baths"}}
	line := &LastingLine{Text: capacityUnknown,
		Book: "/shelf/enter/work-booked?" + q.Encode()}
	if len(a.Left) > 0 {
		line.Text, line.Source = web.SentenceCase(c.left(a.Left)), c.Sourced(a.Capacity.Source, a.Capacity.Standing)
	}
	if answer := c.Book.MayPour(c.Book.TrayOf(t), c.Book.At); answer.Verdict == ledger.TestFirst { // as the board and the shelf say
		line.Word, line.Shape = c.InTray(answer.Verdict, answer.Because.Tested)
		line.Limit = web.SentenceCase(c.Text(answer.Because.Words))
	}
	return line
}

// FactorLines are the times by first appearance, for everybody and for each who has a factor.
func (c BookCards) FactorLines(product string, emergence []time.Duration) []string {
	var lines []string
	for _, person := range append(c.Book.Judges(product), "") {
		f, err := c.Book.Factor(product, person)
		if err != nil {
			continue
		}
		t, err := f.Time(emergence...)
		if err != nil {
			continue
		}
		line := fmt.Sprintf("By first appearance: %s (factor %s, %s)", chem.MinutesSeconds(t), c.Number(f.Value, 1), f.Source)
		if !slices.Contains(lines, line) {
			lines = append(lines, line)
		}
	}
	return lines
}

// OpenSessions are the sessions that last, of one room or of all.
func (c BookCards) OpenSessions(room string) []ledger.Session {
	return slices.DeleteFunc(c.Sessions(room), func(s ledger.Session) bool { return !s.Closed.IsZero() })
}

// OpenSession is the session of a room that lasts; the one that began last where there are several.
func (c BookCards) OpenSession(room string) (s ledger.Session, open bool) {
	if all := c.OpenSessions(room); len(all) > 0 {
		return all[len(all)-1], true
	}
	return s, false
}

// AnswerLine is "may I pour this?" in a word, a shape and a sentence with its source.
type AnswerLine struct {
	Word, Shape, Because, Source, Do string
}

// inUse is the answer of a bath that stands in its tray: nothing is poured from there.
const inUse = "IN USE"

// Answer says whether the content of a vessel may be poured, or used where it is.
func (c BookCards) Answer(id string) AnswerLine {
	a := c.Book.MayPour(id, c.Book.At)
	line := AnswerLine{Because: c.Text(a.Because.Words), Source: c.Sourced(c.Text(a.Because.Source), a.Because.Standing), Do: c.Text(a.Do)}
	line.Word, line.Shape = c.VerdictOn(id, a.Verdict, a.Because.Tested)
	if line.Word == inUse {
		line.Do = ""
	}
	return line
}

// VerdictOn is the verdict on what a vessel holds, or that of one of its limits, in a word and a shape.
func (c BookCards) VerdictOn(id string, v ledger.Verdict, t ledger.Tested) (word, shape string) {
	word, shape = c.InTray(v, t)
	if k, _ := c.Book.Container(id); v == ledger.Pour && k.Vessel.Working() {
		word = inUse
	}
	return word, shape
}

// BookCards says what the book of chemistry knows of vessels, for pages of several people.
type BookCards struct {
	Figures
	Book *ShelfBook
}

// Sessions are all sessions of one room, or of all rooms when it is empty, the oldest first.
func (c BookCards) Sessions(room string) []ledger.Session {
	var all []ledger.Session
	for e := range c.Book.Effective() {
		opened, ok := e.Act.(ledger.SessionOpened)
		if !ok || room != "" && c.Book.AsKept(e).Room != room {
			continue
		}
		if s, known := c.Book.Session(opened.Session); known {
			all = append(all, s)
		}
	}
	return all
}
