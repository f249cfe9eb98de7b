package daemon

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"wetside/daemon/config"
	"wetside/daemon/history"
	"wetside/rules"
	"wetside/sensors"
)

// kindSettings is the record of the settings in force. It is written at a start and
// when the configuration is read again, if anything in it has changed, so that what
// was measured can be judged by the settings of its day.
const kindSettings = "settings"

// settings are what an evening is judged by. Values are in inside units.
type settings struct {
	Zone  string         `json:"zone"`
	Rooms []roomSettings `json:"rooms"`
}

type roomSettings struct {
	ID           string                `json:"id"`
	Name         string                `json:"name"`
	Volume       float64               `json:"volume_m3"`
	Floor        float64               `json:"floor_m2,omitempty"`
	DuctArea     float64               `json:"duct_area_m2,omitempty"`
	DuctFactor   float64               `json:"duct_factor,omitempty"`
	Altitude     float64               `json:"altitude_m,omitempty"`
	Required     []requirementSetting  `json:"required,omitempty"`
	Commissioned *commissionedSettings `json:"commissioned,omitempty"`
	AiringRemove float64               `json:"airing_remove_percent,omitempty"`
	AiringMixing float64               `json:"airing_mixing,omitempty"`
	Limits       []limitSetting        `json:"limits,omitempty"`
	Channels     []channelSettings     `json:"channels"`
	Baths        []bathSettings        `json:"baths,omitempty"`
}

type requirementSetting struct {
	Kind      string    `json:"kind"`
	Value     float64   `json:"value"`
	Source    string    `json:"source"`
	Edition   string    `json:"edition,omitempty"`
	Effective time.Time `json:"effective,omitzero"`
}

type commissionedSettings struct {
	Flow        float64   `json:"flow_m3_per_h"`
	Date        time.Time `json:"date"`
	Instrument  string    `json:"instrument"`
	Certificate string    `json:"certificate"`
}

type limitSetting struct {
	Channel      string  `json:"channel"`
	Agent        string  `json:"agent"`
	Jurisdiction string  `json:"jurisdiction"`
	Edition      string  `json:"edition"`
	Kind         string  `json:"kind"`
	Minutes      float64 `json:"minutes"`
	Value        float64 `json:"value"`
	Unit         string  `json:"unit"`
}

type channelSettings struct {
	ID          string              `json:"id"`
	Name        string              `json:"name"`
	Kind        string              `json:"kind"`
	Unit        string              `json:"unit"`
	Silence     float64             `json:"silence_s"`
	Low         float64             `json:"plausible_low"`
	High        float64             `json:"plausible_high"`
	Corrections []correctionSetting `json:"corrections,omitempty"`
}

type correctionSetting struct {
	From   time.Time `json:"from"`
	Slope  float64   `json:"slope"`
	Offset float64   `json:"offset"`
}

type bathSettings struct {
	ID      string  `json:"id"`
	Name    string  `json:"name"`
	Role    string  `json:"role"`
	Channel string  `json:"channel,omitempty"`
	Low     float64 `json:"band_low_c,omitempty"`
	High    float64 `json:"band_high_c,omitempty"`
}

// settingsOf takes from a configuration what an evening is judged by.
func settingsOf(c config.Config) settings {
	s := settings{Zone: c.Zone.String()}
	for _, r := range c.Rooms {
		s.Rooms = append(s.Rooms, roomSettingsOf(r.Room))
	}
	return s
}

func roomSettingsOf(r rules.Room) roomSettings {
	out := roomSettings{ID: r.ID, Name: r.Name, Volume: float64(r.Volume), Floor: float64(r.Floor), DuctArea: float64(r.Duct.Area),
		DuctFactor: r.Duct.Factor, Altitude: float64(r.Duct.Altitude), AiringRemove: float64(r.Airing.Remove), AiringMixing: r.Airing.Mixing}
	for _, q := range r.Required {
		out.Required = append(out.Required, requirementSetting{string(q.Kind), q.Value, q.Source, q.Edition, q.Effective})
	}
	if k := r.Commissioned; k.Flow > 0 {
		out.Commissioned = &commissionedSettings{float64(k.Flow), k.Date, k.Instrument, k.Certificate}
	}
	for _, g := range r.Gases {
		for _, l := range g.Limits {
			out.Limits = append(out.Limits, limitSetting{string(g.Channel), l.Agent, l.Jurisdiction, l.Edition, string(l.Kind), l.Window.Minutes(), l.Value, l.Unit.String()})
		}
	}
	for _, c := range r.Channels {
		out.Channels = append(out.Channels, channelSettingsOf(c))
	}
	for _, b := range r.Baths {
		out.Baths = append(out.Baths, bathSettings{b.ID, b.Name, string(b.Role), string(b.Channel), b.Band.Low, b.Band.High})
	}
	return out
}

func channelSettingsOf(c sensors.Channel) channelSettings {
	out := channelSettings{ID: string(c.ID), Name: c.Name, Kind: string(c.Kind), Unit: c.Unit.String(),
		Silence: c.Silence.Seconds(), Low: c.Plausible.Low, High: c.Plausible.High}
	for _, k := range c.Corrections {
		out.Corrections = append(out.Corrections, correctionSetting(k))
	}
	return out
}

// keepSettings records the settings of a configuration unless the book has the same as its last.
func keepSettings(ctx context.Context, store *history.Store, c config.Config) error {
	content, err := json.Marshal(settingsOf(c))
	if err != nil {
		return fmt.Errorf("the settings can't be written down: %w", err)
	}
	known, err := store.Records(ctx, history.Query{Kinds: []string{kindSettings}})
	if err != nil {
		return fmt.Errorf("the settings recorded before can't be read: %w", err)
	}
	if n := len(known); n > 0 && bytes.Equal(known[n-1].Content, content) {
		return nil
	}
	_, err = store.Record(ctx, history.Entry{Kind: kindSettings, Content: content})
	return err
}

// PlaceZone gives the time zone of the place whose history is in a folder: the one
// recorded last with its settings, or the computer's own when none was.
func PlaceZone(ctx context.Context, dir string) (*time.Location, error) {
	reader, err := history.OpenReader(ctx, history.Options{Dir: dir})
	if err != nil {
		return nil, err
	}
	records, err := reader.Records(ctx, history.Query{Kinds: []string{kindSettings}})
	if err := errors.Join(err, reader.Close()); err != nil || len(records) == 0 {
		return time.Local, err
	}
	var last settings
	if json.Unmarshal(records[len(records)-1].Content, &last) == nil {
		if zone, err := time.LoadLocation(last.Zone); err == nil {
			return zone, nil
		}
	}
	return time.Local, nil
}
