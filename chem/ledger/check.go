package ledger

import (
	"errors"
	"slices"
	"time"

	"wetside/sensors/quantity/phrase"
)

func checkForm(e Entry) error {
	if e.Act == nil {
		return Problem{ErrForm, phrase.Say("The entry is empty"), phrase.Say("Say what was done")}
	}
	if e.At.IsZero() || e.Entered.IsZero() {
		return Problem{ErrTime, phrase.Say("A time is missing"), phrase.Say("Write when it happened")}
	}
	return first(e.Act.validate(), maybeName(phrase.Say("session"), e.Session))
}

func checkTimes(e Entry) error {
	if e.At.After(e.Entered) {
		return Problem{ErrTime, phrase.Say("%s lies in the future: it is now %s", when(e.At), when(e.Entered)),
			phrase.Say("Check the date and the time")}
	}
	return first(within(e, phrase.Say("The time"), e.At, longestBack, 0), checkDates(e))
}

// How far from the day of writing a date may lie: beyond, the year is a slip. They are choices of this program.
const (
	longestBack  = 5 * year  // what happened
	longestShelf = 20 * year // the date on a pack, either way
	longestAhead = 2 * year  // booked work, either way
	year         = 366 * 24 * time.Hour
)

// within refuses a date too far from when the entry is written.
func within(e Entry, what phrase.Sentence, date time.Time, back, ahead time.Duration) error {
	if date.IsZero() || !date.Before(e.Entered.Add(-back)) && (ahead == 0 || !date.After(e.Entered.Add(ahead))) {
		return nil
	}
	return Problem{ErrTime, phrase.Say("%s, %s, is years from today, %s", what, onDay(date), onDay(e.Entered)), phrase.Say("Check the year")}
}

func checkDates(e Entry) error {
	switch a := e.Act.(type) {
	case LotReceived:
		return within(e, phrase.Say("The date on the pack"), a.Expiry, longestShelf, longestShelf)
	case WorkBooked:
		return within(e, phrase.Say("The time of the work"), a.Begins, longestAhead, longestAhead)
	case SilverMeasured:
		return within(e, phrase.Say("The date of the sample"), a.Sampled, longestBack, 0)
	case Correction:
		if !a.At.IsZero() {
			e.At = a.At
		}
		e.Act = a.Instead
		return first(within(e, phrase.Say("The corrected time"), e.At, longestBack, 0), checkDates(e))
	}
	return nil
}

func (s Settings) checkPerson(e Entry) error {
	if err := needName(phrase.Say("person who writes this"), e.By); err != nil {
		return err
	}
	if len(s.People) == 0 {
		return nil
	}
	at := slices.IndexFunc(s.People, func(p Person) bool { return p.Name == e.By })
	if at < 0 {
		return Problem{ErrPerson, phrase.Say("%q is not on the list of people", e.By),
			phrase.Say("Choose your own name, or have your name added to the list")}
	}
	if left := s.People[at].Left; !left.IsZero() && e.Entered.After(left) {
		return Problem{ErrPerson, phrase.Say("%s left on %s", e.By, onDay(left)), phrase.Say("Write under your own name")}
	}
	return nil
}

// checkSeen refuses an entry about a container, or a correction of an entry, that somebody else changed after the
// writer looked.
func (l *Ledger) checkSeen(e Entry) error {
	if e.Seen == 0 {
		return nil
	}
	for _, id := range touches(e.Act) {
		if c := l.now.containers[id]; c != nil && c.Changed > e.Seen {
			return Problem{ErrStale, phrase.Say("%s changed %s in entry %d while you were writing", c.ChangedBy, id, c.Changed),
				phrase.Say("Look at it again and send your entry once more; what you typed is kept")}
		}
	}
	mine, ok := e.Act.(Correction)
	if !ok {
		return nil
	}
	for _, later := range l.entries.all() {
		if other, ok := later.Act.(Correction); ok && other.Of == mine.Of && later.Number > e.Seen {
			return Problem{ErrStale, phrase.Say("%s corrected entry %d in entry %d while you were writing", later.By, mine.Of, later.Number),
				phrase.Say("Look at it again and send your correction once more; what you typed is kept")}
		}
	}
	return nil
}

// checkAsked refuses a new entry without what older ones were not asked for.
func checkAsked(a Act) error {
	if c, is := a.(Correction); is && c.Instead != nil {
		return checkAsked(c.Instead)
	}
	if t, is := a.(TestDone); is && t.Test == EmergenceTest && t.Temperature == nil {
		return Problem{ErrForm, phrase.Say("The temperature of the developer is missing"),
			phrase.Say("Measure the bath and write its temperature: a cold bath is slow without being tired")}
	}
	return nil
}

// checkWaste keeps what carries silver out of the waste without silver; older entries could do so.
func (s *state) checkWaste(a Act) error {
	var from, into string
	switch a := a.(type) {
	case Discarded:
		from, into = a.Container, a.To
	case PortionPoured:
		from, into = a.From, a.To
	case Merged:
		from, into = a.From, a.Into
	}
	source, waste := s.containers[from], s.containers[into]
	if source == nil || waste == nil || source.Liquid == nil || waste.Vessel != WasteContainer || waste.Stream == source.Liquid.stream() {
		return nil
	}
	return Problem{ErrMismatch, phrase.Say("%s is for %s waste and %s holds %s, which is %s", into, waste.Stream, from,
		source.Liquid.class, source.Liquid.stream()),
		phrase.Say("Keep the wastes apart: choose the other waste container")}
}

// What can be wrong with an entry; [errors.Is] finds these behind a [Problem].
var (
	ErrForm      = errors.New("the entry is not filled in properly")
	ErrTime      = errors.New("the time cannot be right")
	ErrPerson    = errors.New("the person is not on the list")
	ErrUnknown   = errors.New("nothing is known under that name")
	ErrTaken     = errors.New("the name is taken")
	ErrVolume    = errors.New("the volumes do not add up")
	ErrNotEnough = errors.New("less is left than was taken out")
	ErrOlder     = errors.New("a batch cannot be older than what it is mixed from")
	ErrMismatch  = errors.New("these two do not belong together")
	ErrBaseline  = errors.New("there is no baseline")
	ErrStale     = errors.New("somebody else changed it in between")
	ErrSession   = errors.New("the session is not clear")
	ErrLater     = errors.New("a later entry would become impossible")
)

// Problem is a refusal in plain words: what is wrong, and what to do about it.
type Problem struct {
	Sort  error           // one of the Err values above
	Wrong phrase.Sentence // what is wrong
	Do    phrase.Sentence // what to do
}

// Error gives both sentences.
func (p Problem) Error() string { return p.both().String() }

// By gives both as a place tells them.
func (p Problem) By(t phrase.Place) string { return p.both().By(t) }

func (p Problem) both() phrase.Sentence { return phrase.Say("%s. %s.", p.Wrong, p.Do) }

func (p Problem) Unwrap() error { return p.Sort }

func first(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
