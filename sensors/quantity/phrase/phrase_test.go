package phrase_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/sensors/quantity/phrase"
)

// place speaks a language of its own and writes millilitres in words.
type place map[string]string

func (p place) Sprintf(form string, parts ...any) string {
	if own, known := p[form]; known {
		form = own
	}
	return fmt.Sprintf(form, parts...)
}

func (place) Date(t time.Time, layout string) string {
	return strings.Replace(t.Format(layout), "Jan", "ene", 1)
}

func (place) Quantities(text string) string { return strings.ReplaceAll(text, "mL", "millilitres") }

func TestASentenceIsToldInTheLanguageAndUnitsOfAPlace(t *testing.T) {
	elsewhere := place{
		"%s holds %s":        "en %[1]s hay %[2]s",
		"pour %s away":       "vierta %s",
		"%.0f mL are needed": "hacen falta %.0f mL",
		"no air: %v":         "sin aire: %v",
		"the fan is off":     "el ventilador está parado",
	}
	spilt := phrase.Say("%s holds %s", "500 mL bottle", phrase.Quantity("20 mL"))
	tests := map[string]struct {
		sentence        phrase.Sentence
		here, overThere string
	}{
		"a name stays, a quantity is told anew":       {spilt, "500 mL bottle holds 20 mL", "en 500 mL bottle hay 20 millilitres"},
		"a sentence within one":                       {phrase.Say("pour %s away", spilt), "pour 500 mL bottle holds 20 mL away", "vierta en 500 mL bottle hay 20 millilitres"},
		"a measured one is told anew as a whole":      {phrase.Measured("%.0f mL are needed", 30.0), "30 mL are needed", "hacen falta 30 millilitres"},
		"what a person wrote":                         {phrase.Plain("30 % mL"), "30 % mL", "30 % mL"},
		"sentences in a row":                          {phrase.Join("; ", phrase.Say("the fan is off"), spilt), "the fan is off; 500 mL bottle holds 20 mL", "el ventilador está parado; en 500 mL bottle hay 20 millilitres"},
		"an error within one, its quantity told once": {phrase.Measured("no air: %v", phrase.Errorf("%.0f mL are needed", 5.0)), "no air: 5 mL are needed", "sin aire: hacen falta 5 millilitres"},
		"a form without words there stays English":    {phrase.Say("not known"), "not known", "not known"},
		"a row with a sign of its own between":        {phrase.Join(" %s% ", phrase.Say("a"), phrase.Say("b")), "a %s% b", "a %s% b"},
		"a day, in words of the place":                {phrase.Say("not before %s", phrase.Date{At: time.Date(2026, 1, 8, 0, 0, 0, 0, time.UTC), Layout: "2 Jan 2006"}), "not before 8 Jan 2026", "not before 8 ene 2026"},
		"nothing":                                     {phrase.Sentence{}, "", ""},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			require.Equal(t, test.here, test.sentence.String())
			require.Equal(t, test.overThere, test.sentence.By(elsewhere))
			require.Equal(t, test.here == "", test.sentence.IsZero())
		})
	}
}

func TestAnErrorIsToldAsASentenceAndKeepsItsCause(t *testing.T) {
	elsewhere := place{"no air: %v": "sin aire: %v"}
	cause := errors.New("the disk is full")
	err := phrase.Errorf("no air: %w", cause)
	require.ErrorIs(t, err, cause)
	require.EqualError(t, err, "no air: the disk is full")
	require.Equal(t, "sin aire: the disk is full", phrase.Error(err, elsewhere))
	require.Equal(t, "board: no air: the disk is full", phrase.Error(fmt.Errorf("board: %w", err), elsewhere), "wrapped in words of its own, it is told whole")
	require.Equal(t, "5 millilitres", phrase.Error(errors.New("5 mL"), elsewhere))
}

func TestErrorsThatWereJoinedAreToldOneByOne(t *testing.T) {
	elsewhere := place{"no air": "sin aire"}
	joined := errors.Join(phrase.Errorf("no air"), errors.New("5 mL"))
	require.Equal(t, "sin aire\n5 millilitres", phrase.Error(joined, elsewhere))
	require.Equal(t, "both: no air, 5 millilitres", phrase.Error(fmt.Errorf("both: %w, %w", phrase.Errorf("no air"), errors.New("5 mL")), elsewhere), "wrapped in words of its own, it is told whole")
}

// state is a key of records with words of its own.
type state string

func (s state) Said() phrase.Sentence { return phrase.Say("not known") }

func TestAStateIsToldInTheWordsOfThePlace(t *testing.T) {
	spilt := phrase.Say("it is %s", state("not known"))
	require.Equal(t, "it is not known", spilt.String())
	require.Equal(t, "it is desconocido", spilt.By(place{"not known": "desconocido"}))
}

func TestARecordHoldsTheEnglishWords(t *testing.T) {
	type record struct {
		Why  phrase.Sentence `json:"why"`
		None phrase.Sentence `json:"none,omitzero"`
	}
	line, err := json.Marshal(record{Why: phrase.Measured("%.0f mL are needed", 30.0)})
	require.NoError(t, err)
	require.JSONEq(t, `{"why":"30 mL are needed"}`, string(line))
	var back record
	require.NoError(t, json.Unmarshal(line, &back))
	require.Equal(t, "30 mL are needed", back.Why.String())
	require.True(t, back.None.IsZero())
}
