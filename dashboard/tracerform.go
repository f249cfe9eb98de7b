package dashboard

import (
	"net/url"
	"strconv"
	"strings"
	"time"

	"wetside/rules"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// tracerForm asks for the readings of one way to test.
type tracerForm struct {
	Method string
	Asks   []ask
	Look   look
}

// outdoorsCO2 is offered for the background; the place measures its own (common practice).
const outdoorsCO2 = "420"

// tracerFields are the names of all that is asked.
func tracerFields() []string {
	return []string{"method", "day", "began", "ended", "points", "background", "error", "empty", "settled", "crowd"}
}

func (f figures) decayForm(gas sensors.Channel, v url.Values) tracerForm {
	asks := []ask{
		{Name: "day", Label: f.words.Say("field.day"), Hint: f.words.Say("hint.day")},
		{Name: "began", Label: f.words.Say("field.began"), Hint: f.words.Say("hint.began")},
		{Name: "ended", Label: f.words.Say("field.ended"), Hint: f.words.Say("hint.ended")},
		{Name: "points", Label: f.words.Say("field.points"), Hint: f.words.Say("hint.points")},
		{Name: "background", Label: f.words.Say("field.background"), Hint: f.words.Say("hint.background"), Mode: "decimal", Value: outdoorsCO2},
		{Name: "error", Label: f.words.Say("field.error"), Hint: f.words.Say("hint.error"), Mode: "decimal", Value: f.plain(max(gas.Resolution, 30))},
		{Name: "empty", Label: f.words.Say("field.empty"), Choices: []choice{{Value: "yes", Text: f.words.Say("empty.yes")}, {Value: "no", Text: f.words.Say("empty.no")}}},
	}
	return f.tracerForm(rules.ByDecay, asks, v)
}

func (f figures) steadyForm(snap *rules.Snapshot, v url.Values) tracerForm {
	now, people := "", ""
	for _, c := range snap.Channels {
		if value, ok := c.Good(); ok && c.Channel.Kind == sensors.CarbonDioxide {
			now = f.number(value, 0)
		}
	}
	if snap.Session.People > 0 {
		people = strconv.Itoa(snap.Session.People)
	}
	return f.tracerForm(rules.BySteady, []ask{
		{Name: "settled", Label: f.words.Say("field.settled"), Hint: f.words.Say("hint.settled"), Mode: "decimal", Value: now},
		{Name: "background", Label: f.words.Say("field.background"), Hint: f.words.Say("hint.background"), Mode: "decimal", Value: outdoorsCO2},
		{Name: "crowd", Label: f.words.Say("field.people"), Hint: f.words.Say("hint.crowd"), Mode: "numeric", Value: people},
	}, v)
}

// tracerForm gives back what was asked before.
func (f figures) tracerForm(m rules.TestMethod, asks []ask, v url.Values) tracerForm {
	for i := range asks {
		q := &asks[i]
		q.ID = strings.ReplaceAll(string(m), " ", "-") + "-" + q.Name
		if v.Get("method") == string(m) {
			q.Value = v.Get(q.Name)
		}
		for j := range q.Choices {
			q.Choices[j].Checked = q.Choices[j].Value == q.Value
		}
	}
	return tracerForm{Method: string(m), Asks: asks}
}

func readPPM(f *formReader, field, text string) float64 {
	text = strings.TrimSpace(text)
	v, _, err := quantity.Parse(quantity.VolumeFraction, text)
	if err != nil {
		v, err = quantity.Number(text)
	}
	if err != nil || !(v >= 0 && v <= 1e6) {
		f.fail(field, "tracer.ppm", f.words.Say("field."+field), clip(text))
		return 0
	}
	return v
}

// readTracerPoints reads points such as "0=1920 3=1330": minutes and ppm.
func readTracerPoints(f *formReader, text string) []rules.TracerPoint {
	var points []rules.TracerPoint
	for _, word := range strings.FieldsFunc(text, func(r rune) bool { return r == ' ' || r == ';' || r == '\n' || r == '\t' }) {
		minutes, ppm, cut := strings.Cut(word, "=")
		m, errM := quantity.Number(minutes)
		c, errC := quantity.Number(ppm)
		if !cut || errM != nil || errC != nil || m < 0 || m > 24*60 {
			f.fail("points", "tracer.point", clip(word))
			return nil
		}
		points = append(points, rules.TracerPoint{Minutes: m, PPM: c})
	}
	return points
}

// readTracerSpan reads from when to when; a time that ends before it begins ends the next day.
func readTracerSpan(f *formReader, v url.Values) span {
	day := strings.TrimSpace(v.Get("day"))
	if day == "" {
		day = f.now.In(f.zone).Format(time.DateOnly)
	}
	moment := func(field string) time.Time {
		text := strings.ReplaceAll(strings.TrimSpace(v.Get(field)), ".", ":")
		t, err := time.ParseInLocation(time.DateOnly+" 15:04", day+" "+text, f.zone)
		if err != nil || t.After(f.now) {
			f.fail(field, "tracer.moment", f.words.Say("field."+field), clip(text))
		}
		return t
	}
	sp := span{moment("began"), moment("ended")}
	if sp.to.Before(sp.from) && f.problem == nil {
		sp.to = sp.to.AddDate(0, 0, 1)
	}
	return sp
}
