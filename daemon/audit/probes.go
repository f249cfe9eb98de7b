package audit

import (
	"slices"

	"wetside/dashboard/report"
	"wetside/rules"
	"wetside/rules/past"
	"wetside/rules/truth"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// probes reads what people entered of devices, checks and corrections, and lets the
// corrections count in the settings of every day: a correction holds from its date on,
// also where it became known later, which the table of corrections tells.
func (g *gathering) probes() error {
	last := g.known.At(g.To)
	if last == nil {
		return nil
	}
	book := g.probeBook(last.Site)
	g.known = g.known.Corrected(func(id string) []sensors.Correction {
		l, _ := book.Life(sensors.ChannelID(id))
		return l.Recorded()
	})
	for l := range book.Lives() {
		g.devices(l)
		g.checks(l)
		g.lastCheck(l)
		g.hands(l)
		g.corrected(l)
	}
	for _, c := range book.Unchecked(g.To) {
		g.unchecked = append(g.unchecked, c.Name)
	}
	g.findings(book)
	g.probesBelieved = book
	return nil
}

func (g *gathering) probeBook(s past.Site) truth.Book {
	var channels []sensors.Channel
	for _, r := range s.Rooms {
		for _, c := range r.Channels {
			channels = append(channels, c.Sensor())
		}
	}
	board := rules.NewBoard()
	board.Probes = truth.Open(channels)
	for _, r := range g.ofTheProbes {
		board = rules.Recall(board, r)
	}
	return board.Probes
}

func (g *gathering) devices(l truth.Life) {
	for _, f := range l.Fittings {
		if f.From.Before(g.To) && (f.To.IsZero() || f.To.After(g.From)) {
			g.data.Devices = append(g.data.Devices, report.Device{Channel: string(l.Channel.ID), Name: l.Channel.Name, Probe: f.Probe, Make: f.Make,
				Accuracy: some(f.Accuracy), From: f.From, To: f.To, By: f.By, Why: f.Why, Record: f.Record, Entered: f.Entered, Late: f.Late()})
		}
	}
}

// some is a figure that is zero when nobody gave it.
func some(v float64) *float64 {
	if v == 0 {
		return nil
	}
	return &v
}

func (g *gathering) checks(l truth.Life) {
	for _, c := range l.Checks {
		if !g.inside(c.At) {
			continue
		}
		out := report.Check{At: c.At, Record: c.Record, Channel: string(l.Channel.ID), Name: l.Channel.Name, Probe: c.Probe,
			Method:    c.Method.Said(),
			Reference: c.Reference, Uncertainty: c.Uncertainty, Instrument: c.Instrument, Certificate: c.Certificate,
			Found: c.AsFound, Left: c.Left, Calculated: c.Calculated, Error: c.Verdict.Error, Next: c.Next, Person: c.Person, Note: c.Note,
			Verdict: verdictOf(c.Verdict)}
		if c.Verdict.Known {
			out.Allowed = &c.Verdict.Allowed
		}
		g.data.Checks = append(g.data.Checks, out)
	}
}

// lastCheck is the newest check of what is fitted at a channel, by the end of the time: what
// rests on the channel rests on that check.
func (g *gathering) lastCheck(l truth.Life) {
	out := report.LastCheck{Channel: string(l.Channel.ID), Name: l.Channel.Name, Kind: string(l.Channel.Kind),
		Verdict: phrase.Say("not checked by then")}
	if c, checked := l.LastBefore(g.To); checked {
		out.At, out.Record, out.Probe, out.Instrument, out.Certificate, out.Next, out.Verdict = c.At, c.Record, c.Probe, c.Instrument,
			c.Certificate, c.Next, verdictOf(c.Verdict)
		out.Method = c.Method.Said()
	}
	g.data.LastChecks = append(g.data.LastChecks, out)
}

func verdictOf(v truth.Verdict) phrase.Sentence {
	switch {
	case !v.Known:
		return phrase.Say("not judged: no accuracy was stated")
	case v.Passed():
		return phrase.Say("within what is allowed")
	}
	return phrase.Say("beyond what is allowed")
}

func (g *gathering) hands(l truth.Life) {
	for _, h := range l.Hands {
		if !g.inside(h.At) {
			continue
		}
		out := report.Hand{At: h.At, Record: h.Record, Channel: string(l.Channel.ID), Name: l.Channel.Name, Value: h.Value, With: h.With,
			Uncertainty: h.Uncertainty, Person: h.Person}
		if apart, ok := l.Difference(h); ok {
			probe := h.Value + apart
			out.Probe = &probe
		}
		g.data.Hands = append(g.data.Hands, out)
	}
}

// corrected lists the corrections that people put in force by the end of the time.
func (g *gathering) corrected(l truth.Life) {
	for _, k := range l.Corrections {
		why := phrase.Plain(k.Why)
		if k.Check > 0 {
			why = phrase.Say("by a check")
		}
		if k.Record > 0 && k.From.Before(g.To) {
			g.data.Corrections = append(g.data.Corrections, report.Correction{Channel: string(l.Channel.ID), Name: l.Channel.Name, From: k.From,
				Slope: k.Slope, Offset: k.Offset,
				Known: k.At, Record: k.Record, Person: k.Person, Why: why})
		}
	}
}

func (g *gathering) findings(b truth.Book) {
	list := b.Findings()
	slices.Reverse(list)
	for _, f := range list {
		if !g.inside(f.From) {
			continue
		}
		out := report.Found{From: f.From, What: string(f.What), Text: f.Text, Basis: f.Basis, Percent: f.Percent(),
			Judgement: phrase.Say("nobody has judged it")}
		if !f.Open() {
			out.Judgement, out.Person, out.Why, out.Record = phrase.Say("dismissed"), f.By, f.Why, f.Record
			if f.Confirmed {
				out.Judgement = phrase.Say("confirmed")
			}
		}
		g.data.Found = append(g.data.Found, out)
	}
}
