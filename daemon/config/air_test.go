package config_test

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/config"
	"wetside/rules"
	"wetside/rules/breathing"
	"wetside/rules/session"
	"wetside/rules/ventilation"
	"wetside/sensors"
)

// proven is a room whose air was measured, with a gas sensor and a calendar.
const proven = good + `
[room.commissioned]
flow = "300 m3/h"
date = 2026-09-01
instrument = "hot-wire anemometer, number 12"
certificate = "C-77"
room-pressure = "-5 Pa"

[room.purge]
remove = 99
mixing = 3

[room.breathing]
limits = ["NIOSH"]

[[room.breathing.gas]]
channel = "acid"
detection = "0.1 ppm"
full-scale = "50 ppm"

[[room.session]]
title = "Beginners"
weekday = "Wednesday"
from = "18:00"
to = "21:00"

[[room.break]]
first = 2026-12-21
last = 2027-01-10

[[room.line]]
id = "gas"
port = "/dev/gas"
dialect = "text"

[[room.line.channel]]
id = "acid"
quantity = "acetic-acid"
address = "ACI"
unit = "ppm"

[[room.line.channel]]
id = "sulfur"
quantity = "sulfur-dioxide"
address = "SO2"
unit = "ppm"
`

func TestAProvenRoomIsReadAsItWasMeasured(t *testing.T) {
	c, err := config.Parse("x.toml", []byte(proven))
	require.NoError(t, err)
	r := c.Rooms[0]
	require.InDelta(t, 300, float64(r.Commissioned.Flow), 1e-9)
	require.Equal(t, "C-77", r.Commissioned.Certificate)
	usual, known := r.Commissioned.RoomPressure.Get()
	require.True(t, known)
	require.InDelta(t, -5, float64(usual), 1e-9)
	require.InDelta(t, 3, r.Airing.Mixing, 1e-9)
	require.Len(t, r.Gases, 2, "the sulfur dioxide channel joins by its quantity")
	require.Equal(t, "acetic acid", r.Gases[0].Agent.Name)
	require.InDelta(t, 0.1, r.Gases[0].Sensor.Detection, 1e-12)
	require.Positive(t, r.Gases[1].Sensor.Detection, "what no step shows is below a step, and not zero")
	require.InDelta(t, r.Gases[1].Sensor.Resolution, r.Gases[1].Sensor.Detection, 1e-12)
	require.InDelta(t, 50, r.Channels[slices.IndexFunc(r.Channels, func(c sensors.Channel) bool { return c.ID == "acid" })].Top, 1e-12)
	for _, g := range r.Gases {
		require.NotEmpty(t, g.Limits)
		for _, l := range g.Limits {
			require.Equal(t, "NIOSH", l.Jurisdiction)
		}
	}
	require.Equal(t, []session.Weekly{{Title: "Beginners", Weekday: time.Wednesday, From: 18 * 60, To: 21 * 60}}, r.Calendar.Weekly)
	require.Len(t, r.Calendar.Breaks, 1)
}

func TestMistakesAboutTheAirNameTheirPlace(t *testing.T) {
	for _, c := range []struct{ name, old, new, want string }{
		{"no certificate", "certificate = \"C-77\"\n", "", "room.commissioned.certificate: is missing"},
		{"no date", "date = 2026-09-01\n", "", "room.commissioned.date: is missing"},
		{"a flow of nothing", `flow = "300 m3/h"`, `flow = "0 m3/h"`, "room.commissioned.flow: expected"},
		{"all of the air removed", "remove = 99", "remove = 100", "room.purge.remove: 100 is out of range"},
		{"nobody's limits", `limits = ["NIOSH"]`, "", "room.breathing.limits: is missing"},
		{"limits of nowhere", `limits = ["NIOSH"]`, `limits = ["Atlantis"]`, "there is no limit for acetic acid"},
		{"a gas on a bath's channel", `channel = "acid"`, `channel = "dev"`, `no gas channel "dev"`},
		{"a file of limits that is not there", `limits = ["NIOSH"]`, "limits = [\"NIOSH\"]\nfile = \"none.toml\"",
			"room.breathing.file: the file can't be read"},
		{"a day of no week", "Wednesday", "Midweek", "room.session.weekday: \"Midweek\" is not a day"},
		{"an hour of no day", `from = "18:00"`, `from = "25:00"`, "room.session.from: \"25:00\" is not a time"},
		{"a break backwards", "last = 2027-01-10", "last = 2026-01-10", "room.break.last: a break has"},
		{"a hood on a bath's channel", "[room.purge]", "[room.hood]\nmiddle = \"dev\"\n\n[room.purge]",
			`room.hood.middle: this room has no channel "dev"`},
		{"a tray at the hood that there is not", "[room.purge]", "[room.hood]\nmiddle = \"hood\"\nleft-trays = [\"nowhere\"]\n\n[room.purge]",
			`room.hood.left-trays: this room has no bath "nowhere"`},
		{"an estimate of nothing", "[room.purge]", "[room.estimate]\non = true\n\n[room.purge]", "room.estimate.area: is missing"},
		{"a surface that nobody gave", `kind = "air changes"`, `kind = "flow a solution surface"`, "room.surface: is missing"},
		{"a make-up of too much", `kind = "air changes"`, "kind = \"make-up share\"\nvalue = 300\nsource = " +
			"\"invented\"\n[[room.required]]\nkind = \"air changes\"", "a make-up share of 300 % is not usable"},
		{"a shift without end", `limits = ["NIOSH"]`, "limits = [\"NIOSH\"]\nshift = \"30h\"", "room.breathing.shift: \"30h\" is not usable"},
		{"a slip of the pen", "mixing = 3", "mixin = 3", "room.purge.mixin: unknown key"},
	} {
		t.Run(c.name, func(t *testing.T) {
			require.Contains(t, proven, c.old)
			_, err := config.Parse("x.toml", []byte(strings.Replace(proven, c.old, c.new, 1)))
			require.ErrorContains(t, err, c.want)
		})
	}
}

