package config_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/daemon/config"
	"wetside/rules"
	"wetside/sensors"
	"wetside/sensors/dialect"
)

func draft() config.Draft {
	return config.Draft{Listen: "127.0.0.1:8420", Data: "data", Room: "Dunkelkammer Ä", Volume: "30 m3", Floor: "12 m2", Duct: "15 cm",
		Lines: []config.DraftLine{
			{Name: "trays", Port: "/dev/serial/by-id/usb-a", Baud: 9600, Dialect: "text", Channels: []config.DraftChannel{
				{Name: "Developer", Address: "DEV", Unit: "C", Kind: sensors.BathTemperature, Role: "developer"},
				{Name: "Developer", Address: "FIX", Unit: "C", Kind: sensors.BathTemperature, Role: "fixer"},
				{Name: "山", Address: "FAN", Kind: sensors.FanCommand},
			}},
			{Name: "trays", Port: "COM7", Baud: 4800, Dialect: "xdr", Channels: []config.DraftChannel{{Name: "Duct \"A\"", Address: "V",
				Unit: "m/s", Kind: sensors.DuctVelocity}}},
		}}
}

func TestADraftIsAConfigurationOfTheRoomAsItWasHeard(t *testing.T) {
	text, err := draft().Text()
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

func TestADraftWithoutAVolumeSaysWhatIsMissing(t *testing.T) {
	d := draft()
	d.Volume = "30"
	_, err := d.Text()
	require.ErrorContains(t, err, "volume")
}

func TestNamesOfAnyScriptGiveConfigurationsThatLoad(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := draft()
		name := rapid.StringOfN(rapid.RuneFrom([]rune("aZ09 -_äß山\"'\\=[]#\u0301")), 1, 50, -1)
		d.Room = name.Filter(func(s string) bool { return len(s) > 0 && s[0] != ' ' }).Draw(t, "room")
		for i := range d.Lines[0].Channels {
			d.Lines[0].Channels[i].Name = d.Room
		}
		text, err := d.Text()
		if err != nil {
			require.ErrorContains(t, err, "name", string(text)) // a name may be refused, in words
		}
	})
}

func TestADraftOfAModbusLineKeepsItsRegistersAndItsFormat(t *testing.T) {
	d := draft()
	register := dialect.Register{Unit: 7, Table: dialect.Input, Number: 30, Type: dialect.S32, Order: dialect.LowFirst, Scale: 0.1}
	d.Lines = []config.DraftLine{{Name: "duct", Port: "/dev/ttyUSB0", Baud: 19200, Format: "8E1", Dialect: "modbus",
		Channels: []config.DraftChannel{
			{Name: "Duct", Address: register.Address(), Unit: "m/s", Register: &register, Kind: sensors.DuctVelocity},
			{Name: "Fan", Register: &dialect.Register{Unit: 7, Table: dialect.Holding, Number: 1, Type: dialect.U16, Order: dialect.HighFirst,
				Scale: 1}, Kind: sensors.FanCommand},
		}}}
	text, err := d.Text()
	require.NoError(t, err)
	c, err := config.Parse("x.toml", text)
	require.NoError(t, err, string(text))
	line := c.Rooms[0].Lines[0]
	require.Equal(t, config.Modbus, line.Dialect)
	require.Equal(t, sensors.LineSettings{Path: "/dev/ttyUSB0", Baud: 19200, DataBits: 8, Parity: 'E', StopBits: 1}, line.Settings)
	require.Equal(t, []string{"7:input:30", "7:holding:1"}, line.Addresses())
	require.Contains(t, string(text), "words = 'low-first'")
}
