package air

import (
	"cmp"
	"errors"
	"net/url"
	"strconv"
	"strings"
	"time"

	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/coverage"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// tracerForm asks for the readings of one way to test.
type tracerForm struct {
	Method string
	Asks   []web.Ask
	Look   web.Look
}

// outdoorsCO2 is offered for the background; the place measures its own (common practice).
const outdoorsCO2 = "420"

func (f figures) decayForm(gas sensors.Channel, v url.Values) tracerForm {
	asks := []web.Ask{
		{Field: dayField, Hint: "such as 2026-01-15; left empty: today"},
		{Field: beganField, Hint: "when the room was left, such as 17:40"},
		{Field: endedField, Hint: "such as 18:20"},
		{Field: pointsField, Hint: "minutes=ppm, such as 0=1920 3=1330 6=1012; leave empty to use the probe's readings"},
		{Field: backgroundField, Hint: "ppm, measured outdoors on the same day", Mode: "decimal", Value: outdoorsCO2},
		{Field: errorField, Hint: "ppm; points less than three times that above outdoors do not count", Mode: "decimal",
			Value: f.Plain(max(gas.Resolution, 30))},
		{Field: emptyField, Choices: []web.Choice{{Value: "yes", Text: "the room was empty"},
			{Value: "no", Text: "somebody was in the room"}}},
	}
	return f.tracerForm(rules.ByDecay, asks, v)
}

func (f figures) steadyForm(snap *rules.Snapshot, v url.Values) tracerForm {
	now, people := "", ""
	for _, c := range snap.Channels {
		if value, ok := c.Good(); ok && c.Channel.Kind == sensors.CarbonDioxide {
			now = f.Number(value, 0)
		}
	}
	if snap.Session.People > 0 {
		people = strconv.Itoa(snap.Session.People)
	}
	return f.tracerForm(rules.BySteady, []web.Ask{
		{Field: settledField, Hint: "ppm", Mode: "decimal", Value: now},
		{Field: backgroundField, Hint: "ppm, measured outdoors on the same day", Mode: "decimal", Value: outdoorsCO2},
		{Field: crowdField, Hint: "people seated in the room the whole time", Mode: "numeric", Value: people},
	}, v)
}

// tracerForm gives back what was asked before.
func (f figures) tracerForm(m rules.TestMethod, asks []web.Ask, v url.Values) tracerForm {
	for i := range asks {
		q := &asks[i]
		q.ID = strings.ReplaceAll(string(m), " ", "-") + "-" + q.Name
		if v.Get("method") == string(m) {
			q.Value = v.Get(q.Name)
		}
		q.Tick()
	}
	return tracerForm{Method: string(m), Asks: asks}
}

func readPPM(f *web.FormReader, field web.Field) float64 {
	text := f.Get(field)
	v, _, err := quantity.Parse(quantity.VolumeFraction, text)
	if err != nil {
		v, err = quantity.Number(text)
	}
	if err != nil || !(v >= 0 && v <= 1e6) {
		f.Unread(field, err, "is not a concentration from 0 up. Write it in ppm.")
		return 0
	}
	return v
}

// readTracerPoints reads points such as "0=1920 3=1330": minutes and ppm.
func readTracerPoints(f *web.FormReader) []rules.TracerPoint {
	var points []rules.TracerPoint
	for _, word := range strings.FieldsFunc(f.Get(pointsField), func(r rune) bool {
		return r == ' ' || r == ';' || r == '\n' ||
			r == '\t'
	}) {
		minutes, ppm, cut := strings.Cut(word, "=")
		m, errM := quantity.Number(minutes)
		c, errC := quantity.Number(ppm)
		if !cut || errM != nil || errC != nil || m < 0 || m > 24*60 {
			f.Unread(pointsField, errors.Join(errM, errC), "has %q, which is not a point. Write minutes=ppm, such as 0=1920 3=1330.",
				web.Clip(word))
			return nil
		}
		points = append(points, rules.TracerPoint{Minutes: m, PPM: c})
	}
	return points
}

// readTracerSpan reads from when to when; a time that ends before it begins ends the next day.
func readTracerSpan(f *web.FormReader) coverage.Span {
	day := cmp.Or(f.Get(dayField), f.Now.In(f.Zone).Format(time.DateOnly))
	moment := func(field web.Field) time.Time {
		text := strings.ReplaceAll(f.Get(field), ".", ":")
		t, err := time.ParseInLocation(time.DateOnly+" 15:04", day+" "+text, f.Zone)
		if err != nil || t.After(f.Now) {
			f.Unread(field, err, "is not a past time of that day. Write it like 17:40.")
		}
		return t
	}
	sp := coverage.Span{From: moment(beganField), To: moment(endedField)}
	if sp.To.Before(sp.From) && f.Problem == nil {
		sp.To = sp.To.AddDate(0, 0, 1)
	}
	return sp
}
