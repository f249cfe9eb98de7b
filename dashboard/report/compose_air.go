package report

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"wetside/rules/ventilation"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// airPart lays out rooms, sessions and what was read of their air.
type airPart struct{ composer }

func (d airPart) rooms() []Block {
	g := Grid{Empty: "No room is known in this period.", File: "rooms.csv", Columns: []Column{{"Room", 2, left}, {"Volume", 1.6, right},
		{"Required ventilation", 4, left}, {"Commissioned", 4, left}, {"Airflow limits", 4, left}}}
	for _, r := range d.Rooms {
		commissioned := cmp.Or(d.tell(r.Commissioned), "never")
		volume := d.say("%s", quantity.CubicMetre(r.Volume).To(0))
		g.Rows = append(g.Rows, []string{r.Name, volume, d.tell(r.Required), commissioned, d.tell(r.Derivation)})
	}
	return []Block{g}
}

func (d airPart) sessions() []Block {
	g := Grid{Empty: "No session was held in this period.", File: "sessions.csv", Columns: []Column{{"No.", 1, right}, {"Begun", 3.2, left},
		{"Ended", 1.2, left}, {"Title, leader", 3.6, left}, {"Trays open min", 1.2, right}, {"proven min", 1.3, right},
		{"not proven min", 1.3, right}, {"incl. not known", 1.3, right}, {"Air lowest /h", 1.3, right}, {"typical /h", 1.4, right},
		{"Valid", 1.5, right}}}
	if len(d.Rooms) > 1 {
		g.Columns = slices.Insert(g.Columns, 1, Column{"Room", 2, left})
	}
	covered := d.coveredShare()
	for _, s := range d.Sessions {
		if g.full() {
			continue
		}
		ended := d.until(s.Begun, s.Ended)
		if s.Running {
			ended = d.say("runs, as of %s", d.until(s.Begun, s.AsOf))
		}
		cells := []string{strconv.Itoa(s.Number), d.moment(s.Begun), ended, titled(s), inMinutes(s.Uncovered),
			inMinutes(s.Uncovered - s.Unproven), inMinutes(s.Unproven), inMinutes(s.Unknown()), d.tenth(s.Lowest), d.tenth(s.Typical),
			covered[s.Number]}
		if len(d.Rooms) > 1 {
			cells = slices.Insert(cells, 1, d.roomName(s.Room))
		}
		g.Rows = append(g.Rows, cells)
	}
	blocks := []Block{}
	for _, r := range d.Rooms {
		if bars := d.airBars(r); len(bars.Bars) > 0 {
			blocks = append(blocks, bars)
		}
	}
	if blocks = append(blocks, g); len(d.Sessions) == 0 {
		return blocks
	}
	return append(blocks, announced("Times within sessions in which the air was not proven, with the readings that say so:",
		d.airStateGrid())...)
}

func titled(s Session) string {
	switch {
	case s.Leader == "":
		return s.Title
	case s.Title == "":
		return s.Leader
	}
	return s.Title + ", " + s.Leader
}

func (d composer) roomName(id string) string {
	for _, r := range d.Rooms {
		if r.ID == id {
			return r.Name
		}
	}
	return id
}

// coveredShare says for each session how much of all its channels was valid.
func (d airPart) coveredShare() map[int]string {
	required, valid := map[int]time.Duration{}, map[int]time.Duration{}
	for _, c := range d.Coverage {
		required[c.Session] += c.Required
		valid[c.Session] += c.Valid
	}
	shares := map[int]string{}
	for session, r := range required {
		if r > 0 {
			shares[session] = d.say("%.1f\u00a0%%", part(valid[session], r, 1))
		}
	}
	return shares
}

// part is a share in per cent, never rounded up to all of it: then nobody would look for the gap.
func part(of, whole time.Duration, decimals int) float64 {
	return short(100*float64(of)/float64(whole), decimals)
}

func short(share float64, decimals int) float64 {
	if share < 100 {
		share = min(share, 100-math.Pow10(-decimals))
	}
	return share
}

// mostBars is how many bars fit into a drawing; more sessions share one.
const mostBars = 60

