package report

import (
	"fmt"
	"slices"
	"time"

	"wetside/sensors/quantity/phrase"
)

// Device is a device that was fitted to a channel, from and to a time.
type Device struct {
	Channel, Name string
	Probe, Make   string   // empty for one that nobody entered
	Accuracy      *float64 // as its maker states it; nil when it was not given
	From, To      time.Time
	By            string
	Why           phrase.Sentence // it was taken out
	Record        uint64
	// Entered is when the fitting was recorded, Late set where that was later than it was done.
	Entered time.Time
	Late    bool
}

// Check is a check of a probe against a reference. Values are in the channel's inside unit.
type Check struct {
	At                      time.Time
	Record                  uint64
	Channel, Name, Probe    string
	Method                  phrase.Sentence
	Reference, Uncertainty  float64
	Instrument, Certificate string
	// Found is as found and Left as left; Calculated is set when the latter follows from a
	// correction and nobody read it.
	Found, Left  float64
	Calculated   bool
	Error        float64
	Allowed      *float64 // accuracy and uncertainty together; nil when no accuracy was stated
	Verdict      phrase.Sentence
	Next         time.Time
	Person, Note string
}

// Hand is a hand reading with what the probe said then, by the corrections known now.
type Hand struct {
	At                  time.Time
	Record              uint64
	Channel, Name, With string
	Value, Uncertainty  float64
	Probe               *float64 // nil when it said nothing
	Person              string
}

// Found is what the readings gave away, and what a person said of it.
type Found struct {
	From        time.Time
	What        string
	Text, Basis phrase.Sentence
	Percent     int // of confidence
	Judgement   phrase.Sentence
	Person, Why string
	Record      uint64 // of the judgement
}

// ofProbes are the tables of probes, their checks and what was found in their readings.
func (d tables) ofProbes() []Table {
	return []Table{
		tableOf("devices.csv", "record channel name probe make accuracy fitted_utc fitted_local taken_out_utc taken_out_local by "+
			"why_taken_out entered_utc entered_local entered_late", d.Devices, func(out *rows, x Device) {
			out.row(reference(x.Record), x.Channel, x.Name, x.Probe, x.Make, x.Accuracy, d.stamps(x.From), d.stamps(x.To), x.By, x.Why,
				d.stamps(x.Entered), x.Late)
		}),
		tableOf("probe-checks.csv", "record at_utc at_local channel name probe method reference uncertainty instrument certificate "+
			"as_found as_left as_left_calculated error allowed verdict next_due_utc next_due_local person note", d.Checks,
			func(out *rows, x Check) {
				out.row(reference(x.Record), d.stamps(x.At), x.Channel, x.Name, x.Probe, x.Method, x.Reference, x.Uncertainty, x.Instrument,
					x.Certificate, x.Found, x.Left, x.Calculated, x.Error, x.Allowed, x.Verdict, d.stamps(x.Next), x.Person, x.Note)
			}),
		tableOf("last-checks.csv", "channel name kind probe checked_utc checked_local method instrument certificate verdict "+
			"next_due_utc next_due_local record", d.LastChecks, func(out *rows, x LastCheck) {
			out.row(x.Channel, x.Name, x.Kind, x.Probe, d.stamps(x.At), x.Method, x.Instrument, x.Certificate, x.Verdict, d.stamps(x.Next),
				reference(x.Record))
		}),
		tableOf("hand-readings.csv", "record at_utc at_local channel name value thermometer uncertainty probe_said person", d.Hands,
			func(out *rows, x Hand) {
				out.row(reference(x.Record), d.stamps(x.At), x.Channel, x.Name, x.Value, x.With, x.Uncertainty, x.Probe, x.Person)
			}),
		tableOf("findings.csv", "began_utc began_local what text basis confidence_percent judgement person why record", d.Found,
			func(out *rows, x Found) {
				out.row(d.stamps(x.From), x.What, x.Text, x.Basis, x.Percent, x.Judgement, x.Person, x.Why, reference(x.Record))
			}),
	}
}

// probesPart lays out the probes, their checks and what was found in their readings.
type probesPart struct{ composer }

