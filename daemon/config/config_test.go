package config_test

import (
	"errors"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/daemon/config"
	"wetside/sensors"
)

func TestEveryExampleOfTheConfigsFolderLoads(t *testing.T) {
	for _, file := range []string{"one-room.toml", "two-rooms.toml", "other-probes.toml", "demo.toml"} {
		t.Run(file, func(t *testing.T) {
			c, err := config.Load(filepath.Join("..", "..", "configs", file))
			require.NoError(t, err)
			require.NotEmpty(t, c.Rooms)
			for _, r := range c.Rooms {
				for _, l := range r.Lines {
					_, err := l.Decoder()
					require.NoError(t, err)
					require.NotEmpty(t, l.Channels)
				}
			}
		})
	}
}

// TestEveryCommentedExampleIsOneThatIsKnown takes the marks of the comments away: what
// is offered to be copied may ask for more to be filled in, but is never unknown.
func TestEveryCommentedExampleIsOneThatIsKnown(t *testing.T) {
	for file, least := range map[string]struct{ examples, problems int }{"one-room.toml": {80, 3}, "other-probes.toml": {3, 2}} {
		text, err := os.ReadFile(filepath.Join("..", "..", "configs", file))
		require.NoError(t, err)
		example := regexp.MustCompile(`(?m)^# ?(\[+[a-z.-]+\]+|[a-z-]+ = )`)
		require.GreaterOrEqual(t, len(example.FindAll(text, -1)), least.examples)
		_, err = config.Parse(file, example.ReplaceAll(text, []byte("$1")))
		problems, read := errors.AsType[config.Problems](err)
		require.True(t, read, "the examples name probes and files that are not there")
		require.GreaterOrEqual(t, len(problems), least.problems, "the whole file was read")
		for _, p := range problems {
			require.NotContains(t, p.Text, "unknown key", p.String())
			require.NotContains(t, p.Text, "is missing", p.String())
		}
	}
}

func TestAFileIsReadAsAPersonMeantIt(t *testing.T) {
	c, err := config.Load(filepath.Join("..", "..", "configs", "one-room.toml"))
	require.NoError(t, err)
	room := c.Rooms[0]
	require.InDelta(t, 30, float64(room.Volume), 1e-9)
	require.InDelta(t, 0.017671, float64(room.Duct.Area), 1e-6, "a duct of 15 cm across")
	require.Equal(t, "/dev/serial/by-id/usb-duct-probe", room.Lines[1].Settings.Path)
	require.Equal(t, sensors.Parity('E'), room.Lines[1].Settings.Parity)
	require.Equal(t, 8, room.Lines[1].Settings.DataBits)
	require.Equal(t, []sensors.ChannelID{"developer-tray", "stop-bath-tray", "fixer-tray", "duct-velocity"}, ids(room))
	require.True(t, room.Baths[0].Developing.Known())
	require.True(t, room.Baths[0].HydroquinoneFloor)
}

func ids(r config.Room) []sensors.ChannelID {
	var list []sensors.ChannelID
	for _, c := range r.Channels {
		list = append(list, c.ID)
	}
	return list
}

// good is a small file that is right; each case breaks one thing in it.
const good = `[site]
listen = "127.0.0.1:8420"

[[room]]
id = "a"
volume = "30 m3"

[[room.required]]
kind = "air changes"
value = 6
source = "house rule"

[[room.line]]
id = "trays"
port = "/dev/trays"
baud = 9600
dialect = "text"

[[room.line.channel]]
id = "dev"
quantity = "bath-temperature"
address = "DEV"
unit = "C"

[[room.bath]]
id = "developer"
role = "developer"
channel = "dev"
`

// TestAMisspeltHeadingIsTheOnlyMistake misspells one heading of two: what stands below it is read as a part of
// another table, and none of that is what the person has to mend.
func TestAMisspeltHeadingIsTheOnlyMistake(t *testing.T) {
	line := good[strings.Index(good, "[[room.line]]"):strings.Index(good, "[[room.bath]]")]
	second := strings.NewReplacer("trays", "more", `"dev"`, `"stop"`).Replace(line)
	two := strings.Replace(good, line, line+second, 1)
	_, err := config.Parse("x.toml", []byte(two))
	require.NoError(t, err)
	unknown := func(text, old, new string) string { return strings.Replace(text, old, new, 1) }
	for _, c := range []struct{ name, text, want string }{
		{"the first line", unknown(two, "[[room.line]]", "[[rooms.line]]"),
			"x.toml:13:9: rooms.line: expected [[room.line]] here, as [[room.line.channel]] follows"},
		{"the second line", unknown(two, second, unknown(second, "[[room.line]]", "[[rooms.line]]")),
			"x.toml:25:3: rooms: unknown key; allowed here: access"},
		{"the room", unknown(two, "[[room]]", "[[rooms]]"), "x.toml:4:3: rooms: unknown key; allowed here: access"},
		{"a channel", unknown(two, "[[room.line.channel]]", "[[room.line.chanel]]"),
			"x.toml:19:13: room.line.chanel: unknown key; allowed here: baud, channel"},
		{"one bracket in the second line", unknown(two, second, unknown(second, "[[room.line]]", "[room.line]")),
			"x.toml:25:2: table line already exists as an array of tables: a list of tables has two brackets in every heading"},
	} {
		_, err := config.Parse("x.toml", []byte(c.text))
		problems, is := errors.AsType[config.Problems](err)
		require.True(t, is, c.name)
		require.Len(t, problems, 1, "%s: %v", c.name, err)
		require.Contains(t, problems[0].String(), c.want, c.name)
	}
}