func TestAPlaceMayHaveItsOwnLimits(t *testing.T) {
	dir := t.TempDir()
	own := `
[[agent]]
name = "acetic acid"
molar_mass = 60.05

[[limit]]
agent = "acetic acid"
jurisdiction = "House"
edition = "2026"
kind = "ceiling"
value = 5
unit = "ppm"
standing = "verified"
source = "invented decision of the place"
`
	require.NoError(t, os.WriteFile(filepath.Join(dir, "own.toml"), []byte(own), 0o600))
	text := strings.Replace(proven, `limits = ["NIOSH"]`, "limits = [\"House\"]\nfile = \"own.toml\"", 1)
	c, err := config.Parse(filepath.Join(dir, "x.toml"), []byte(text))
	require.NoError(t, err)
	require.Len(t, c.Rooms[0].Gases, 1)
	require.InDelta(t, 5, c.Rooms[0].Gases[0].Limits[0].Value, 1e-9)
}

func TestRowsOfEveryKindASupplyAndAnEstimateAreRead(t *testing.T) {
	text := strings.Replace(proven, `kind = "air changes"`, `kind = "flow a solution surface"
value = 889
source = "invented"
edition = "third"
effective = 2026-10-01

[[room.required]]
kind = "make-up share"
value = 90
source = "invented"

[[room.required]]
kind = "air changes"`, 1)
	text = strings.Replace(text, "[[room.required]]", "surface = \"0.75 m2\"\nsupply = \"blown-in\"\n\n[[room.required]]", 1)
	text = strings.Replace(text, "[room.purge]", "[room.estimate]\non = true\narea = \"0.2 m2\"\nacetic-acid = 10\n\n[room.purge]", 1)
	text = strings.Replace(text, `limits = ["NIOSH"]`, "limits = [\"OSHA\", \"NIOSH\"]\nshift = \"10h\"", 1)
	text += "\n[[room.line.channel]]\nid = \"blown-in\"\nquantity = \"volume-flow\"\naddress = \"SUP\"\nunit = \"m3/h\"\n"
	c, err := config.Parse("x.toml", []byte(text))
	require.NoError(t, err)
	r := c.Rooms[0]
	require.Equal(t, ventilation.SurfaceFlow, r.Required[0].Kind)
	require.Equal(t, "third", r.Required[0].Edition)
	require.Equal(t, ventilation.MakeUpShare, r.Required[1].Kind)
	require.InDelta(t, 0.75, float64(r.Surface), 1e-12)
	require.Equal(t, sensors.ChannelID("blown-in"), r.Supply)
	require.Equal(t, rules.Estimate{On: true, Area: 0.2, Strength: 10}, r.Estimate)
	lowered := 0
	for _, l := range breathing.InForce(r.Gases[0].Limits, time.Date(2026, 10, 1, 0, 0, 0, 0, time.UTC), r.Gases[0].Shift) {
		if l.Kind == breathing.LongTerm && l.Jurisdiction == "OSHA" {
			require.InDelta(t, 7, l.Value, 1e-9, "10 ppm times 0.7 for ten hours (Brief and Scala, from memory)")
			require.Equal(t, 10*time.Hour, l.Window)
			lowered++
		}
	}
	require.Equal(t, 1, lowered)
}
