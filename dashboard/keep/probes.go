package keep

import (
	"cmp"
	"fmt"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

type probesBody struct {
	Problem  string
	Lines    []lineRow
	Unread   bool // a line is not read: the lines come first then
	Channels []channelRow
	Findings []cards.FindingCard
	Checks   []cards.DueRow
	Clock    cards.TimeCard
}

// lineRow is one port as the keeper sees it; all text.
type lineRow struct {
	ID, Name, Path, Dialect string
	State, Shape, Since     string
	LastGood, LastText      string
	LastBad, LastError      string
	Rate, Readings          string
	Frames                  []string
	Reopened                string
	Unknown                 string
	Bytes                   string
}

// channelRow is one channel as the keeper sees it; Value is empty unless good and recent.
type channelRow struct {
	ID, Name, Kind string
	Value          string
	Grade, Shape   string
	Reason         string
	Age, GoodAt    string
	Raw, Range     string
	Silence        string
	Corrections    []string
	History        string // the address of its history, on the page of its probe
	Life           string // the address of the page of its probe
	Hour           string // the address of the picture of its last hour
}

func (s *Pages) probesPage(w http.ResponseWriter, r *http.Request, in web.Visit) {
	l := web.LookOf(r)
	p := s.PageFor(web.Head{Name: "probes", Title: "Probes"}, l, in)
	p.Stream, p.Refresh = l.Keep("/rooms/"+in.Snap.Room+"/probes/events"), web.WithoutScript
	f, a := s.figures(in.Site), s.Attempt(r)
	body := s.probesBody(in, l)
	body.Findings = f.Findings(in, l, "", a)
	body.Problem = a.Sentence()
	body.Checks, body.Clock = f.ChecksDue(in.Snap, l), f.TimeCard(in.Snap.Clock, l, a)
	slices.SortStableFunc(body.Checks, cards.Sooner)
	s.Show(w, r, http.StatusOK, p.With(body, "office.css", "probe.css"))
}

func (s *Pages) probesBody(in web.Visit, l web.Look) probesBody {
	f := s.figures(in.Site)
	lost := s.Lost(in.Snap)
	var body probesBody
	for _, l := range in.Snap.Lines {
		body.Lines = append(body.Lines, f.lineRow(l, lost))
		body.Unread = body.Unread || l.Status.State != sensors.StateLive
	}
	for _, c := range in.Snap.Channels {
		row := f.channelRow(in.Snap, c, lost)
		row.Life = cards.ProbeHref(in.Snap.Room, c.Channel.ID, l)
		if s.Readings != nil {
			row.Hour = s.hourHref(in.Snap.Room, c.Channel.ID, l)
		}
		body.Channels = append(body.Channels, row)
	}
	return body
}

func (s *Pages) probesParts(d *web.Drawing, in web.Visit, l web.Look) {
	body := s.probesBody(in, l)
	for _, l := range body.Lines {
		d.Part("part-line", l, "line-"+l.ID)
	}
	for _, c := range body.Channels {
		d.Part("part-channel", c, "channel-"+c.ID)
	}
}

func (f figures) lineRow(l rules.LineView, lost bool) lineRow {
	st := l.Status
	row := lineRow{ID: string(l.Line.ID), Name: l.Line.Name, Path: st.Path, Dialect: st.Dialect,
		State: f.Word(st.State), Shape: lineShape(st.State), LastText: st.LastText, LastBad: st.LastBadText, LastError: f.Text(st.LastError),
		Rate: fmt.Sprintf("%s a minute", f.Number(st.RatePerMinute, 0)), Readings: grouped(st.Readings), Bytes: grouped(st.Bytes)}
	if lost {
		row.State, row.Shape, row.Rate = "lost", "unproven", ""
	}
	if !st.Since.Wall.IsZero() {
		row.Since = f.WhenExactly(st.Since.Wall)
	}
	row.LastGood = "never"
	if st.EverGood {
		row.LastGood = fmt.Sprintf("%s ago, %s", f.Text(rules.Age(f.Now.Since(st.LastGood))), f.WhenExactly(st.LastGood.Wall))
	}
	for _, result := range sensors.FrameResults() {
		if n := st.Frames.Count(result); n > 0 || result == sensors.FrameGood {
			row.Frames = append(row.Frames, grouped(n)+" "+result.Label())
		}
	}
	if st.Opens > 1 {
		row.Reopened = again(st.Opens - 1)
	}
	if st.Unknown > 0 {
		row.Unknown = unknown(st)
	}
	return row
}

// again says how often a line was opened again.
func again(n uint64) string {
	if n == 1 {
		return "1 time"
	}
	return grouped(n) + " times"
}

// unknown says how many values came from addresses that no channel has.
func unknown(st sensors.LineStatus) string {
	const one, many = "%d value from an address without a channel in the configuration",
		"%d values from addresses without a channel in the configuration"
	return web.Count(int(st.Unknown), one, many) + ", last " + st.LastUnknown
}

func lineShape(s sensors.LineState) string {
	return cmp.Or(map[sensors.LineState]string{sensors.StateLive: "moving", sensors.StateSilent: "low",
		sensors.StateGone: "stopped"}[s], "unproven")
}

func (f figures) channelRow(snap *rules.Snapshot, c rules.ChannelView, lost bool) channelRow {
	ch := *c.Channel
	row := channelRow{ID: string(ch.ID), Name: ch.Name, Kind: unlessSame(ch.Kind.Label(), ch.Name), Grade: f.Word(c.Grade),
		Shape: gradeShape(c.Grade), Reason: f.Word(c.Reason), Age: "never", Silence: f.Text(rules.Age(ch.Silence)),
		Range: f.span(ch)}
	if c.Seen {
		row.Age = fmt.Sprintf("%s ago", f.Text(rules.Age(c.Age+max(0, f.Now.Wall.Sub(c.LastAt)-c.Age))))
		row.Raw = fmt.Sprintf("%s %s", f.Plain(c.Raw), ch.Unit.Label())
	}
	if !c.GoodAt.IsZero() && c.Grade != sensors.Good {
		row.GoodAt = fmt.Sprintf("last good reading at %s", f.WhenExactly(c.GoodAt))
	}
	for _, k := range ch.Corrections {
		row.Corrections = append(row.Corrections, f.correction(ch, k))
	}
	if lost {
		row.Grade, row.Shape, row.Reason = "lost", "unproven", "not known: wetside does not answer"
		return row
	}
	if v, ok := c.Good(); ok {
		row.Value = f.Channel(ch, v)
		for _, b := range snap.Breathing {
			if b.Channel == ch.ID {
				row.Value = f.Text(b.Now) // what is below what the sensor can tell is no zero
			}
		}
	}
	return row
}

// unlessSame is the kind of a channel, unless the channel is named just so.
func unlessSame(kind, name string) string {
	if strings.EqualFold(kind, name) {
		return ""
	}
	return kind
}

// correction says in the place's unit what is done to the readings of a probe.
func (f figures) correction(ch sensors.Channel, k sensors.Correction) string {
	unit, factor := f.Unit(ch.Dimension), ""
	if k.Slope != 1 {
		factor = fmt.Sprintf("× %s ", f.Plain(k.Slope))
	}
	// in Fahrenheit the zero of the inside unit is multiplied, too
	added := math.Round(1e6*(unit.FromBase(k.Offset)-k.Slope*unit.FromBase(0))) / 1e6
	return fmt.Sprintf("%s%s %s since %s", factor, f.Sign(withSign(added)), unit.Label(), f.Day(k.From))
}

func gradeShape(g sensors.Grade) string {
	return cmp.Or(map[sensors.Grade]string{sensors.Good: "moving", sensors.Suspect: "low"}[g], "unproven")
}

func withSign(v float64) string {
	if v < 0 {
		return "− " + web.Plain(-v)
	}
	return "+ " + web.Plain(v)
}

// grouped writes a count with thin spaces between thousands.
func grouped(n uint64) string {
	s := strconv.FormatUint(n, 10)
	for at := len(s) - 3; at > 0; at -= 3 {
		s = s[:at] + "\u202f" + s[at:]
	}
	return s
}

// span is between what values a channel is believed, with its unit once.
func (f figures) span(ch sensors.Channel) string {
	low := f.Channel(ch, ch.Plausible.Low)
	if ch.Dimension != quantity.Contact {
		low = f.Value(ch.Dimension, ch.Plausible.Low, ch.Resolution)
	}
	return fmt.Sprintf("%s to %s", low, f.Channel(ch, ch.Plausible.High))
}