// The wash is running water: its probe is one of water, which no tray's is.
func TestAProbeOfWaterBelongsToTheWashAlone(t *testing.T) {
	with := func(role string) error {
		_, err := config.Parse("x.toml", []byte(strings.NewReplacer("bath-temperature", "water-temperature",
			`role = "developer"`, `role = "`+role+`"`).Replace(good)))
		return err
	}
	require.NoError(t, with("wash"))
	require.ErrorContains(t, with("fixer"), `channel "dev" measures water-temperature: expected bath-temperature`)
}

func TestEveryMistakeNamesItsPlaceAndWhatIsAllowed(t *testing.T) {
	_, err := config.Parse("good.toml", []byte(good))
	require.NoError(t, err)
	for _, c := range []struct{ name, old, new, want string }{
		{"a typing mistake in a key", "baud = 9600", "buad = 9600", "x.toml:16:1: room.line.buad: unknown key; allowed here: baud"},
		{"a number in quotation marks", "baud = 9600", `baud = "fast"`, "x.toml:16:1: room.line.baud: expected a number, found a text"},
		{"a speed that no port has", "baud = 9600", "baud = 9601", "x.toml:16:1: room.line.baud: "},
		{"an unknown dialect", `dialect = "text"`, `dialect = "morse"`,
			`x.toml:17:1: room.line.dialect: unknown dialect "morse": expected one of text, xdr, modbus, modbus-tcp, one-wire`},
		{"a unit of another quantity", `unit = "C"`, `unit = "Pa"`,
			`x.toml:23:1: room.line.channel.unit: "Pa" is not a unit of temperature: expected one of C, F, K`},
		{"an unknown quantity", `"bath-temperature"`, `"bathtemp"`,
			`x.toml:21:1: room.line.channel.quantity: unknown quantity "bathtemp": expected one of bath-temperature`},
		{"a volume without unit", `volume = "30 m3"`, `volume = "30"`,
			`x.toml:6:1: room.volume: "30" has no unit: expected a room volume in one of m3 ft3`},
		{"a volume of nothing", `volume = "30 m3"`, `volume = "0 m3"`, "x.toml:6:1: room.volume: expected a room volume of more than zero"},
		{"no volume at all", "volume = \"30 m3\"\n", "", `x.toml:4:3: room.volume: is missing: write volume = "..."`},
		{"a requirement without source", "source = \"house rule\"\n", "", `x.toml:8:8: room.required.source: is missing`},
		{"a bath on a channel that is not there", `channel = "dev"`, `channel = "dve"`,
			`x.toml:28:1: room.bath.channel: no line of this room has a channel "dve"`},
		{"a listen address without port", "127.0.0.1:8420", "localhost", `x.toml:2:1: site.listen: "localhost" is not an address`},
		{"a file that is not TOML", "[site]", "[site", "x.toml:1:"},
		{"a path of Windows", `"127.0.0.1:8420"`, `"C:\users\lab"`,
			`a path with backslashes stands between single quotes, such as 'C:\wetside\data'`},
		{"a text without quotation marks", `volume = "30 m3"`, "volume = 30 m3", `stands between straight quotation marks, such as "30 m3"`},
		{"quotation marks of a text program", `volume = "30 m3"`, "volume = “30 m3”", `stands between straight quotation marks`},
		{"a heading with one bracket", "[[room.bath]]", "[room.bath]\n[[room.bath]]", "a heading above it is misspelt, or has one bracket"},
		{"a folder that only a shell knows", "[site]", "[site]\ndata = \"~/wetside\"", `x.toml:2:1: site.data: "~/wetside" stays as it is`},
		{"a file of another coding", "[site]", "\xff\xfe[site]", "saved as UTF-16: save it as UTF-8"},
		{"a key given twice", "baud = 9600", "baud = 9600\nbaud = 4800", "x.toml:17:1:"},
	} {
		t.Run(c.name, func(t *testing.T) {
			require.Contains(t, good, c.old)
			_, err := config.Parse("x.toml", []byte(strings.Replace(good, c.old, c.new, 1)))
			require.ErrorContains(t, err, c.want)
		})
	}
}