// blocks are the devices with their checks, as found and as left.
func (d probesPart) blocks() []Block {
	checks := Grid{Empty: "No probe was checked in this period.", File: "probe-checks.csv", Columns: []Column{{"Checked", 2.3, left},
		{"Probe", 2.9, left}, {"Reference", 2.6, left}, {"As found", 1.8, right}, {"As left", 2.2, right}, {"Verdict", 3, left},
		{"Next due", 2.1, left}, {"By", 2, left}}}
	for _, x := range d.Checks {
		left := d.inUnit(x.Left, x.Channel)
		with := d.say("%s: %s ± %s", x.Method, d.number(x.Reference), d.inUnit(x.Uncertainty, x.Channel))
		if x.Calculated {
			left = d.say("%s (calculated)", left)
		}
		if x.Instrument != "" {
			with += ", " + x.Instrument
		}
		if x.Certificate != "" {
			with = d.say("%s, certificate %s", with, x.Certificate)
		}
		checks.Rows = append(checks.Rows, []string{d.moment(x.At), joined(x.Name, x.Probe), with, d.inUnit(x.Found, x.Channel), left,
			d.tell(x.Verdict), d.lastDay(x.Next), x.Person})
	}
	devices := Grid{Empty: "No fitted probe is recorded.", File: "devices.csv", Columns: []Column{{"Place", 3, left}, {"Probe", 3, left},
		{"Accuracy ±", 1.8, right}, {"Fitted", 3.5, left}, {"Taken out", 3.5, left}, {"By", 2, left}}}
	for _, x := range d.Devices {
		accuracy := "not stated"
		if x.Accuracy != nil {
			accuracy = d.inUnit(*x.Accuracy, x.Channel)
		}
		fitted := d.moment(x.From)
		if x.Late {
			fitted = d.say("%s, entered late on %s", fitted, d.moment(x.Entered))
		}
		devices.Rows = append(devices.Rows, []string{x.Name, joined(x.Probe, x.Make), accuracy, fitted, joined(d.moment(x.To), d.tell(x.Why)),
			x.By})
	}
	return slices.Concat(announced("Basis of each channel at the end of this period:", d.lastCheckGrid()),
		announced("Checks in this period:", checks), []Block{Text("A check passes when as found lies no further from the reference than " +
			"the stated accuracy of the probe and the uncertainty of the reference together.")},
		announced("Probes that were fitted:", devices), []Block{d.foundGrid()})
}

func (d probesPart) foundGrid() Grid {
	g := Grid{Empty: "The readings showed no fault of a probe.", File: "findings.csv", Columns: []Column{{"Began", 3.5, left},
		{"Faults found from the readings", 5, left}, {"Likely, %", 1.3, right}, {"Judged", 2, left}, {"By", 2, left}, {"Why", 3, left}}}
	for _, x := range d.Found {
		g.Rows = append(g.Rows, []string{d.moment(x.From), d.tell(x.Text), fmt.Sprint(x.Percent), d.tell(x.Judgement), x.Person, x.Why})
	}
	return g
}

// joined puts two texts together, either of which may be empty.
func joined(a, b string) string {
	switch {
	case a == "":
		return b
	case b == "":
		return a
	}
	return a + ", " + b
}

// LastCheck is the newest check of what is fitted at a channel; At is zero where there is none.
type LastCheck struct {
	Channel, Name, Kind            string
	At                             time.Time
	Method, Verdict                phrase.Sentence
	Probe, Instrument, Certificate string
	Next                           time.Time
	Record                         uint64
}

// lastCheckGrid is what each channel rests on at the end of the time.
func (d probesPart) lastCheckGrid() Grid {
	g := Grid{Empty: "No channel was in service in this time.", File: "last-checks.csv", Columns: []Column{{"Channel", 5, left},
		{"Probe", 2.2, left}, {"Last check", 2.6, left}, {"Method", 3, left}, {"Certificate", 2.2, left}, {"Verdict", 3, left},
		{"Next due", 2.1, left}}}
	for _, x := range d.LastChecks {
		g.Rows = append(g.Rows, []string{x.Name, x.Probe, d.moment(x.At), joined(d.tell(x.Method), x.Instrument), x.Certificate,
			d.tell(x.Verdict), d.lastDay(x.Next)})
	}
	return g.sharing(0)
}
