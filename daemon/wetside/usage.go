package main

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"reflect"

	"github.com/alecthomas/kong"

	"wetside/chem"
	"wetside/rules/access"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// usageError marks arguments that cannot be used, which is the caller's mistake
// and not a failure of the program.
type usageError struct{ err error }

// Error is the sentence of the error inside.
func (e usageError) Error() string { return e.err.Error() }

func (e usageError) Unwrap() error { return e.err }

// unusable is a usageError in a formatted sentence.
func unusable(format string, values ...any) error {
	return usageError{fmt.Errorf(format, values...)}
}

// values reads what flags take that is more than text, such as a temperature with its unit.
func values() []kong.Option {
	return []kong.Option{taking(quantity.ParseCelsius), taking(quantity.ParseMillilitre), measured[quantity.Metre](quantity.Length),
		measured[quantity.Pascal](quantity.Pressure), measured[quantity.CubicMetre](quantity.RoomVolume),
		measured[quantity.CubicMetrePerHour](quantity.VolumeFlow), measured[quantity.PerHour](quantity.Rate),
		measured[quantity.Percent](quantity.Ratio), taking(chem.ParsePoint), taking(parsePart), taking(access.ParseSites)}
}

// measured has every flag of a quantity read with a unit of its dimension.
func measured[Q ~float64](d quantity.Dimension) kong.Option { return taking(quantity.Reading[Q](d)) }

// taking has every flag of a type read by its parser.
func taking[T any](parse func(string) (T, error)) kong.Option {
	return kong.TypeMapper(reflect.TypeFor[T](), kong.MapperFunc(func(given *kong.DecodeContext, into reflect.Value) error {
		var text string
		if err := given.Scan.PopValueInto("string", &text); err != nil {
			return err
		}
		v, err := parse(text)
		if err != nil {
			return usageError{err}
		}
		into.Set(reflect.ValueOf(v))
		return nil
	}))
}

func writeJSON(out io.Writer, answer any) error {
	encoder := json.NewEncoder(out)
	encoder.SetEscapeHTML(false)
	encoder.SetIndent("", "  ")
	if err := encoder.Encode(answer); err != nil {
		return fmt.Errorf("write the answer: %w", err)
	}
	return nil
}

// writeLine writes one line of text for people.
func writeLine(out io.Writer, line string) error {
	return writeSentence(out, phrase.Plain(line))
}

// writeSentence writes a sentence as the place reads it, where that is known.
func writeSentence(out io.Writer, sentence phrase.Sentence) error {
	line := sentence.String()
	if s, speaks := out.(speaking); speaks {
		line = sentence.By(s.units)
	}
	if _, err := fmt.Fprintln(out, line); err != nil {
		return fmt.Errorf("write the answer: %w", err)
	}
	return nil
}

func writeSentences(out io.Writer, sentences []phrase.Sentence) error {
	for _, s := range sentences {
		if err := writeSentence(out, s); err != nil {
			return err
		}
	}
	return nil
}

// rounded drops the digits that come from binary arithmetic alone.
func rounded[N ~float64](v N) float64 { return math.Round(float64(v)*1e6) / 1e6 }
