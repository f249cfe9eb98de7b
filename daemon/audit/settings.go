package audit

import (
	"bytes"
	"cmp"
	"encoding/json"
	"slices"
	"strconv"
	"strings"
	"time"

	"wetside/daemon/history"
	"wetside/dashboard/report"
	"wetside/rules/past"
	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// settings tells what was in force, and what was changed.
func (g *gathering) settings() error {
	if len(g.known.Versions) == 0 && g.Fallback != nil {
		text, err := json.Marshal(g.Fallback)
		if err != nil {
			return err
		}
		g.known.Versions = []past.Version{{Site: *g.Fallback, At: g.Now, Text: text}}
	}
	last := g.known.At(g.To.Add(-time.Millisecond))
	for i, v := range g.known.Versions {
		g.flats = append(g.flats, flat(v.Text))
		g.data.Simulated = g.data.Simulated || v.Simulated && (i == 0 || v.At.Before(g.To))
		if i > 0 && g.inside(v.At) {
			if err := g.changes(i); err != nil {
				return err
			}
		}
	}
	if last == nil {
		return nil
	}
	for _, f := range flat(last.Text) {
		g.data.Settings = append(g.data.Settings, g.since(f, last))
	}
	for _, r := range last.Rooms {
		g.data.Rooms = append(g.data.Rooms, roomOf(r, g.To))
		for _, c := range r.Channels {
			g.corrections(c)
		}
	}
	return nil
}

// since finds the version from which on a setting has had its value.
func (g *gathering) since(f field, last *past.Version) report.Setting {
	s := report.Setting{Name: f.name, Value: f.value, Since: last.At, Record: last.Record}
	for i := len(g.known.Versions) - 1; i >= 0; i-- {
		v := &g.known.Versions[i]
		if v.At.After(last.At) {
			continue
		}
		if !slices.Contains(g.flats[i], f) {
			break
		}
		s.Since, s.Record = v.At, v.Record
	}
	return s
}

// corrections lists the corrections of a channel that had come into force by the
// end of the time, with when each came into the settings.
func (g *gathering) corrections(c past.Channel) {
	for _, k := range c.Corrections {
		if !k.From.Before(g.To) {
			continue
		}
		out := report.Correction{Channel: c.ID, Name: c.Name, From: k.From, Slope: k.Slope, Offset: k.Offset}
		for _, v := range g.known.Versions {
			if out.Known.IsZero() && slices.Contains(v.Channel(c.ID).Corrections, k) {
				out.Known = v.At
			}
		}
		g.data.Corrections = append(g.data.Corrections, out)
	}
}

// roomOf says in words what is asked of a room's air and what was proven.
func roomOf(r past.Room, at time.Time) report.Room {
	out := report.Room{ID: r.ID, Name: r.Name, Volume: r.Volume, Required: phrase.Say("nothing")}
	demand, err := r.Demand(at)
	if err == nil {
		changes := float64(demand.AirChanges)
		out.Changes = &changes
		out.Required = phrase.Say("%.1f air changes an hour (%s), by %s", changes, demand.Exhaust.To(1), demand.Binding.Source)
		if demand.Binding.Edition != "" {
			out.Required = phrase.Say("%s, %s", out.Required, demand.Binding.Edition)
		}
	}
	if c := r.Commissioned; c != nil {
		out.Commissioned = phrase.Say("%s on %s, by %s, certificate %s", quantity.CubicMetrePerHour(c.Flow).To(1), c.Date.Format("2 Jan 2006"),
			c.Instrument, c.Certificate)
		if c.Uncertainty > 0 {
			out.Commissioned = phrase.Say("%s, uncertainty %.1f %% (k = 2)", out.Commissioned, c.Uncertainty)
		}
	}
	out.Derivation = r.FlowLimits(at).Derivation
	for _, c := range r.Channels {
		out.Channels = append(out.Channels, channelOf(c))
	}
	for _, b := range r.Baths {
		bath := report.Bath{ID: b.ID, Name: b.Name, Channel: r.Channel(b.Channel).Name}
		if b.High > b.Low {
			bath.Range = phrase.Say("%s to %s", quantity.Celsius(b.Low).To(0), quantity.Celsius(b.High).To(0))
		}
		out.Baths = append(out.Baths, bath)
	}
	return out
}

// channelOf says what a channel measures and which of its readings count.
func channelOf(c past.Channel) report.Channel {
	kind := sensors.Kind(c.Kind)
	out := report.Channel{ID: c.ID, Name: c.Name, Measures: kind.Label(), Silence: time.Duration(c.Silence * float64(time.Second))}
	if traits, known := kind.Traits(); known {
		out.Low, out.High = traits.Dimension.Of(c.Low, 0), traits.Dimension.Of(c.High, 0)
		if unit, err := quantity.BaseUnit(traits.Dimension); err == nil && traits.Dimension != quantity.Contact {
			out.Unit = unit.Label()
		}
	}
	return out
}

func (g *gathering) changes(i int) error {
	by, why, err := g.author(g.known.Versions[i].Record)
	was, is := g.flats[i-1], g.flats[i]
	named := func(list []field, name string) (string, bool) {
		at := slices.IndexFunc(list, func(f field) bool { return f.name == name })
		if at < 0 {
			return "", false
		}
		return list[at].value, true
	}
	add := func(name, before, now string) {
		g.data.Changes = append(g.data.Changes, report.Change{At: g.known.Versions[i].At, Record: g.known.Versions[i].Record, Name: name,
			Was: before, Now: now, By: by, Why: why})
	}
	for _, f := range is {
		if before, _ := named(was, f.name); before != f.value {
			add(f.name, before, f.value)
		}
	}
	for _, f := range was {
		if _, still := named(is, f.name); !still {
			add(f.name, f.value, "")
		}
	}
	return err
}

// author says who entered a record, and why if the record says so.
func (g *gathering) author(number uint64) (by, why string, err error) {
	list, err := g.book.Records(g.ctx, history.Query{Numbers: []uint64{number}})
	if err != nil || len(list) == 0 {
		return "", "", err
	}
	var act struct {
		Why string `json:"why"`
	}
	_ = json.Unmarshal(list[0].Content, &act) // what gives no reason has none
	return list[0].Person, cmp.Or(list[0].Reason, act.Why), nil
}

// field is one value of a JSON text with the way to it.
type field struct{ name, value string }

// flat lists the values of a JSON text in their order. The members of a list go by
// their id where they have one, else by their place.
func flat(text json.RawMessage) []field {
	var list []field
	_, _ = flatten(decoderOf(text), "", func(name string, value json.Token) { // it was read already
		list = append(list, field{strings.TrimPrefix(name, " / "), inText(value)})
	})
	return list
}

// decoderOf reads a JSON text part by part, its numbers as they are written.
func decoderOf(text json.RawMessage) *json.Decoder {
	d := json.NewDecoder(bytes.NewReader(text))
	d.UseNumber()
	return d
}

// flatten hands on every value of what comes next in a text, with the way to it, and gives the id of an
// object that has one.
func flatten(d *json.Decoder, path string, each func(name string, value json.Token)) (id string, err error) {
	t, err := d.Token()
	switch {
	case err != nil:
		return "", err
	case t == json.Delim('{'):
		id, err = flattenObject(d, path, each)
	case t == json.Delim('['):
		err = flattenList(d, path, each)
	default:
		each(path, t)
		return "", nil
	}
	if err == nil {
		_, err = d.Token() // its end
	}
	return id, err
}

func flattenObject(d *json.Decoder, path string, each func(name string, value json.Token)) (id string, err error) {
	for d.More() && err == nil {
		var t json.Token
		if t, err = d.Token(); err != nil {
			break
		}
		if t == "id" {
			_, err = flatten(d, "", func(name string, value json.Token) {
				if text, is := value.(string); is && name == "" {
					id = text
				}
			})
			continue
		}
		_, err = flatten(d, path+" / "+spaced(inText(t)), each)
	}
	return id, err
}

func flattenList(d *json.Decoder, path string, each func(name string, value json.Token)) error {
	type part struct {
		name  string
		value json.Token
	}
	for i := 1; d.More(); i++ {
		var parts []part // its id may come last
		id, err := flatten(d, "", func(name string, value json.Token) { parts = append(parts, part{name, value}) })
		if err != nil {
			return err
		}
		for _, p := range parts {
			each(path+" / "+cmp.Or(id, strconv.Itoa(i))+p.name, p.value)
		}
	}
	return nil
}

// inText is a value as it is written.
func inText(value json.Token) string {
	switch value := value.(type) {
	case string:
		return value
	case json.Number:
		return string(value)
	case bool:
		return strconv.FormatBool(value)
	}
	return "null"
}

func spaced(key string) string { return strings.ReplaceAll(key, "_", " ") }
