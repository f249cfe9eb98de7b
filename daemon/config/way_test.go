package config_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/config"
	"wetside/sensors"
	"wetside/sensors/broker"
	"wetside/sensors/hidport"
	"wetside/sensors/onewire"
	"wetside/sensors/serialport"
	"wetside/sensors/tcpport"
)

func TestALineIsOpenedByWhatItsPortNames(t *testing.T) {
	c, err := config.Load("../../configs/other-probes.toml")
	require.NoError(t, err)
	serial := serialport.New()
	want := map[sensors.LineID]sensors.Opener{"controller": tcpport.Opener{}, "duct": tcpport.Opener{}, "trays": onewire.Opener{},
		"meter": hidport.Opener{},
		"radio": broker.Opener{Topics: []string{"darkroom/air"}}}
	for _, l := range c.Rooms[0].Lines {
		require.Equal(t, want[l.ID], l.Opener(serial), l.ID)
		require.False(t, l.Serial(), l.ID)
		require.Equal(t, l.Settings.Path, l.Way())
	}
	c, err = config.Load("../../configs/one-room.toml")
	require.NoError(t, err)
	for _, l := range c.Rooms[0].Lines {
		require.Same(t, serial, l.Opener(serial), l.ID)
		require.True(t, l.Serial(), l.ID)
	}
}

func TestAPortThatDoesNotFitItsDialectIsExplained(t *testing.T) {
	for _, c := range []struct{ name, port, dialect, want string }{
		{"Modbus TCP on a serial port", "/dev/trays", "modbus-tcp", `"/dev/trays" is a serial port: Modbus TCP needs an address on the network`},
		{"an address without a port", "tcp://192.168.1.20", "text", `room.line.port: "tcp://192.168.1.20" is not a network address`},
		{"1-Wire over the network", "tcp://192.168.1.20:502", "one-wire", `a 1-Wire bus is a folder of this computer`},
		{"a CO2 meter on the network", "tcp://192.168.1.20:502", "co2-meter", `a CO2 meter is a device of this computer`},
		{"a speed on the network", "tcp://192.168.1.20:502", "text", "room.line.baud: unknown key"},
	} {
		t.Run(c.name, func(t *testing.T) {
			text := strings.NewReplacer(`"text"`, `"`+c.dialect+`"`, `"/dev/trays"`, `"`+c.port+`"`).Replace(good)
			require.Contains(t, text, c.port)
			_, err := config.Parse("x.toml", []byte(text))
			require.ErrorContains(t, err, c.want)
		})
	}
}

// onBroker is a line at a broker; each case breaks one thing in it.
const onBroker = `[[room]]
id = "a"
volume = "30 m3"

[[room.line]]
id = "radio"
port = "mqtts://broker.example.org"
dialect = "mqtt"
silence = "10m"

[[room.line.channel]]
id = "air"
quantity = "air-temperature"
topic = "darkroom/air"
unit = "C"
`

func TestALineAtABrokerIsExplained(t *testing.T) {
	secret := filepath.Join(t.TempDir(), "password")
	require.NoError(t, os.WriteFile(secret, []byte("an invented password\n"), 0o600))
	with := func(from, to string) string { return strings.Replace(onBroker, from, to, 1) }
	shown := "dialect = \"mqtt\"\nuser = \"wetside\"\npassword-file = '" + secret + "'"

	c, err := config.Parse("x.toml", []byte(with(`dialect = "mqtt"`, shown)))
	require.NoError(t, err)
	line := c.Rooms[0].Lines[0]
	require.Equal(t, broker.Opener{Topics: []string{"darkroom/air"}, User: "wetside", Password: "an invented password"}, line.Opener(nil))
	require.Equal(t, 10*time.Minute, line.Channels["darkroom/air"].Silence, "a probe may speak as seldom as its line says")

	for _, c := range []struct{ name, text, want string }{
		{"no address", with("mqtts://broker.example.org", "broker"), `x.toml:7:1: room.line.port: "broker" is not the address of a broker`},
		{"how seldom is not said", with(`silence = "10m"`, ""), "room.line.silence: is missing"},
		{"many topics at once", with("darkroom/air", "darkroom/+"), `"darkroom/+" is not the topic of one probe`},
		{"no topic", with(`topic = "darkroom/air"`, ""), "room.line.channel.topic: is missing"},
		{"a password without a user", with(`dialect = "mqtt"`, strings.Replace(shown, `user = "wetside"`, "", 1)), "room.line.user: is missing"},
		{"a password that everybody can read", strings.Replace(with(`dialect = "mqtt"`, shown), "mqtts:", "mqtt:", 1),
			"everybody on the network could read the password"},
		{"no such password", with(`dialect = "mqtt"`, "dialect = \"mqtt\"\npassword-file = '/none'"), "room.line.password-file: can't be read"},
		{"no certificates", with(`dialect = "mqtt"`, "dialect = \"mqtt\"\nca-file = '"+secret+"'"), "expected certificates in PEM form"},
		{"a speed", with(`dialect = "mqtt"`, "dialect = \"mqtt\"\nbaud = 9600"), "room.line.baud: unknown key"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := config.Parse("x.toml", []byte(c.text))
			require.ErrorContains(t, err, c.want)
			require.NotContains(t, err.Error(), "an invented password")
		})
	}
}

func TestAUnitThatIsNoneIsExplained(t *testing.T) {
	text, err := os.ReadFile("../../configs/other-probes.toml")
	require.NoError(t, err)
	for unit, want := range map[string]string{"250": "250 is out of range: expected 1 to 247, or with modbus-tcp 255",
		"256": "256 is out of range"} {
		_, err = config.Parse("x.toml", []byte(strings.Replace(string(text), "modbus-unit = 1 ", "modbus-unit = "+unit+" ", 1)))
		require.ErrorContains(t, err, want)
	}
	_, err = config.Parse("x.toml", []byte(strings.Replace(string(text), "modbus-unit = 1 ", "modbus-unit = 255 ", 1)))
	require.NoError(t, err)
	_, err = config.Parse("x.toml", []byte(strings.Replace(string(text), "modbus-unit = 3\n", "modbus-unit = 255\n", 1)))
	require.ErrorContains(t, err, "255 is out of range", "a serial line has no such unit, wherever it is")
}
