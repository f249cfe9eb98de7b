package config_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/daemon/config"
	"wetside/rules"
	"wetside/sensors"
	"wetside/sensors/dialect"
	"wetside/sensors/discover"
)

func heard(address, unit string) discover.Channel {
	return discover.Channel{Address: address, Unit: unit}
}

func draft() discover.Draft {
	return discover.Draft{Room: "Dunkelkammer Ä", Volume: "30 m3", Floor: "12 m2", Duct: "15 cm", Lines: []discover.DraftLine{
		{Heard: discover.Heard{Port: "/dev/serial/by-id/usb-a", Baud: 9600, Dialect: "text"}, Keep: []discover.DraftChannel{
			{Channel: heard("DEV", "C"), Name: "Developer", Kind: sensors.BathTemperature, Role: "developer"},
			{Channel: heard("FIX", "C"), Name: "Developer", Kind: sensors.BathTemperature, Role: "fixer"},
			{Channel: heard("FAN", ""), Name: "山", Kind: sensors.FanCommand},
		}},
		{Heard: discover.Heard{Port: "/dev/serial/by-path/usb-a", Baud: 4800, Dialect: "xdr"}, Keep: []discover.DraftChannel{
			{Channel: heard("V", "m/s"), Name: "Duct \"A\"", Kind: sensors.DuctVelocity}}},
	}}
}

func written(d discover.Draft) ([]byte, error) { return config.First("127.0.0.1:8420", "data", d) }

func TestADraftIsAConfigurationOfTheRoomAsItWasHeard(t *testing.T) {
	text, err := written(draft())
	require.NoError(t, err)
	c, err := config.Parse("x.toml", text)
	require.NoError(t, err, string(text))
	require.Len(t, c.Rooms, 1)
	room := c.Rooms[0]
	require.Equal(t, "Dunkelkammer Ä", room.Name)
	require.InDelta(t, 30, float64(room.Volume), 1e-9)
	require.Len(t, room.Lines, 2)
	require.NotEqual(t, room.Lines[0].ID, room.Lines[1].ID)
	require.Len(t, room.Channels, 4)
	require.Len(t, room.Baths, 2)
	require.Equal(t, rules.Developer, room.Baths[0].Role)
	require.False(t, room.Baths[0].Developing.Known(), "no time of development is ever guessed")
	require.Equal(t, 4800, room.Lines[1].Settings.Baud)
}

// Probes come in the order of their names; a sheet goes through the trays in another one, and people call a tray by its bath.
func TestTheBathsOfADraftAreInTrayOrderAndCalledAsTheyAre(t *testing.T) {
	d := draft()
	d.Lines[0].Keep = nil
	for _, of := range [][2]string{{"DEV", "developer"}, {"FX1", "fixer"}, {"FX2", "fixer"}, {"STP", "stop bath"}} {
		d.Lines[0].Keep = append(d.Lines[0].Keep, discover.DraftChannel{Channel: heard(of[0], "C"), Name: of[0],
			Kind: sensors.BathTemperature, Role: of[1]})
	}
	d.Lines[0].Keep[3].Name = "Acid tray"
	text, err := written(d)
	require.NoError(t, err)
	c, err := config.Parse("x.toml", text)
	require.NoError(t, err)
	var said []string
	for _, b := range c.Rooms[0].Baths {
		said = append(said, b.Name+" by "+string(b.Channel))
	}
	require.Equal(t, []string{"Developer by dev", "Acid tray by acid-tray", "Fixer by fx1", "Fixer 2 by fx2"}, said)
}

func TestADraftWithoutAVolumeSaysWhatIsMissing(t *testing.T) {
	d := draft()
	d.Volume = "30"
	_, err := written(d)
	require.ErrorContains(t, err, "volume")
}

func TestNamesOfAnyScriptGiveConfigurationsThatLoad(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := draft()
		name := rapid.StringOfN(rapid.RuneFrom([]rune("aZ09 -_äß山\"'\\=[]#\u0301")), 1, 50, -1)
		d.Room = name.Filter(func(s string) bool { return len(s) > 0 && s[0] != ' ' }).Draw(t, "room")
		for i := range d.Lines[0].Keep {
			d.Lines[0].Keep[i].Name = d.Room
		}
		text, err := written(d)
		if err != nil {
			require.ErrorContains(t, err, "name", string(text)) // a name may be refused, in words
		}
	})
}

func TestADraftOfAModbusLineKeepsItsRegistersAndItsFormat(t *testing.T) {
	d := draft()
	register := dialect.Register{Unit: 7, Table: dialect.Input, Number: 30, Type: dialect.S32, Order: dialect.LowFirst, Scale: 0.1}
	fan := dialect.Register{Unit: 7, Table: dialect.Holding, Number: 1, Type: dialect.U16, Order: dialect.HighFirst, Scale: 1}
	d.Lines = []discover.DraftLine{{Heard: discover.Heard{Port: "/dev/ttyUSB0", Baud: 19200, Format: "8E1", Dialect: "modbus"},
		Keep: []discover.DraftChannel{
			{Channel: discover.Channel{Address: register.Address(), Unit: "m/s", Register: &register}, Name: "Duct", Kind: sensors.DuctVelocity},
			{Channel: discover.Channel{Register: &fan}, Name: "Fan", Kind: sensors.FanCommand},
		}}}
	text, err := written(d)
	require.NoError(t, err)
	c, err := config.Parse("x.toml", text)
	require.NoError(t, err, string(text))
	line := c.Rooms[0].Lines[0]
	require.Equal(t, config.Modbus, line.Dialect)
	require.Equal(t, sensors.LineSettings{Path: "/dev/ttyUSB0", Baud: 19200, DataBits: 8, Parity: 'E', StopBits: 1}, line.Settings)
	require.Equal(t, []string{"7:input:30", "7:holding:1"}, line.Addresses())
	require.Contains(t, string(text), "words = 'low-first'")
}
