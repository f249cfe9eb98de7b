package config

import (
	"cmp"
	"fmt"
	"strings"
	"unicode"

	"github.com/pelletier/go-toml/v2"

	"wetside/sensors"
	"wetside/sensors/dialect"
	"wetside/sensors/quantity/phrase"
)

// Draft is a first configuration as somebody put it together on a page: one room and
// the lines that were heard. Its volumes and sizes are as typed, with their units.
type Draft struct {
	Listen, Data, Zone string
	Room, Volume       string
	Floor, Duct        string // empty where not known
	Lines              []DraftLine
	// Units are empty where the inside units are read, with a point.
	Units DraftUnits
}

// DraftUnits are the units in which people want to read, as the file names them.
type DraftUnits struct {
	Temperature string `toml:"temperature,omitempty"`
	Flow        string `toml:"flow,omitempty"`
	Pressure    string `toml:"pressure,omitempty"`
	Velocity    string `toml:"velocity,omitempty"`
	Volume      string `toml:"volume,omitempty"`
	Decimal     string `toml:"decimal,omitempty"`
}

// DraftLine is a line that was heard.
type DraftLine struct {
	Name, Port, Dialect string
	Baud                int
	Format              string // 8N1 when empty
	Channels            []DraftChannel
}

// DraftChannel is a channel that is to be kept.
type DraftChannel struct {
	Name, Address, Unit string
	// Register takes the place of the address on a Modbus line.
	Register *dialect.Register
	Kind     sensors.Kind
	// Role is set for the probe of a bath, such as "developer".
	Role string
}

// The file as it is written.
type (
	draftFile struct {
		Site  draftSite   `toml:"site"`
		Units *DraftUnits `toml:"units,omitempty"`
		Room  []draftRoom `toml:"room"`
	}
	draftSite struct {
		Listen string `toml:"listen" comment:"The pages are shown on this computer alone."`
		Data   string `toml:"data" comment:"The folder that keeps the history. Back it up; never put it on a network drive."`
		Zone   string `toml:"zone,omitempty"`
	}
	draftRoom struct {
		ID     string      `toml:"id"`
		Name   string      `toml:"name"`
		Volume string      `toml:"volume"`
		Floor  string      `toml:"floor,omitempty"`
		Duct   *draftDuct  `toml:"duct,omitempty" comment:"Where the air probe sits; 0.9 as factor is common practice until a traverse was made."`
		Line   []draftLine `toml:"line"`
		Bath   []draftBath `toml:"bath,omitempty" comment:"The baths in tray order. Times of development: see one-room.toml, [room.bath.times]."`
	}
	draftDuct struct {
		Diameter string  `toml:"diameter"`
		Factor   float64 `toml:"factor"`
	}
	draftLine struct {
		ID      string         `toml:"id"`
		Name    string         `toml:"name"`
		Port    string         `toml:"port"`
		Baud    int            `toml:"baud"`
		Format  string         `toml:"format"`
		Dialect string         `toml:"dialect"`
		Channel []draftChannel `toml:"channel"`
	}
	draftChannel struct {
		ID       string `toml:"id"`
		Name     string `toml:"name"`
		Quantity string `toml:"quantity"`
		Address  string `toml:"address,omitempty"`
		Unit     string `toml:"unit,omitempty"`
		*draftRegister
	}
	draftRegister struct {
		ModbusUnit uint8   `toml:"modbus-unit"`
		Table      string  `toml:"table"`
		Register   uint16  `toml:"register" comment:"As on the wire, counted from 0."`
		Type       string  `toml:"type"`
		Words      string  `toml:"words,omitempty"`
		Scale      float64 `toml:"scale"`
	}
	draftBath struct {
		ID      string `toml:"id"`
		Name    string `toml:"name"`
		Role    string `toml:"role"`
		Channel string `toml:"channel"`
	}
)

// Text writes the draft as a configuration file, and checks it as one. The error has
// every problem of the file.
func (d Draft) Text() ([]byte, error) {
	ids := names{}
	room := draftRoom{ID: ids.give(d.Room), Name: d.Room, Volume: d.Volume, Floor: d.Floor}
	if d.Duct != "" {
		room.Duct = &draftDuct{d.Duct, 0.9}
	}
	for _, l := range d.Lines {
		line := draftLine{ID: ids.give(l.Name), Name: l.Name, Port: l.Port, Baud: l.Baud, Format: cmp.Or(l.Format, "8N1"), Dialect: l.Dialect}
		for _, c := range l.Channels {
			channel := draftChannel{ID: ids.give(c.Name), Name: c.Name, Quantity: string(c.Kind), Address: c.Address, Unit: c.Unit}
			if r := c.Register; r != nil {
				channel.Address, channel.draftRegister = "", &draftRegister{r.Unit, string(r.Table), r.Number, string(r.Type), string(r.Order), r.Scale}
			}
			line.Channel = append(line.Channel, channel)
			if c.Role != "" {
				room.Bath = append(room.Bath, draftBath{ids.give(c.Role), c.Name, c.Role, channel.ID})
			}
		}
		room.Line = append(room.Line, line)
	}
	file := draftFile{Site: draftSite{d.Listen, d.Data, d.Zone}, Room: []draftRoom{room}}
	if d.Units != (DraftUnits{}) {
		file.Units = &d.Units
	}
	text, err := toml.Marshal(file)
	if err != nil {
		return nil, phrase.Errorf("the configuration can't be written down: %w", err)
	}
	text = append([]byte("# A first configuration, put together on the page of the first start. Every key is\n# explained in "+
		"one-room.toml; `wetside check FILE` says what would run.\n\n"), text...)
	if _, err := Parse("the new configuration", text); err != nil {
		return nil, err
	}
	return text, nil
}

// names gives identities to what people named, each once.
type names map[string]bool

func (n names) give(name string) string {
	id := strings.Trim(strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9':
			return r
		case r < unicode.MaxASCII:
			return '-'
		}
		return -1
	}, strings.ToLower(name)), "-")
	for strings.Contains(id, "--") {
		id = strings.ReplaceAll(id, "--", "-")
	}
	if id == "" || id[0] < 'a' {
		id = strings.Trim("x-"+id, "-")
	}
	id = strings.Trim(id[:min(len(id), 40)], "-")
	base := id
	for i := 2; n[id]; i++ {
		id = fmt.Sprintf("%s-%d", base, i)
	}
	n[id] = true
	return id
}
