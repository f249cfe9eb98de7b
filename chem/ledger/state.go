package ledger

import (
	"iter"
	"maps"
	"slices"
	"time"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Batch is a mix that was made.
type Batch struct {
	ID, Name, Product string
	Class             Class
	Owner             Owner
	Parents           []string // batches and lots it was made from
	Meant             ParentSort
	Aim               Parts
	ParentVolume      quantity.Millilitre
	Water             quantity.Millilitre
	Volume            quantity.Millilitre // as mixed
	Strength          float64             // fraction of the concentrate or powder stock; 0 when not known
	StrengthSpread    float64             // its relative plus-or-minus, by the graduates; 0 when nobody said which
	AimStrength       float64             // what was meant, as Strength; 0 when not stated
	Mixed             time.Time           // zero when not known
	By                string
}

// StrengthError is by how much the batch is stronger (positive) or weaker than
// meant, as a fraction; ok is false when either is not known.
func (b Batch) StrengthError() (fraction float64, ok bool) {
	if b.Strength == 0 || b.AimStrength == 0 {
		return 0, false
	}
	return b.Strength/b.AimStrength - 1, true
}

// Lot is a delivery of bottles or packets.
type Lot struct {
	ID, Product   string
	Class         Class
	Owner         Owner
	Powder        bool
	Units, Opened int
	UnitVolume    quantity.Millilitre // of a bottle, or what a packet makes
	Received      time.Time
	Expiry        time.Time // zero when nothing is printed on it
}

// Container is a vessel and what it holds.
type Container struct {
	ID          string
	Vessel      Vessel
	Bath        string // the place on the wet side that it serves, if any
	Capacity    quantity.Millilitre
	FloatingLid bool
	KeptFor     Class  // empty when anything may go in
	Stream      Stream // of a waste container
	LastHeld    Class  // the class last poured out of it
	Covered     bool
	OpenSince   time.Time // while liquid stands uncovered in a tray
	FilledFrom  string    // where the present liquid was poured from
	Filled      Fill      // what filled it when it was last empty
	LastFill    uint64    // the entry that filled it last, also after it was emptied
	FirstDrop   time.Time // of the waste that is in it
	added       time.Time // when waste last came into it
	Changed     uint64    // the last entry that touched it
	ChangedBy   string
	rotations   int     // of the fixing bath that it last held
	Liquid      *Liquid // nil when empty
}

// Session is an evening, a class, one person's work.
type Session struct {
	ID, Title, Lead string
	People          []string
	Opened, Closed  time.Time // Closed is zero while it lasts
}

// Use is a number of sheets or rolls that went through one bath.
type Use struct {
	Entry     uint64
	At        time.Time
	Session   string
	Container string
	Class     Class // unknown when nobody had logged what was in the bath
	Count     int
	Area      quantity.SquareMetre
	People    []string
	By        string             // who entered it
	Shares    map[string]float64 // part of each batch in the bath, 0 to 1; empty when nothing was logged
	Density   float64            // square metres a litre after this use
}

type flowSort uint8

const (
	mixedIn flowSort = iota + 1
	broughtIn
	returnedOut
	discardedOut
	leftThere
)

// flow is liquid that came into or went out of the working vessels in a session.
type flow struct {
	sort    flowSort
	session string
	class   Class
	volume  quantity.Millilitre
}

// pass is a passed test of fixing, with what was in the bath.
type pass struct {
	at      time.Time
	origins []string
}

type baselineKey struct {
	origin, film string
	kind         TestKind
}

// state is the fold of the entries so far.
type state struct {
	taken      list[Entry]      // so far, corrected, in the order in which things happened
	story      table[list[int]] // by batch, lot and container: the places in taken that tell of it
	containers map[string]*Container
	batches    table[Batch]
	lots       map[string]Lot
	sessions   table[Session]
	open       []string // the sessions that last, in the order in which they began
	uses       list[Use]
	areas      map[string]float64 // by product: square metres that went through baths made of it, each by its share
	flows      list[flow]
	passes     list[pass]
	failures   map[uint64]Failure
	baselines  map[baselineKey]Timed
	drawn      list[draw]
	work       map[string]Work
	noted      map[string]Product
	notedOrder []string
	assumed    *AssumptionsStated
	closing    map[ClosingList]closing
	timed      list[timedPrint]
	silver     list[SilverRecord]
	in, out    quantity.Millilitre // all liquid that ever came and went
	last       time.Time
}

// draw is concentrate or powder taken for a batch.
type draw struct {
	session string
	product string
	volume  quantity.Millilitre
}

func newState() *state {
	return &state{containers: map[string]*Container{}, lots: map[string]Lot{}, areas: map[string]float64{}, work: map[string]Work{},
		closing: map[ClosingList]closing{}, noted: map[string]Product{},
		failures: map[uint64]Failure{}, baselines: map[baselineKey]Timed{}}
}

// vessels are all containers, by name.
func (s *state) vessels() iter.Seq[*Container] {
	return func(yield func(*Container) bool) {
		for _, id := range sortedKeys(s.containers) {
			if !yield(s.containers[id]) {
				return
			}
		}
	}
}

func (s *state) container(id string) (*Container, error) {
	c, ok := s.containers[id]
	if !ok {
		return nil, Problem{ErrUnknown, phrase.Say("No vessel is called %q at that time", id),
			phrase.Say("Check the name, or add the vessel first; an unlabelled bottle is entered as a bottle found")}
	}
	return c, nil
}

func (s *state) holding(id string) (*Container, error) {
	c, err := s.container(id)
	if err != nil {
		return nil, err
	}
	if c.Liquid == nil {
		return nil, Problem{ErrNotEnough, phrase.Say("%s was empty at that time according to the record", id),
			phrase.Say("Record first what was put in; a late entry is accepted")}
	}
	return c, nil
}

// misread is how far what was read off a graduate and what the book has left may differ, 2 mL and
// at most 2 %: a page shows fluid ounces to a tenth, 3 mL, and who types that means all of it (common practice).
func misread(left quantity.Millilitre) quantity.Millilitre { return min(2, left/50) }

// drawable is the container when v can be drawn from it; a draw within what is misread takes what is left.
func (s *state) drawable(id string, v quantity.Millilitre) (*Container, error) {
	c, err := s.holding(id)
	if err == nil && v > c.Liquid.volume+misread(c.Liquid.volume) {
		err = Problem{ErrNotEnough, phrase.Say("%s holds %s, but %s was taken out", id, ml(c.Liquid.volume), ml(v)),
			phrase.Say("Check the volume, or record the missing top-up first; a late entry is accepted")}
	}
	return c, err
}

// roomFor says whether v more of a class may go into the container.
func (s *state) roomFor(id string, v quantity.Millilitre, class Class) (*Container, error) {
	c, err := s.container(id)
	if err != nil {
		return nil, err
	}
	held := quantity.Millilitre(0)
	if c.Liquid != nil {
		held = c.Liquid.volume
	}
	switch {
	case held+v > c.Capacity*1.0001:
		return nil, Problem{ErrVolume, phrase.Say("%s takes %s and already holds %s: %s more do not fit", id, ml(c.Capacity), ml(held), ml(v)),
			phrase.Say("Check the volume, or use another vessel")}
	case c.Vessel == WasteContainer && c.Stream != class.Stream():
		return nil, Problem{ErrMismatch, phrase.Say("%s is for %s waste and %s is %s", id, c.Stream, class, class.Stream()),
			phrase.Say("Keep the wastes apart: choose the other waste container")}
	case c.KeptFor != "" && c.KeptFor != class:
		return nil, Problem{ErrMismatch, phrase.Say("%s is kept for %s and this is %s", id, c.KeptFor, class), phrase.Say("Use another vessel")}
	case c.Liquid != nil && c.Liquid.class != class && c.Vessel != WasteContainer:
		return nil, Problem{ErrMismatch, phrase.Say("%s holds %s and this is %s", id, c.Liquid.class, class),
			phrase.Say("Check both names; if they were really mixed, discard the mix and record the discard")}
	}
	return c, nil
}

// sessionOf is the session that an entry belongs to: the one named, or the only one open.
func (s *state) sessionOf(e Entry) (string, error) {
	if e.Session != "" {
		if _, ok := s.sessions.get(e.Session); !ok {
			return "", Problem{ErrSession, phrase.Say("No session is called %q at that time", e.Session),
				phrase.Say("Open the session first, or leave the field empty")}
		}
		return e.Session, nil
	}
	switch len(s.open) {
	case 0:
		return "", nil
	case 1:
		return s.open[0], nil
	}
	return "", Problem{ErrSession, phrase.Say("%d sessions are open", len(s.open)), phrase.Say("Choose the session this entry belongs to")}
}

// session is sessionOf after the check.
func (s *state) session(e Entry) string {
	id, err := s.sessionOf(e)
	if err != nil {
		return ""
	}
	return id
}

func (s *state) nameTaken(id string) bool {
	_, batch := s.batches.get(id)
	_, lot := s.lots[id]
	return batch || lot
}

// clone is deep enough that neither copy can change the other.
func (c Container) clone() Container {
	if c.Liquid != nil {
		l := c.Liquid.scaled(1, c.Liquid.volume)
		c.Liquid = &l
	}
	return c
}

func cloneUse(u Use) Use {
	u.People, u.Shares = slices.Clone(u.People), maps.Clone(u.Shares)
	return u
}

func ml(v quantity.Millilitre) quantity.Figure { return v.To(1) }

func when(t time.Time) string { return t.Format("2 Jan 2006 15:04") }

func onDay(t time.Time) string { return t.Format("2 Jan 2006") }
