package dashboard

import (
	"net/http"
	"strconv"

	"wetside/dashboard/words"
	"wetside/rules"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// probesBody is the keeper's page of a room.
type probesBody struct {
	Receipt, Problem string
	Lines            []lineRow
	Channels         []channelRow
	Findings         []findingCard
	Checks           []dueRow
	Clock            timeCard
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
	History        string // the address of its history
	Life           string // the address of the page of its probe
}

func (s *keepPages) probesPage(w http.ResponseWriter, r *http.Request, in visit) {
	l := lookOf(r)
	p := s.pageFor("probes", l, in)
	p.Stream, p.Refresh = "/rooms/"+in.snap.Room+"/probes/events", withoutScript
	if l == red {
		p.Stream += "?look=red"
	}
	f, a := s.figures(in.site), s.attempt(r)
	body := s.probesBody(in, l)
	body.Receipt, body.Findings = s.receipt(r), f.findings(in, l, "", a)
	if a.problem != nil {
		body.Problem = a.problem.Sentence
	}
	body.Checks, body.Clock = f.checksDue(in.snap, l), f.timeCard(in.snap.Clock, l, a)
	p.Styles = append(p.Styles, "office.css", "probe.css")
	p.Body = body
	s.show(w, r, http.StatusOK, p)
}

func (s *keepPages) probesBody(in visit, l look) probesBody {
	f := s.figures(in.site)
	lost := s.lost(in.snap)
	var body probesBody
	for _, l := range in.snap.Lines {
		body.Lines = append(body.Lines, f.lineRow(l, lost))
	}
	for _, c := range in.snap.Channels {
		row := f.channelRow(c, lost)
		row.History = historyHref(c.Channel.ID, l)
		row.Life = probeHref(in.snap.Room, c.Channel.ID, l)
		body.Channels = append(body.Channels, row)
	}
	return body
}

func (s *keepPages) probesParts(in visit, l look) ([]part, error) {
	body := s.probesBody(in, l)
	var d drawing
	for _, l := range body.Lines {
		s.draw(&d, "part-line", l, "line-"+l.ID)
	}
	for _, c := range body.Channels {
		s.draw(&d, "part-channel", c, "channel-"+c.ID)
	}
	return d.parts, d.err
}

func (f figures) lineRow(l rules.LineView, lost bool) lineRow {
	st := l.Status
	row := lineRow{ID: string(l.Line.ID), Name: l.Line.Name, Path: st.Path, Dialect: st.Dialect,
		State: f.word(st.State), Shape: lineShape(st.State), LastText: st.LastText, LastBad: st.LastBadText, LastError: f.tell(st.LastError),
		Rate: f.words.Say("probes.rate", f.number(st.RatePerMinute, 0)), Readings: grouped(st.Readings), Bytes: grouped(st.Bytes)}
	if lost {
		row.State, row.Shape, row.Rate = f.words.Say("lost.word"), "unproven", ""
	}
	if !st.Since.Wall.IsZero() {
		row.Since = f.whenExactly(st.Since.Wall)
	}
	row.LastGood = f.words.Say("never")
	if st.EverGood {
		row.LastGood = f.words.Say("ago.at", f.tell(rules.Age(f.now.Since(st.LastGood))), f.whenExactly(st.LastGood.Wall))
	}
	for _, result := range sensors.FrameResults() {
		if n := st.Frames.Count(result); n > 0 || result == sensors.FrameGood {
			row.Frames = append(row.Frames, f.words.Say("frame."+string(result), grouped(n)))
		}
	}
	if st.Opens > 1 {
		row.Reopened = f.words.Say("probes.reopened-times", words.Number{Value: float64(st.Opens - 1), Text: grouped(st.Opens - 1)})
	}
	if st.Unknown > 0 {
		row.Unknown = f.words.Say("probes.unknown", st.Unknown, st.LastUnknown)
	}
	return row
}

func lineShape(s sensors.LineState) string {
	switch s {
	case sensors.StateLive:
		return "moving"
	case sensors.StateSilent:
		return "low"
	case sensors.StateGone:
		return "stopped"
	}
	return "unproven"
}

func (f figures) channelRow(c rules.ChannelView, lost bool) channelRow {
	ch := c.Channel
	row := channelRow{ID: string(ch.ID), Name: ch.Name, Kind: f.words.Say("kind." + string(ch.Kind)), Grade: f.word(c.Grade),
		Shape: gradeShape(c.Grade), Reason: f.word(c.Reason), Age: f.words.Say("never"), Silence: f.tell(rules.Age(ch.Silence)),
		Range: f.span(ch)}
	if c.Seen {
		row.Age = f.words.Say("ago.at", f.tell(rules.Age(c.Age+max(0, f.now.Wall.Sub(c.LastAt)-c.Age))), f.whenExactly(c.LastAt))
		row.Raw = f.words.Say("raw", f.plain(c.Raw), ch.Unit.Symbol())
	}
	if !c.GoodAt.IsZero() && c.Grade != sensors.Good {
		row.GoodAt = f.words.Say("why.good-at", f.whenExactly(c.GoodAt))
	}
	for _, k := range ch.Corrections {
		row.Corrections = append(row.Corrections, f.words.Say("correction", f.plain(k.Slope), f.signed(signed(k.Offset)), f.moment(k.From)))
	}
	if lost {
		row.Grade, row.Shape, row.Reason = f.words.Say("lost.word"), "unproven", f.words.Say("lost.value")
		return row
	}
	if v, ok := c.Good(); ok {
		row.Value = f.channel(ch, v)
	}
	return row
}

func gradeShape(g sensors.Grade) string {
	switch g {
	case sensors.Good:
		return "moving"
	case sensors.Suspect:
		return "low"
	}
	return "unproven"
}

func signed(v float64) string {
	if v < 0 {
		return "− " + plain(-v)
	}
	return "+ " + plain(v)
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
	low := f.channel(ch, ch.Plausible.Low)
	if ch.Dimension != quantity.Contact {
		low = f.value(ch.Dimension, ch.Plausible.Low, ch.Resolution)
	}
	return f.words.Say("range", low, f.channel(ch, ch.Plausible.High))
}
