package dashboard

import (
	"net/url"
	"slices"
	"time"

	"wetside/chem"
	"wetside/chem/ledger"
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
	ledger.Workload
	asked bool
}

// around is how far from now work begins that counts as tonight's.
const around = 12 * time.Hour

// booked is the work that is booked in the room of a visit.
func (c bookCards) booked(in visit) workload {
	load := ledger.Workload{Work: c.tonightsWork(in.snap.Room), Until: in.snap.Session.To}
	for _, s := range c.openSessions(in.snap.Room) {
		load.Sessions = append(load.Sessions, s.ID)
	}
	return workload{Workload: load}
}

// tonightsWork is what is booked for a room about now.
func (c bookCards) tonightsWork(room string) []ledger.Work {
	return slices.DeleteFunc(c.book.Work(c.book.At.Add(-around), c.book.At.Add(around)), func(w ledger.Work) bool { return c.roomOf(w.Entry) != room })
}

// roomOf is the room that a record belongs to.
func (c bookCards) roomOf(number uint64) string {
	at := slices.IndexFunc(c.book.Records, func(r ShelfRecord) bool { return r.Number == number })
	if at < 0 {
		return ""
	}
	return c.book.Records[at].Room
}

// lasting says of a tray how many sheets it still carries, and whether that is enough;
// nil for one of which there is nothing to say.
func (c bookCards) lasting(t ShelfTray, load workload) *lastingLine {
	a, ok := c.book.WillLast(t.Bath, load.Workload, c.book.At)
	if !ok {
		return nil
	}
	line := &lastingLine{Source: c.sourced(a.Capacity.Source, a.Capacity.Standing)}
	switch a.Verdict {
	case ledger.MayNotPour:
		line.Word, line.Shape = c.verdict(ledger.Discard)
		line.Text, line.Source = sentenceCase(c.tell(a.Limit.Words)), c.sourced(c.tell(a.Limit.Source), a.Limit.Standing)
	case ledger.CapacityUnknown:
		line.Word, line.Shape, line.Text, line.Source = c.words.Say("lasts.unknown"), "low", c.words.Say("lasts.no-capacity"), ""
		if a.Why != nil {
			line.Text = c.sentenceOf(a.Why)
		}
	case ledger.AllDone:
		line.Word, line.Shape, line.Text = c.words.Say("lasts.enough"), "moving", c.words.Say("lasts.all-done", a.Booked)
	case ledger.LastsToTheEnd:
		line.Word, line.Shape, line.Text = c.words.Say("lasts.enough"), "moving", c.counted(a, load)
	case ledger.RunsShort:
		line.Word, line.Shape, line.Text = c.words.Say("lasts.short"), "stopped", c.counted(a, load)
		line.Short = c.words.Say("lasts.mix", c.volume(a.Short))
	default:
		if load.asked {
			return nil
		}
		return c.unbooked(a, t.Room)
	}
	if a.CheckFirst {
		line.Word, line.Shape, line.Limit = c.words.Say("lasts.look"), "low", c.ends(a.Limit)
	}
	return line
}

// counted says how many sheets are left, beside how many are to come.
func (c bookCards) counted(a ledger.Lasting, load workload) string {
	text := c.words.Say("lasts.left", a.SheetsLeft, c.sheetName(a.Sheet), a.ToCome, a.Booked)
	if load.asked {
		text = c.words.Say("lasts.left-asked", a.SheetsLeft, c.sheetName(a.Sheet), a.Booked)
	}
	if !a.Sure {
		text += " " + c.words.Say("lasts.unverified")
	}
	return text
}

// ends says what binds a bath before the end of the work.
func (c bookCards) ends(limit ledger.Clock) string {
	if limit.Verdict == ledger.TestFirst {
		return c.words.Say("binds.test", c.tell(limit.Words))
	}
	return c.words.Say("binds.until", c.clock(limit.Due), c.tell(limit.Name))
}

// unbooked is what is left of a bath while nothing is booked.
func (c bookCards) unbooked(a ledger.Lasting, room string) *lastingLine {
	q := url.Values{"room": {room}, "begins": {c.typedMoment(c.book.At)}, "next": {"/rooms/" + room + "/baths"}}
	line := &lastingLine{Text: c.words.Say("lasts.no-capacity"), Book: "/shelf/enter/work-booked?" + q.Encode()}
	if len(a.Left) > 0 {
		line.Text, line.Source = sentenceCase(c.left(a.Left)), c.sourced(a.Capacity.Source, a.Capacity.Standing)
	}
	return line
}

// factorLines are the times by first appearance, for everybody and for each who has a factor.
func (c bookCards) factorLines(product string, emergence []time.Duration) []string {
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

// openSessions are the sessions that last, of one room or of all.
func (c bookCards) openSessions(room string) []ledger.Session {
	return slices.DeleteFunc(c.sessions(room), func(s ledger.Session) bool { return !s.Closed.IsZero() })
}

// answerLine is "may I pour this?" in a word, a shape and a sentence with its source.
type answerLine struct {
	Word, Shape, Because, Source, Do string
	Silver                           bool
}

// answer says whether the content of a vessel may be poured.
func (c bookCards) answer(id string) answerLine {
	a := c.book.MayPour(id, c.book.At)
	line := answerLine{Because: c.tell(a.Because.Words), Source: c.sourced(c.tell(a.Because.Source), a.Because.Standing), Do: c.tell(a.Do), Silver: a.SilverBearing}
	line.Word, line.Shape = c.verdict(a.Verdict)
	return line
}

// bookCards says what the book of chemistry knows of vessels, for pages of several people.
type bookCards struct {
	figures
	book *ShelfBook
}

// sessions are all sessions of one room, or of all rooms when it is empty, the oldest first.
func (c bookCards) sessions(room string) []ledger.Session {
	var all []ledger.Session
	for _, r := range c.book.Kept(c.book.Effective()) {
		opened, ok := r.Act.(ledger.SessionOpened)
		if !ok || room != "" && r.Room != room {
			continue
		}
		if s, known := c.book.Session(opened.Session); known {
			all = append(all, s)
		}
	}
	return all
}
