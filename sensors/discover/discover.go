// Package discover listens on a serial line of which nothing is known, and says what
// is spoken there: the speed, the dialect, the channels and their units. [Listen] only
// listens; a probe that waits to be asked is asked by [Ask], and only what somebody
// copied off its paper.
package discover

import (
	"cmp"
	"context"
	"errors"
	"slices"
	"strings"
	"time"

	"wetside/sensors"
	"wetside/sensors/dialect"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Options say on what to listen and how long.
type Options struct {
	Opener sensors.Opener
	Clock  sensors.Clock
	Path   string
	// Each is how long to listen at each speed; 4 s when zero. A probe that speaks
	// less often is not heard.
	Each time.Duration
}

// Speeds are the ones tried, the most common first.
func Speeds() []int { return []int{9600, 115200, 19200, 57600, 38400, 4800} }

// enough is how many good frames settle the dialect: one could be chance.
const enough = 2

// Heard is what is spoken on a line.
type Heard struct {
	Port     string
	Baud     int
	Format   string // data bits, parity and stop bits
	Dialect  string // "text", "xdr" or "modbus"
	Channels []Channel
	// Sample is the last good frame, as a person may read it.
	Sample string
}

// Channel is a source of values within a line.
type Channel struct {
	Address, Unit string
	// Last is the newest value in Unit. It is shown to tell probes apart, and is no reading.
	Last  float64
	Count int
	// Kinds are what it may measure by its unit, the likeliest first.
	Kinds []sensors.Kind
	// Register is where a Modbus probe keeps it; nil in other dialects.
	Register *dialect.Register
}

// Errors by which a keeper can be told what to do.
var (
	ErrSilent  = phrase.Errorf("nothing was heard")
	ErrUnknown = phrase.Errorf("something is sent, but in no format that is known")
)

// Listen tries the speeds until a dialect is understood. The error wraps [ErrSilent]
// or [ErrUnknown], or one of an [sensors.Opener].
func Listen(ctx context.Context, o Options) (Heard, error) {
	o.Each = cmp.Or(o.Each, 4*time.Second)
	spoke := false
	for _, baud := range Speeds() {
		listener := newListener()
		if err := listener.listen(ctx, o, baud); err != nil {
			return Heard{}, err
		}
		if heard, ok := listener.understood(); ok {
			heard.Port, heard.Baud, heard.Format = o.Path, baud, "8N1"
			return heard, nil
		}
		if listener.bytes == 0 && !spoke {
			return Heard{}, phrase.Errorf("%w on %s within %s: check that the probe has power; a Modbus probe sends nothing until it is asked",
				ErrSilent, o.Path, o.Each)
		}
		spoke = true
	}
	return Heard{}, phrase.Errorf("%w on %s at %v baud: a checked line or an XDR sentence is needed; the README tells how to print one",
		ErrUnknown, o.Path, Speeds())
}

// listener feeds what arrives to every dialect that speaks by itself.
type listener struct {
	bytes      int
	candidates []candidate
}

// candidate is a dialect that may be what is spoken, with what it made of the bytes so far.
type candidate struct {
	name    string
	decoder sensors.Decoder
	good    int
	sample  string
	found   map[string]*Channel
}

func newListener() *listener {
	return &listener{candidates: []candidate{
		{name: "text", decoder: dialect.NewText(), found: map[string]*Channel{}},
		{name: "xdr", decoder: dialect.NewXDR(), found: map[string]*Channel{}},
	}}
}

func (l *listener) listen(ctx context.Context, o Options, baud int) (err error) {
	line, err := o.Opener.Open(ctx, sensors.LineSettings{Path: o.Path, Baud: baud, DataBits: 8, Parity: 'N', StopBits: 1})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, line.Close()) }()
	over := o.Clock.After(o.Each)
	for {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-over:
			return nil
		case data, open := <-line.Chunks():
			if !open {
				return phrase.Errorf("%s went away while it was listened to: %w", o.Path, cmp.Or(line.Err(), sensors.ErrGone))
			}
			l.hear(o.Clock.Now(), data)
		}
	}
}

func (l *listener) hear(now sensors.Instant, data []byte) {
	l.bytes += len(data)
	for i := range l.candidates {
		t := &l.candidates[i]
		for _, f := range t.decoder.Feed(now, slices.Clone(data)) {
			t.count(f)
		}
	}
}

func (t *candidate) count(f sensors.Frame) {
	if f.Result != sensors.FrameGood {
		return
	}
	t.good++
	t.sample = f.Text
	for _, m := range f.Measurements {
		c, known := t.found[m.Address]
		if !known && len(t.found) < 64 {
			c = &Channel{Address: m.Address, Unit: m.Unit, Kinds: kindsOf(m.Unit, m.Address)}
			t.found[m.Address] = c
		}
		if c != nil {
			c.Last, c.Count = m.Value, c.Count+1
		}
	}
}

func (l *listener) understood() (Heard, bool) {
	best := slices.MaxFunc(l.candidates, func(a, b candidate) int { return cmp.Compare(a.good, b.good) })
	h := Heard{Dialect: best.name, Sample: best.sample}
	for _, c := range best.found {
		h.Channels = append(h.Channels, *c)
	}
	slices.SortFunc(h.Channels, func(a, b Channel) int { return strings.Compare(a.Address, b.Address) })
	return h, best.good >= enough && len(h.Channels) > 0
}

// kindsOf lists what a channel may measure, by the unit it sends and then by its name,
// the likeliest first. Without a unit it may be anything.
func kindsOf(unit, name string) []sensors.Kind {
	kinds := sensors.KnownKinds()
	if u, err := quantity.ParseUnit(unit); err == nil && unit != "" {
		kinds = slices.DeleteFunc(kinds, func(k sensors.Kind) bool {
			traits, _ := k.Traits()
			return traits.Dimension != u.Dimension()
		})
	}
	name = strings.ToLower(name)
	slices.SortStableFunc(kinds, func(a, b sensors.Kind) int { return hint(b, name) - hint(a, name) })
	return kinds
}

// hint is 1 when a name holds a word that people use for a kind.
func hint(k sensors.Kind, name string) int {
	words := map[sensors.Kind][]string{
		sensors.AirTemperature: {"air", "room", "amb"}, sensors.WaterTemperature: {"water", "tap", "inlet"},
		sensors.FanCommand: {"fan"}, sensors.CarbonDioxide: {"co2"}, sensors.SulfurDioxide: {"so2"}, sensors.AceticAcid: {"acet", "hac"},
		sensors.RoomPressure: {"room", "dp"}, sensors.VelocityPressure: {"vel", "pitot", "duct"},
	}
	for _, w := range words[k] {
		if strings.Contains(name, w) {
			return 1
		}
	}
	return 0
}

// Draft is a first configuration as somebody puts it together from what was heard: one room
// and its lines. Its volume and sizes are as typed, with their units.
type Draft struct {
	Room, Volume string
	Floor, Duct  string // empty where not known
	// Reading is how people there read figures.
	Reading Reading
	Lines   []DraftLine
}

// DraftLine is a line with the channels that are to be kept.
type DraftLine struct {
	Heard
	Keep []DraftChannel
}

// DraftChannel is a channel that is to be kept, with its name and what it measures.
type DraftChannel struct {
	Channel
	Name string
	Kind sensors.Kind
	// Role is set for the probe of a bath, such as "developer".
	Role string
}

// Reading is a way to write figures.
type Reading string

const (
	WithPoint Reading = "point" // the inside units
	WithComma Reading = "comma" // likewise
	USUnits   Reading = "us"
)