func TestAFileMayBeginWithTheMarkOfAnEditor(t *testing.T) {
	_, err := config.Parse("x.toml", []byte("\xef\xbb\xbf"+good))
	require.NoError(t, err)
}

func TestAllMistakesOfAFileComeAtOnceInTheOrderOfItsLines(t *testing.T) {
	text := strings.NewReplacer("baud = 9600", "buad = 9600", `"text"`, `"morse"`, `"30 m3"`, `"big"`).Replace(good)
	_, err := config.Parse("x.toml", []byte(text))
	var problems config.Problems
	require.ErrorAs(t, err, &problems)
	require.Equal(t, []int{6, 16, 17}, []int{problems[0].Line, problems[1].Line, problems[2].Line})
}

func TestTwoThingsOfOneNameAreRefused(t *testing.T) {
	twice := good + good[strings.Index(good, "[[room]]"):]
	_, err := config.Parse("x.toml", []byte(twice))
	require.ErrorContains(t, err, `x.toml:30:1: room.id: the room "a" is described twice`)
	require.ErrorContains(t, err, `the port "/dev/trays" is described twice`)
}

func TestAMissingFileIsSaidInOneSentence(t *testing.T) {
	_, err := config.Load(filepath.Join(t.TempDir(), "none.toml"))
	require.ErrorIs(t, err, os.ErrNotExist)
}

func TestAWebhookNeedsAnAddressAndASecretInAFileOfItsOwn(t *testing.T) {
	secret := filepath.Join(t.TempDir(), "secret")
	require.NoError(t, os.WriteFile(secret, []byte("an invented secret\n"), 0o600))
	hook := func(url, file string) string {
		return good + "\n[webhook]\nurl = \"" + url + "\"\nsecret-file = '" + file + "'\n"
	}
	c, err := config.Parse("x.toml", []byte(hook("https://alarms.example.org/a", secret)))
	require.NoError(t, err)
	require.Equal(t, config.Webhook{URL: "https://alarms.example.org/a", Secret: []byte("an invented secret")}, c.Webhook)

	_, err = config.Parse("x.toml", []byte(hook("alarms.example.org", secret)))
	require.ErrorContains(t, err, "x.toml:31:1: webhook.url: ")
	_, err = config.Parse("x.toml", []byte(hook("https://alarms.example.org", secret+".none")))
	require.ErrorContains(t, err, "x.toml:32:1: webhook.secret-file: can't be read")
	require.NoError(t, os.WriteFile(secret, []byte("short"), 0o600))
	_, err = config.Parse("x.toml", []byte(hook("https://alarms.example.org", secret)))
	require.ErrorContains(t, err, "expected at least 16")
}

func FuzzParse(f *testing.F) {
	f.Add([]byte(good))
	for _, file := range []string{"one-room.toml", "two-rooms.toml", "other-probes.toml", "demo.toml"} {
		data, err := os.ReadFile(filepath.Join("..", "..", "configs", file))
		require.NoError(f, err)
		f.Add(data)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		c, err := config.Parse("x.toml", data)
		if err != nil {
			require.NotEmpty(t, err.Error())
			return
		}
		require.NotEmpty(t, c.Rooms)
		require.NotEmpty(t, c.Listen)
	})
}

func TestTheDecimalSignIsTheOneThatThePlaceWrites(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "..", "configs", "one-room.toml"))
	require.NoError(t, err)
	for sign, comma := range map[string]bool{"point": false, "comma": true} {
		c, err := config.Parse("site.toml", []byte(strings.Replace(string(text), `decimal = "point"`, `decimal = "`+sign+`"`, 1)))
		require.NoError(t, err)
		require.Equal(t, comma, c.Units.DecimalComma)
	}
	_, err = config.Parse("site.toml", []byte(strings.Replace(string(text), `decimal = "point"`, `decimal = ";"`, 1)))
	require.ErrorContains(t, err, `units.decimal: ";" is not usable: expected point or comma`)
}

func TestThePaperIsTheOneThatThePlacePrintsOn(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "..", "configs", "one-room.toml"))
	require.NoError(t, err)
	for paper, letter := range map[string]bool{"A4": false, "letter": true} {
		c, err := config.Parse("site.toml", []byte(strings.Replace(string(text), `paper = "A4"`, `paper = "`+paper+`"`, 1)))
		require.NoError(t, err)
		require.Equal(t, letter, c.Units.Letter)
	}
	_, err = config.Parse("site.toml", []byte(strings.Replace(string(text), `paper = "A4"`, `paper = "A5"`, 1)))
	require.ErrorContains(t, err, `units.paper: "A5" is not usable: expected A4 or letter`)
}
