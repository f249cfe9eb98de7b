package config_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/daemon/config"
	"wetside/sensors"
	"wetside/sensors/onewire"
	"wetside/sensors/serialport"
	"wetside/sensors/tcpport"
)

func TestALineIsOpenedByWhatItsPortNames(t *testing.T) {
	c, err := config.Load("../../configs/other-probes.toml")
	require.NoError(t, err)
	serial := serialport.New()
	want := map[sensors.LineID]sensors.Opener{"controller": tcpport.Opener{}, "duct": tcpport.Opener{}, "trays": onewire.Opener{}}
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
		{"an address without a port", "tcp://192.168.1.20", "text", `room.line.port: "tcp://192.168.1.20" is no address on the network`},
		{"1-Wire over the network", "tcp://192.168.1.20:502", "one-wire", `a 1-Wire bus is a folder of this computer`},
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
