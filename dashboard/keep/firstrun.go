package keep

import (
	"context"
	"fmt"
	"net/http"
	"path"
	"slices"
	"strconv"
	"strings"

	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/sensors"
	"wetside/sensors/discover"
	"wetside/sensors/quantity"
)

// FirstRun is a program that has no configuration yet: it finds what is plugged in,
// listens, and writes the configuration that somebody puts together from it.
type FirstRun interface {
	// Ports are the serial ports of this moment, the best names first.
	Ports() []string
	// Listen says what is spoken on a port. It takes seconds; the error is a sentence
	// that says what to do.
	Listen(ctx context.Context, port string) (discover.Heard, error)
	// Ask reads one register of a Modbus probe, which waits to be asked. The error is
	// a sentence that says what to do.
	Ask(ctx context.Context, port string, q discover.Question) (discover.Heard, error)
	// Heard are the lines that were understood so far.
	Heard() []discover.Heard
	// Write checks and writes the configuration; the program then starts with it.
	Write(ctx context.Context, d discover.Draft) error
	// File is where it will stand, and Written is set once it does.
	File() string
	Written() bool
}

// valueOf is the value of a channel as it came, with its unit.
func valueOf(c discover.Channel) string {
	unit := c.Unit
	if known, err := quantity.ParseUnit(unit); err == nil {
		unit = known.Label()
	}
	return strings.TrimSpace(strconv.FormatFloat(c.Last, 'g', 5, 64) + " " + unit)
}

// Spoken is the dialect of a line as people call it.
func (l firstLine) Spoken() string { return spoken(l.Heard) }

func spoken(line discover.Heard) string {
	if words, known := map[string]string{"text": "text lines", "xdr": "XDR sentences", "modbus": "Modbus"}[line.Dialect]; known {
		return words
	}
	return line.Dialect
}

// readings are the ways in which figures may be written, the usual one first.
func readings() []web.Choice {
	return []web.Choice{{Value: string(discover.WithPoint), Text: "18.5 °C, 250 m³/h, 500 mL"},
		{Value: string(discover.WithComma), Text: "18,5 °C, 250 m³/h, 500 mL"},
		{Value: string(discover.USUnits), Text: "65.3 °F, 147 cfm, 17 US fl oz"}}
}

// pickReading reads how figures are to be written; nothing chosen means the usual way.
func pickReading(f *web.FormReader) discover.Reading {
	var values []string
	for _, reading := range readings() {
		values = append(values, reading.Value)
	}
	if f.Get(readingField) == "" {
		return discover.WithPoint
	}
	return discover.Reading(web.PickOf(f, readingField, values...))
}

const (
	actListen = "listen"
	actAsk    = "ask"
	actWrite  = "write"
)

type firstRunBody struct {
	Problem string
	File    string
	// Written is set once there is nothing left to do here.
	Written  bool
	Ports    []firstPort
	Lines    []firstLine
	Token    string
	Fields   []web.Ask
	Readings []web.Choice
	// Wrong says that the form of the room was refused.
	Wrong bool
	// Question asks a probe that waits to be asked.
	Question web.AskForm
}

type firstPort struct {
	Name, Token string
	Heard       bool
}

type firstLine struct {
	discover.Heard
	Channels []firstChannel
}

// firstChannel is one row of the form: N names its fields.
type firstChannel struct {
	N, Address, Last, Name string
	Kinds, Roles           []web.Choice
}

func (s *Pages) firstRunPage(w http.ResponseWriter, r *http.Request) {
	a := s.Attempt(r)
	body := firstRunBody{Problem: a.Sentence(), File: s.FirstRun.File(), Token: web.NewToken()}
	heard := map[string]bool{}
	n := 0
	for _, line := range s.FirstRun.Heard() {
		heard[line.Port] = true
		shown := firstLine{Heard: line}
		for _, c := range line.Channels {
			shown.Channels = append(shown.Channels, s.firstChannel(strconv.Itoa(n), c, a))
			n++
		}
		body.Lines = append(body.Lines, shown)
	}
	for _, port := range s.FirstRun.Ports() {
		body.Ports = append(body.Ports, firstPort{port, web.NewToken(), heard[port]})
	}
	body.Question = s.firstQuestion(a)
	for _, q := range []web.Ask{
		{Field: roomField, Hint: "as people call it"},
		{Field: volumeField, Hint: "length, width and height multiplied, such as 30 m3 or 1060 ft3"},
		{Field: floorField, Hint: "may be left empty; such as 12 m2 or 130 ft2"},
		{Field: ductField, Hint: "for a velocity probe in the duct; such as 15 cm or 6 in"},
	} {
		q.ID = q.Name
		if body.Wrong = a.Problem != nil && a.Typed.Act == actWrite; body.Wrong {
			q.Value, q.Wrong = a.Typed.More.Get(q.Name), a.Problem.Field == q.Name
		}
		body.Fields = append(body.Fields, q)
	}
	for i, reading := range readings() {
		reading.Checked = a.Problem == nil && i == 0 || a.Problem != nil && a.Typed.More.Get("reading") == reading.Value
		body.Readings = append(body.Readings, reading)
	}
	p := s.PlacePage(r, web.Head{Name: "first-run", Title: "First start"}, "office.css")
	if body.Written = s.FirstRun.Written(); body.Written {
		w.Header().Set("Refresh", "3; url=/") // by then the program runs with its configuration
	}
	p.Menus, p.RoomName = nil, "wetside" // there is no other page yet
	s.Show(w, r, http.StatusOK, p.With(body))
}

