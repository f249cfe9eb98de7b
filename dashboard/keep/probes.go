package keep

import (
	"net/http"
	"strconv"

	"wetside/dashboard/cards"
	"wetside/dashboard/web"
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
	Findings         []cards.FindingCard
	Checks           []cards.DueRow
	Clock            cards.TimeCard
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

func (s *Pages) probesPage(w http.ResponseWriter, r *http.Request, in web.Visit) {
	l := web.LookOf(r)
	p := s.PageFor("probes", l, in)
	p.Stream, p.Refresh = "/rooms/"+in.Snap.Room+"/probes/events", web.WithoutScript
	if l == web.Red {
		p.Stream += "?look=red"
	}
	f, a := s.figures(in.Site), s.Attempt(r)
	body := s.probesBody(in, l)
	body.Receipt, body.Findings = s.Receipt(r), f.Findings(in, l, "", a)
	if a.Problem != nil {
		body.Problem = a.Problem.Sentence
	}
	body.Checks, body.Clock = f.ChecksDue(in.Snap, l), f.TimeCard(in.Snap.Clock, l, a)
	p.Styles = append(p.Styles, "office.css", "probe.css")
	p.Body = body
	s.Show(w, r, http.StatusOK, p)
}

func (s *Pages) probesBody(in web.Visit, l web.Look) probesBody {
	f := s.figures(in.Site)
	lost := s.Lost(in.Snap)
	var body probesBody
	for _, l := range in.Snap.Lines {
		body.Lines = append(body.Lines, f.lineRow(l, lost))
	}
	for _, c := range in.Snap.Channels {
		row := f.channelRow(c, lost)
		row.History = cards.HistoryHref(c.Channel.ID, l)
		row.Life = cards.ProbeHref(in.Snap.Room, c.Channel.ID, l)
		body.Channels = append(body.Channels, row)
	}
	return body
}

func (s *Pages) probesParts(in web.Visit, l web.Look) ([]web.Part, error) {
	body := s.probesBody(in, l)
	var d web.Drawing
	for _, l := range body.Lines {
		s.Draw(&d, "part-line", l, "line-"+l.ID)
	}
	for _, c := range body.Channels {
		s.Draw(&d, "part-channel", c, "channel-"+c.ID)
	}
	return d.Parts, d.Err
}

func (f figures) lineRow(l rules.LineView, lost bool) lineRow {
	st := l.Status
	row := lineRow{ID: string(l.Line.ID), Name: l.Line.Name, Path: st.Path, Dialect: st.Dialect,
		State: f.Word(st.State), Shape: lineShape(st.State), LastText: st.LastText, LastBad: st.LastBadText, LastError: f.Text(st.LastError),
		Rate: f.Words.Say("probes.rate", f.Number(st.RatePerMinute, 0)), Readings: grouped(st.Readings), Bytes: grouped(st.Bytes)}
	if lost {
		row.State, row.Shape, row.Rate = f.Words.Say("lost.word"), "unproven", ""
	}
	if !st.Since.Wall.IsZero() {
		row.Since = f.WhenExactly(st.Since.Wall)
	}
	row.LastGood = f.Words.Say("never")
	if st.EverGood {
		row.LastGood = f.Words.Say("ago.at", f.Text(rules.Age(f.Now.Since(st.LastGood))), f.WhenExactly(st.LastGood.Wall))
	}
	for _, result := range sensors.FrameResults() {
		if n := st.Frames.Count(result); n > 0 || result == sensors.FrameGood {
			row.Frames = append(row.Frames, f.Words.Say("frame."+string(result), grouped(n)))
		}
	}
	if st.Opens > 1 {
		row.Reopened = f.Words.Say("probes.reopened-times", words.Number{Value: float64(st.Opens - 1), Text: grouped(st.Opens - 1)})
	}
	if st.Unknown > 0 {
		row.Unknown = f.Words.Say("probes.unknown", st.Unknown, st.LastUnknown)
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
	row := channelRow{ID: string(ch.ID), Name: ch.Name, Kind: f.Words.Say("kind." + string(ch.Kind)), Grade: f.Word(c.Grade),
		Shape: gradeShape(c.Grade), Reason: f.Word(c.Reason), Age: f.Words.Say("never"), Silence: f.Text(rules.Age(ch.Silence)),
		Range: f.span(ch)}
	if c.Seen {
		row.Age = f.Words.Say("ago.at", f.Text(rules.Age(c.Age+max(0, f.Now.Wall.Sub(c.LastAt)-c.Age))), f.WhenExactly(c.LastAt))
		row.Raw = f.Words.Say("raw", f.Plain(c.Raw), ch.Unit.Symbol())
	}
	if !c.GoodAt.IsZero() && c.Grade != sensors.Good {
		row.GoodAt = f.Words.Say("why.good-at", f.WhenExactly(c.GoodAt))
	}
	for _, k := range ch.Corrections {
		row.Corrections = append(row.Corrections, f.Words.Say("correction", f.Plain(k.Slope), f.Localized(withSign(k.Offset)), f.Moment(k.From)))
	}
	if lost {
		row.Grade, row.Shape, row.Reason = f.Words.Say("lost.word"), "unproven", f.Words.Say("lost.value")
		return row
	}
	if v, ok := c.Good(); ok {
		row.Value = f.Channel(ch, v)
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
	return f.Words.Say("range", low, f.Channel(ch, ch.Plausible.High))
}
