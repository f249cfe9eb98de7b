package keep

import (
	"context"
	"strconv"
	"strings"

	"wetside/dashboard/web"
	"wetside/sensors/quantity"
)

// The words of the form that asks a Modbus probe: each select with its answers, the
// usual one first.
func questionChoices() map[string][]string {
	return map[string][]string{
		"baud": {"9600", "19200", "4800", "38400", "57600", "115200"}, "format": {"8N1", "8E1", "8O1", "8N2"},
		"table": {"input", "holding"}, "type": {"s16", "u16", "s32", "u32", "f32"}, "words": {"high-first", "low-first"},
	}
}

// firstQuestion is the form that asks one register of a probe that waits to be asked.
func (s *Pages) firstQuestion(a web.Attempt) web.AskForm {
	out := web.AskForm{Form: web.Form{Typed: web.Typed{Act: actAsk, Token: web.NewToken()}}, Summary: s.Words.Say("first.ask"),
		Button: s.Words.Say("button.ask")}
	again := a.Problem != nil && a.Typed.Act == actAsk
	out.Open = again
	choices := questionChoices()
	choices["port"] = s.FirstRun.Ports()
	for _, name := range []string{"port", "baud", "format", "modbus-unit", "table", "register", "type", "words", "scale", "unit"} {
		q := web.Ask{Name: name, ID: "ask-" + name, Label: s.Words.Say("ask." + name), Hint: s.Words.Say("ask.hint." + name),
			Value: map[string]string{"modbus-unit": "1", "scale": "1"}[name]}
		if again {
			q.Value, q.Wrong = a.Typed.More.Get(name), a.Problem.Field == name
		}
		for i, text := range choices[name] {
			q.Choices = append(q.Choices, web.Choice{Value: text, Text: text, Checked: text == q.Value || q.Value == "" && i == 0})
		}
		out.Asks = append(out.Asks, q)
	}
	return out
}

// askFirst reads the form and has the probe asked.
func (s *Pages) askFirst(ctx context.Context, t web.Typed) (string, *web.Problem) {
	f, get, choices := s.figures(s.View.Now()).Reader().Calling("ask."), t.More.Get, questionChoices()
	pick := func(field string) string { return f.Pick(field, get(field), choices[field]...) }
	q := FirstQuestion{Port: get("port"), Format: pick("format"), Table: pick("table"), Type: pick("type"), Words: pick("words"),
		Unit: strings.TrimSpace(get("unit"))}
	q.Baud, _ = strconv.Atoi(pick("baud"))
	q.ModbusUnit = uint8(readWithin(f, "modbus-unit", get("modbus-unit"), 1, 247))
	q.Register = uint16(readWithin(f, "register", get("register"), 0, 65535))
	var err error
	if q.Scale, err = quantity.Number(get("scale")); err != nil || q.Scale == 0 {
		f.Fail("scale", "ask.no-scale", web.Clip(get("scale")))
	}
	if f.Problem != nil {
		return "", f.Problem
	}
	heard, err := s.FirstRun.Ask(ctx, q)
	if err != nil {
		return "", &web.Problem{Field: "act", Sentence: s.ErrorText(err)}
	}
	return s.Words.Say("first.answered", heard.Channels[0].Address, heard.Channels[0].value()), nil
}

// readWithin reads a whole number from low to high.
func readWithin(f *web.FormReader, field, text string, low, high int) int {
	n, err := strconv.Atoi(strings.TrimSpace(text))
	if err != nil || n < low || n > high {
		f.Fail(field, "ask.whole", f.Words.Say("ask."+field), web.Clip(text), low, high)
		return low
	}
	return n
}