func (s *Pages) firstChannel(n string, c discover.Channel, a web.Attempt) firstChannel {
	row := firstChannel{N: n, Address: c.Address, Last: valueOf(c), Name: c.Address}
	if c.Register != nil && len(c.Kinds) == 1 { // the number of a register is no name
		row.Name = c.Kinds[0].Label()
	}
	kind, role := "", ""
	if a.Problem != nil && a.Typed.Act == actWrite {
		row.Name, kind, role = a.Typed.More.Get("name-"+n), a.Typed.More.Get("kind-"+n), a.Typed.More.Get("role-"+n)
	}
	row.Kinds = append(row.Kinds, web.Choice{Value: "", Text: "ignore this channel", Checked: kind == ""})
	for i, k := range c.Kinds {
		row.Kinds = append(row.Kinds, web.Choice{Value: string(k), Text: k.Label(),
			Checked: string(k) == kind || !(a.Problem != nil && a.Typed.Act == actWrite) && i == 0})
	}
	if !slices.Contains(c.Kinds, sensors.BathTemperature) {
		return row
	}
	row.Roles = append(row.Roles, web.Choice{Value: "", Text: "no bath", Checked: role == ""})
	for _, known := range rules.Roles() {
		row.Roles = append(row.Roles, web.Choice{Value: string(known), Text: s.figures(s.View.Now()).Word(known), Checked: string(known) == role})
	}
	return row
}

func (s *Pages) firstRunPost(w http.ResponseWriter, r *http.Request) {
	form := s.OnItsPage(w, r, func(ctx context.Context, t web.Typed) (string, *web.Problem) {
		switch t.Act {
		case actListen:
			heard, err := s.FirstRun.Listen(ctx, t.More.Get("port"))
			if err != nil {
				return "", &web.Problem{Field: "act", Sentence: s.ErrorText(err)}
			}
			return fmt.Sprintf("There are %s at %d baud on %s, with %s.", spoken(heard), heard.Baud, path.Base(heard.Port),
				web.Count(len(heard.Channels), "%d channel", "%d channels")), nil
		case actAsk:
			return s.askFirst(ctx, t)
		case actWrite:
			return s.writeFirst(ctx, t)
		}
		return "", &web.Problem{Field: "act", Sentence: web.UnknownAct}
	})
	form.Listens = true
	s.Submit(w, r, form)
}

// writeFirst reads the form of the first configuration and has it written.
func (s *Pages) writeFirst(ctx context.Context, t web.Typed) (string, *web.Problem) {
	f := s.figures(s.View.Now()).Reader(t.More)
	c := discover.Draft{Room: f.Name(roomField, true)}
	c.Volume = readSize(f, volumeField, quantity.RoomVolume, true)
	c.Floor = readSize(f, floorField, quantity.Area, false)
	c.Reading = pickReading(f)
	n, inDuct := 0, false
	for _, line := range s.FirstRun.Heard() {
		kept := discover.DraftLine{Heard: line}
		for _, heard := range line.Channels {
			of := strconv.Itoa(n)
			n++
			kind := sensors.Kind(t.More.Get("kind-" + of))
			if kind == "" {
				continue
			}
			if _, err := sensors.ParseKind(string(kind)); err != nil {
				return "", &web.Problem{Field: "kind-" + of, Sentence: s.ErrorText(err)}
			}
			ch := discover.DraftChannel{Channel: heard, Kind: kind,
				Name: f.Name(web.Field{Name: "name-" + of, Label: channelNameField.Label}, true)}
			if kind == sensors.BathTemperature {
				ch.Role = t.More.Get("role-" + of)
			}
			inDuct = inDuct || kind == sensors.DuctVelocity || kind == sensors.VelocityPressure
			kept.Keep = append(kept.Keep, ch)
		}
		if len(kept.Keep) > 0 {
			c.Lines = append(c.Lines, kept)
		}
	}
	c.Duct = readSize(f, ductField, quantity.Length, inDuct)
	switch {
	case f.Problem != nil:
		return "", f.Problem
	case len(c.Lines) == 0 && n > 0:
		return "", &web.Problem{Field: "act", Sentence: "No channel chosen: choose what each channel measures."}
	}
	if err := s.FirstRun.Write(ctx, c); err != nil {
		return "", &web.Problem{Field: "act", Sentence: s.ErrorText(err)}
	}
	return fmt.Sprintf("%s has been written. wetside starts with it now.", s.FirstRun.File()), nil
}

// readSize reads a measure with its unit and gives it back as it was typed.
func readSize(f *web.FormReader, field web.Field, d quantity.Dimension, needed bool) string {
	text := f.Get(field)
	if text == "" && !needed {
		return ""
	}
	v, _, err := quantity.Parse(d, text)
	if err != nil || v <= 0 {
		f.Unread(field, err, "can't be read. Give a number with its unit, as in the hint.")
	}
	return text
}
