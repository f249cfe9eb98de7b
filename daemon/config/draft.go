package config

import (
	"cmp"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"unicode"

	"github.com/pelletier/go-toml/v2"

	"wetside/rules"
	"wetside/sensors/discover"
	"wetside/sensors/quantity/phrase"
)

// draftUnits are the units in which people want to read, empty where they read the inside units with a point.
type draftUnits struct {
	Temperature string `toml:"temperature,omitempty"`
	Flow        string `toml:"flow,omitempty"`
	Pressure    string `toml:"pressure,omitempty"`
	Velocity    string `toml:"velocity,omitempty"`
	Volume      string `toml:"volume,omitempty"`
	Decimal     string `toml:"decimal,omitempty"`
}

// The file as it is written.
type (
	draftFile struct {
		Site  draftSite   `toml:"site"`
		Units *draftUnits `toml:"units,omitempty"`
		Room  []draftRoom `toml:"room"`
	}
	draftSite struct {
		Listen string `toml:"listen" comment:"Only this computer can open the pages."`
		Data   string `toml:"data" comment:"The folder that keeps the history. Back it up; never put it on a network drive."`
	}
	draftRoom struct {
		ID     string      `toml:"id"`
		Name   string      `toml:"name"`
		Volume string      `toml:"volume"`
		Floor  string      `toml:"floor,omitempty"`
		Duct   *draftDuct  `toml:"duct,omitempty" comment:"Where the air probe sits; 0.9 as factor is common practice until a traverse was made."`
		Line   []draftLine `toml:"line,omitempty"`
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
		Channel string `toml:"channel,omitempty"`
	}
)

// unitsFor are the units of a way to read figures.
func unitsFor(r discover.Reading) *draftUnits {
	switch r {
	case discover.WithComma:
		return &draftUnits{Decimal: "comma"}
	case discover.USUnits:
		return &draftUnits{Temperature: "F", Flow: "cfm", Pressure: "inwg", Velocity: "fpm", Volume: "floz"}
	}
	return nil
}

// First writes a draft as a configuration file, and checks it as one. The error has every
// problem of the file.
func First(listen, data string, d discover.Draft) ([]byte, error) {
	ids := names{}
	room := draftRoom{ID: ids.give(d.Room), Name: d.Room, Volume: d.Volume, Floor: d.Floor}
	if d.Duct != "" {
		room.Duct = &draftDuct{d.Duct, 0.9}
	}
	for _, l := range d.Lines {
		name := filepath.Base(l.Port)
		line := draftLine{ID: ids.give(name), Name: name, Port: l.Port, Baud: l.Baud, Format: cmp.Or(l.Format, "8N1"), Dialect: l.Dialect}
		for _, c := range l.Keep {
			channel := draftChannel{ID: ids.give(c.Name), Name: c.Name, Quantity: string(c.Kind), Address: c.Address, Unit: c.Unit}
			if r := c.Register; r != nil {
				channel.Address, channel.draftRegister = "", &draftRegister{r.Unit, string(r.Table), r.Number, string(r.Type), string(r.Order), r.Scale}
			}
			line.Channel = append(line.Channel, channel)
			if c.Role != "" {
				bath := draftBath{Name: c.Name, Role: c.Role, Channel: channel.ID}
				if c.Name == c.Address { // nobody gave it a name
					bath.Name = ""
				}
				room.Bath = append(room.Bath, bath)
			}
		}
		room.Line = append(room.Line, line)
	}
	if len(d.Lines) == 0 { // a place without probes has trays as well
		room.Bath = []draftBath{{Role: string(rules.Developer)}, {Role: string(rules.StopBath)}, {Role: string(rules.Fixer)}}
	}
	inTrayOrder(room.Bath, ids)
	file := draftFile{Site: draftSite{listen, data}, Units: unitsFor(d.Reading), Room: []draftRoom{room}}
	text, err := toml.Marshal(file)
	if err != nil {
		return nil, phrase.Errorf("the configuration can't be written: %w", err)
	}
	text = append([]byte("# A first configuration, made on the page of the first start. Every key is\n# explained in "+
		"one-room.toml; `wetside check FILE` says what would run.\n\n"), text...)
	if _, err := Parse("the new configuration", text); err != nil {
		return nil, err
	}
	return text, nil
}

// inTrayOrder puts baths in the order in which a sheet goes through them, and names those that nobody named.
func inTrayOrder(baths []draftBath, ids names) {
	place := func(b draftBath) int { return slices.Index(rules.Roles(), rules.Role(b.Role)) }
	slices.SortStableFunc(baths, func(a, b draftBath) int { return cmp.Compare(place(a), place(b)) })
	for i := range baths {
		b := &baths[i]
		b.ID = ids.give(b.Role)
		b.Name = cmp.Or(b.Name, strings.ToUpper(b.ID[:1])+strings.ReplaceAll(b.ID[1:], "-", " "))
	}
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
