package report

import (
	"time"

	"wetside/sensors/quantity/phrase"
)

// LastCheck is the newest check of what is fitted at a channel; At is zero where there is none.
type LastCheck struct {
	Channel, Name, Kind            string
	At                             time.Time
	Method, Verdict                phrase.Sentence
	Probe, Instrument, Certificate string
	Next                           time.Time
	Record                         uint64
}

func (d Data) lastChecks() Table {
	return tableOf("last-checks.csv", []string{"channel", "name", "kind", "probe", "checked_utc", "checked_local", "method", "instrument",
		"certificate", "verdict",
		"next_due_utc", "next_due_local", "record"}, d.LastChecks, func(out *rows, x LastCheck) {
		out.row(x.Channel, x.Name, x.Kind, x.Probe, d.stamps(x.At), x.Method, x.Instrument, x.Certificate, x.Verdict, d.stamps(x.Next),
			reference(x.Record))
	})
}

// lastCheckGrid is what each channel rests on at the end of the time.
func (d Data) lastCheckGrid() Grid {
	g := Grid{Empty: d.say("No channel was in service in this time."), File: "last-checks.csv",
		Columns: []Column{{d.say("Channel"), 5, left}, {d.say("Probe"), 2.2, left}, {d.say("Last check"), 2.6, left}, {d.say("Method"), 3, left},
			{d.say("Certificate"), 2.2, left}, {d.say("Verdict"), 3, left}, {d.say("Next due"), 2.1, left}}}
	for _, x := range d.LastChecks {
		g.Rows = append(g.Rows, []string{x.Name, x.Probe, d.moment(x.At), joined(d.tell(x.Method), x.Instrument), x.Certificate,
			d.tell(x.Verdict), d.lastDay(x.Next)})
	}
	return g.sharing(0)
}