// airBars draws the air changes of a room's sessions. Where several sessions share a
// bar, the lowest of them all stays visible.
func (d airPart) airBars(r Room) Bars {
	var sessions []Session
	for _, s := range d.Sessions {
		if s.Room == r.ID {
			sessions = append(sessions, s)
		}
	}
	bars := Bars{Title: d.say("Air changes an hour, %s: typical (bar) and lowest (mark) in each session", r.Name), Unit: "/h",
		Required: r.Changes, by: d.place()}
	each := (len(sessions) + mostBars - 1) / mostBars
	for group := range slices.Chunk(sessions, max(each, 1)) {
		b := Bar{Label: d.date(group[0].Begun)}
		var typical, lowest []float64
		for _, s := range group {
			if s.Typical != nil && s.Lowest != nil {
				typical, lowest = append(typical, *s.Typical), append(lowest, *s.Lowest)
			}
		}
		b.Typical, b.Lowest = Median(typical), atEnd(lowest, slices.Min)
		bars.Bars = append(bars.Bars, b)
	}
	if each > 1 {
		bars.Title = d.say("%s; one bar for %d sessions", bars.Title, each)
	}
	return bars
}

func (d airPart) coverage() []Block {
	channels := Grid{Empty: "No channel was in service in any session of this period.", File: "coverage.csv",
		Columns: []Column{{"Channel", 6, left}, {"Sessions", 1.3, right}, {"Required", 1.8, right}, {"Valid", 1.8, right},
			{"Missing", 1.6, right}, {"Share valid", 1.4, right}, {"Longest gap", 1.6, right}}}
	type sum struct {
		Coverage
		sessions int
	}
	var order []string
	sums := map[string]sum{}
	for _, c := range d.Coverage {
		s, known := sums[c.Channel]
		if !known {
			order = append(order, c.Channel)
		}
		s.Name, s.sessions = c.Name, s.sessions+1
		s.Required, s.Valid, s.Missing, s.Longest = s.Required+c.Required, s.Valid+c.Valid, s.Missing+c.Missing, max(s.Longest, c.Longest)
		sums[c.Channel] = s
	}
	for _, id := range order {
		s := sums[id]
		share := "–"
		if s.Required > 0 {
			share = d.say("%.2f\u00a0%%", part(s.Valid, s.Required, 2))
		}
		channels.Rows = append(channels.Rows, []string{s.Name, strconv.Itoa(s.sessions), Hours(s.Required), Hours(s.Valid), Hours(s.Missing),
			share, Hours(s.Longest)})
	}
	return append([]Block{channels.sharing(0)}, d.gapBlocks()...)
}

// shortGap is the length from which on a gap is listed in the document by itself.
const shortGap = time.Minute

func (d airPart) gapBlocks() []Block {
	names := map[string]string{}
	for _, c := range d.Coverage {
		names[c.Channel] = c.Name
	}
	g := Grid{Empty: "No gap in any session of this period.", File: "gaps.csv", Columns: []Column{{"Session", 1.2, right},
		{"Channel", 5, left}, {"Without a valid reading from", 3.5, left}, {"to", 1.2, left}, {"Lasted", 1.5, right}, {"Cause", 3, left}}}
	short, sum := 0, time.Duration(0)
	for _, p := range d.Gaps {
		if length := p.To.Sub(p.From); length < shortGap {
			short, sum = short+1, sum+length
			continue
		}
		g.Rows = append(g.Rows, []string{strconv.Itoa(p.Session), names[p.Channel], d.moment(p.From), d.until(p.From, p.To),
			Hours(p.To.Sub(p.From)), d.tell(p.Cause)})
	}
	g = g.sharing(1)
	if short == 0 {
		return []Block{g}
	}
	if len(g.Rows) == 0 {
		g.Empty = "No gap of a minute or more in any session of this period."
	}
	return []Block{g, Text(d.say("Not listed: %s (%s in all). Each is in gaps.csv with its cause, and counted above.",
		counted(short, "shorter gap"), Hours(sum)))}
}

