package report

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// settingsPart lays out the settings and what changed them.
type settingsPart struct{ composer }

// blocks tell what was changed in the time, and what was in force at its end.
func (d settingsPart) blocks() []Block {
	if len(d.Settings) == 0 {
		return []Block{d.changeGrid(), Text("The settings of this period were not recorded.")}
	}
	return []Block{d.changeGrid(), Text("In force at the end of the period:"), d.channelGrid(), d.bathGrid(),
		Text("Required ventilation is under Rooms, limits are under Gases, tasks under Duties. The tables settings.csv and " +
			"settings-changed.csv have every setting with all its digits, and since when it holds.")}
}

func (d settingsPart) channelGrid() Grid {
	g := Grid{Empty: "No channel was in service.", File: "settings.csv", Columns: []Column{{"Channel", 4, left}, {"Measures", 4, left},
		{"Plausible", 4, left}, {"Missing without a reading for", 3, left}}}
	for _, r := range d.Rooms {
		for _, c := range r.Channels {
			plausible := "on or off"
			if c.Unit != "" {
				plausible = d.say("%s to %s", c.Low, c.High)
			}
			g.Rows = append(g.Rows, []string{d.inRoom(r, c.Name), c.Measures, plausible, d.say("%.0f s", c.Silence.Seconds())})
		}
	}
	return g.sharing(0)
}

func (d settingsPart) bathGrid() Grid {
	g := Grid{Empty: "No bath is set up.", File: "settings.csv", Columns: []Column{{"Bath", 4, left}, {"Wanted temperature", 4, left},
		{"Thermometer", 7, left}}}
	for _, r := range d.Rooms {
		for _, b := range r.Baths {
			wanted, thermometer := d.tell(b.Range), b.Channel
			if b.Range.IsZero() {
				wanted = "not set"
			}
			thermometer = cmp.Or(thermometer, "none")
			g.Rows = append(g.Rows, []string{d.inRoom(r, b.Name), wanted, thermometer})
		}
	}
	return g
}

// inRoom names something of a room, with the room where there are several.
func (d settingsPart) inRoom(r Room, name string) string {
	if len(d.Rooms) < 2 {
		return name
	}
	return r.Name + ", " + name
}

// changeGrid lists what was changed; what was added in one act stands in one row.
func (d settingsPart) changeGrid() Grid {
	g := Grid{Empty: "No setting was changed in this period.", File: "settings-changed.csv", Columns: []Column{{"Changed", 3, left},
		{"Setting", 4, left}, {"Was", 2.4, left}, {"Became", 4, left}, {"Record", 1.1, right}, {"By, and why", 3, left}}}
	for _, c := range d.Changes {
		group, name := d.settingName(c.Name)
		by := joined(cmp.Or(c.By, "configuration file"), c.Why)
		if part, of := commissioning(c.Name); of {
			row := []string{d.moment(c.At), group, "", "", reference(c.Record), by}
			if n := len(g.Rows); n == 0 || !slices.Equal(g.Rows[n-1][:2], row[:2]) || g.Rows[n-1][4] != row[4] {
				g.Rows = append(g.Rows, row)
			}
			row = g.Rows[len(g.Rows)-1]
			row[2], row[3] = joined(row[2], d.commissioned(part, c.Was)), joined(row[3], d.commissioned(part, c.Now))
			continue
		}
		was, became := d.settingValue(c.Was), d.settingValue(c.Now)
		switch {
		case c.Now == "":
			became = "removed"
		case c.Was == "":
			was, became = "not set", name+" "+became
		}
		row := []string{d.moment(c.At), group, was, became, reference(c.Record), by}
		if c.Was != "" {
			row[1] = strings.TrimPrefix(group+": "+name, ": ")
		} else if n := len(g.Rows); n > 0 && slices.Equal(g.Rows[n-1][:3], row[:3]) && g.Rows[n-1][4] == row[4] {
			g.Rows[n-1][3] += "; " + became
			continue
		}
		g.Rows = append(g.Rows, row)
	}
	return g
}

// commissioning says which part of a commissioning a setting is: what one traverse found stands in one row.
func commissioning(name string) (part string, of bool) {
	_, part, of = strings.Cut(name, " / commissioned / ")
	return part, of
}

// commissioned writes one part of a commissioning; nothing for the number of its record.
func (d settingsPart) commissioned(part, value string) string {
	t, err := time.Parse(time.RFC3339, value)
	v, unread := strconv.ParseFloat(value, 64)
	switch {
	case value == "" || part == "record":
		return ""
	case part == "flow m3 per h" && unread == nil:
		return quantity.Trimmed(v, 0) + " m³/h"
	case part == "uncertainty percent" && unread == nil:
		return "± " + d.place().Sign(quantity.Trimmed(v, 1)) + " %"
	case err != nil:
		return value
	case part == "next":
		return d.say("next by %s", d.date(t))
	}
	return d.date(t)
}

// settingGroups are the words for the steps of a setting's name that are keys; an empty one is left out.
func settingGroups() map[string]string {
	return map[string]string{"channels": "", "gases": "", "baths": "bath", "limits": "limit", "required": "required ventilation",
		"duties": "duty", "keeping": "readings to keep", "corrections": "correction", "apart": "probe that is not in the exhaust duct",
		"unexposed": "statement on exposure"}
}

// settingUnits are the ends of the names of settings that are units, as people read them.
func settingUnits() [][2]string {
	return [][2]string{{" m3 per h", " (m³/h)"}, {" m3", " (m³)"}, {" m2", " (m²)"}, {" m", " (m)"}, {" s", " (s)"}, {" c", " (°C)"},
		{" ppm", " (ppm)"}, {" percent", " (%)"}, {" minutes", " (min)"}}
}

// settingName parts the name of a setting into what it belongs to and what it is, in words.
func (d settingsPart) settingName(name string) (group, last string) {
	steps := strings.Split(name, " / ")
	last = steps[len(steps)-1]
	for _, unit := range settingUnits() {
		if whole, is := strings.CutSuffix(last, unit[0]); is {
			last = whole + unit[1]
			break
		}
	}
	var words []string
	for i, step := range steps[:len(steps)-1] {
		word, key := settingGroups()[step]
		switch {
		case key && word == "" || i == 0 && step == "rooms":
			continue
		case !key:
			word = d.settingOf(step)
		}
		if word != "" {
			words = append(words, word)
		}
	}
	switch {
	case len(words) > 0:
		return phrase.Capital(strings.Join(words, " ")), last
	case steps[0] == "rooms":
		return "Room", last
	}
	return "Site", last
}

// settingOf is what people call what a setting belongs to; nothing for the only room.
func (d settingsPart) settingOf(id string) string {
	for _, r := range d.Rooms {
		if r.ID == id && len(d.Rooms) < 2 {
			return ""
		}
		if r.ID == id {
			return r.Name + ":"
		}
		for _, c := range r.Channels {
			if c.ID == id {
				return c.Name
			}
		}
		for _, b := range r.Baths {
			if b.ID == id {
				return b.Name
			}
		}
	}
	return id
}

// settingValue writes a value for people: a moment as they read it, a figure with four digits.
func (d settingsPart) settingValue(value string) string {
	if t, err := time.Parse(time.RFC3339, value); err == nil {
		return d.moment(t)
	}
	if v, err := strconv.ParseFloat(value, 64); err == nil && len(value) > 6 && v != 0 {
		return d.place().Sign(quantity.Trimmed(v, max(0, 4-int(math.Ceil(math.Log10(math.Abs(v)))))))
	}
	return value
}
