package keep

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"wetside/dashboard/web"
	"wetside/sensors/dialect"
	"wetside/sensors/discover"
	"wetside/sensors/quantity"
)

// question is one setting of the form that asks a Modbus probe.
type question struct {
	web.Field
	hint, usual string
	choices     []string // the usual one first
}

func (s *Pages) questions() []question {
	of := func(name, label, hint string, choices ...string) question {
		return question{Field: web.Field{Name: name, Label: label}, hint: hint, choices: choices}
	}
	unit, scale := of(unitAddressField.Name, unitAddressField.Label, "the probe's address on the line, 1 to 247"),
		of("scale", "Scale", "what one step is worth, such as 0.1")
	unit.usual, scale.usual = "1", "1"
	return []question{
		of("port", "Port", "where the probe is plugged in", s.FirstRun.Ports()...),
		of("baud", "Speed, baud", "see its data sheet", "9600", "19200", "4800", "38400", "57600", "115200"),
		of("format", "Character format", "data bits, parity, stop bits", discover.Formats()...),
		unit,
		of("table", "Table of registers", "input: function 04; holding: function 03", "input", "holding"),
		of(registerField.Name, registerField.Label, "counted from 0: for 30031 in a data sheet, write 30"),
		of("type", "Type", "whole numbers of 16 or 32 bits, with (s) or without (u) a sign, or a float",
			"s16", "u16", "s32", "u32", "f32"),
		of("words", "Word order", "for 32 bits: which half comes first", "high-first", "low-first"),
		scale,
		of("unit", "Unit", "such as C, Pa, m/s or ppm; empty for a contact"),
	}
}

// firstQuestion is the form that asks one register of a probe that waits to be asked.
func (s *Pages) firstQuestion(a web.Attempt) web.AskForm {
	out := web.AskForm{Form: web.Form{Typed: web.Typed{Act: actAsk, Token: web.NewToken()}},
		Summary: "Query a probe that does not send by itself (Modbus)",
		Button:  "Query"}
	again := a.Problem != nil && a.Typed.Act == actAsk
	out.Open = again
	for _, each := range s.questions() {
		q := web.Ask{Field: each.Field, ID: "ask-" + each.Name, Hint: each.hint, Value: each.usual}
		if again {
			q.Value, q.Wrong = a.Typed.More.Get(q.Name), a.Problem.Field == q.Name
		}
		for i, text := range each.choices {
			q.Choices = append(q.Choices, web.Choice{Value: text, Text: text, Checked: text == q.Value || q.Value == "" && i == 0})
		}
		out.Asks = append(out.Asks, q)
	}
	return out
}

func (s *Pages) askFirst(ctx context.Context, t web.Typed) (string, *web.Problem) {
	f, get := s.figures(s.View.Now()).Reader(t.More), t.More.Get
	pick := func(field string) string {
		for _, q := range s.questions() {
			if q.Name == field {
				return web.PickOf(f, q.Field, q.choices...)
			}
		}
		return ""
	}
	q := discover.Question{Format: pick("format"), Unit: strings.TrimSpace(get("unit"))}
	q.Baud, _ = strconv.Atoi(pick("baud"))
	register := &q.Register
	register.Table, register.Type = dialect.Table(pick("table")), dialect.RegisterType(pick("type"))
	register.Order = dialect.WordOrder(pick("words"))
	register.Unit = uint8(readWithin(f, unitAddressField, 1, 247))
	register.Number = uint16(readWithin(f, registerField, 0, 65535))
	var err error
	if register.Scale, err = quantity.Number(get("scale")); err != nil || register.Scale == 0 {
		f.Fail("scale", `Scale: "%s" is not a number other than 0. Write what one step of the register is worth, such as 0.1.`,
			web.Clip(get("scale")))
	}
	if f.Problem != nil {
		return "", f.Problem
	}
	heard, err := s.FirstRun.Ask(ctx, get("port"), q)
	if err != nil {
		return "", &web.Problem{Field: "act", Sentence: s.ErrorText(err)}
	}
	return fmt.Sprintf("Register %s answers: %s. Check whether that is plausible.", heard.Channels[0].Address, valueOf(heard.Channels[0])), nil
}

// readWithin reads a whole number from low to high.
func readWithin(f *web.FormReader, field web.Field, low, high int) int {
	n, err := strconv.Atoi(f.Get(field))
	if err != nil || n < low || n > high {
		f.Unread(field, err, "is not a whole number from %d to %d.", low, high)
		return low
	}
	return n
}