// averages show, for each limit, the session with the worst average.
func (d airPart) averages() []Block {
	type key struct{ channel, limit string }
	worst := map[key]Average{}
	var order []key
	verdicts, said := map[key]map[string]int{}, map[string]phrase.Sentence{}
	for _, a := range d.Averages {
		k := key{a.Channel, a.Limit.String()}
		have, known := worst[k]
		if !known {
			order, verdicts[k] = append(order, k), map[string]int{}
		}
		verdicts[k][a.Verdict.String()]++
		said[a.Verdict.String()] = a.Verdict
		if !known || a.Low != nil && (have.Low == nil || *a.Low > *have.Low) {
			worst[k] = a
		}
	}
	g := Grid{Empty: "No gas was compared with a limit in any session of this period.", File: "averages.csv",
		Columns: []Column{{"Limit", 5, left}, {"Channel", 2.2, left}, {"Highest average of any session", 3, left},
			{"In session", 1.3, right}, {"Sessions by verdict", 3.5, left}}}
	for _, k := range order {
		a := worst[k]
		var counts []string
		for _, verdict := range slices.Sorted(maps.Keys(verdicts[k])) {
			counts = append(counts, fmt.Sprintf("%s: %d", d.tell(said[verdict]), verdicts[k][verdict]))
		}
		session := strconv.Itoa(a.Session)
		if a.Wide { // no session has the highest
			session = "–"
		}
		g.Rows = append(g.Rows, []string{phrase.Capital(d.tell(a.Limit)), a.Name, d.tell(a.Text), session, strings.Join(counts, ", ")})
	}
	return append([]Block{g, Text("An average is of the room's air at the sensor, over the time of the session alone; it is no " +
		"measurement of anybody's breathing exposure. Time without readings counts as zero at the lowest and as the end of the sensor's " +
		"range at the highest; without a configured range there is no highest value. \"Within the limit\" needs readings for at least " +
		"75 % of the averaging time, but for time that a statement covers.")}, d.statementBlocks()...)
}

// statementBlocks say by whose word time outside of a class counts as zero, and where.
func (d airPart) statementBlocks() []Block {
	rests := 0
	for _, a := range d.Averages {
		if a.Unexposed > 0 {
			rests++
		}
	}
	if rests == 0 && len(d.Statements) == 0 {
		return []Block{Text("Nobody stated that there was no exposure outside the class, so exposure outside the class is unknown.")}
	}
	g := Grid{File: "statements.csv", Columns: []Column{{"Stated", 3, left}, {"By", 2, left}, {"Room", 2, left},
		{"For classes from", 2.5, left}, {"What was stated", 4, left}, {"Why", 4, left}}}
	for _, s := range d.Statements {
		what := "nobody was exposed outside the class"
		if s.Withdrawn {
			what = "the statement is withdrawn"
		}
		g.Rows = append(g.Rows, []string{d.moment(s.On), s.By, d.roomName(s.Room), d.date(s.From), what, s.Why})
	}
	return []Block{Text(d.say("In %s over a working day, time outside of the class counts as zero by a statement, not by a measurement: "+
		"an average over 8 h divides by 8 h however long the class was (29 CFR 1910.1000(d)(1)(i)).", counted(rests, "average"))), g}
}

// airStateGrid lists the times within sessions in which the air was not proven, and why.
func (d airPart) airStateGrid() Grid {
	g := Grid{Empty: "In every session the airflow was proven throughout.", File: "air-states.csv",
		Columns: []Column{{"Session", 1.2, right}, {"From", 3.5, left}, {"to", 2, left}, {"Air", 2, left}, {"Why", 7, left}}}
	for _, s := range d.AirStates {
		if s.Session == 0 || s.Verdict == string(ventilation.IsProven) {
			continue
		}
		air := d.tell(s.State)
		if s.Verdict == string(ventilation.IsUnknown) {
			air = "not known"
		}
		g.Rows = append(g.Rows, []string{strconv.Itoa(s.Session), d.moment(s.From), d.ended(s), air, s.Cause})
	}
	return g
}

// ended is when a state of the air ended, as far as anybody knows.
func (d airPart) ended(s AirState) string {
	switch {
	case s.Stopped:
		return "not known: wetside stopped"
	case s.To.IsZero():
		return "lasts"
	}
	return d.until(s.From, s.To)
}
