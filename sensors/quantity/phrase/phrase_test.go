package phrase_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// place writes millilitres in words, a decimal comma and a minus.
type place struct{}

func (p place) Figure(f quantity.Figure) string {
	return p.Sign(strings.ReplaceAll(f.String(), "mL", "millilitres"))
}

func (place) Sign(number string) string {
	return strings.NewReplacer(".", ",", "-", "−").Replace(number)
}

// state is a key of records with words of its own.
type state string

func (s state) Said() phrase.Sentence { return phrase.Say("not known") }

func TestASentenceIsReadInTheFiguresOfAPlace(t *testing.T) {
	spilt := phrase.Say("%s holds %s", "500 mL bottle", quantity.Millilitre(20).To(1))
	for name, test := range map[string]struct {
		sentence        phrase.Sentence
		here, overThere string
	}{
		"a name stays, a quantity is written anew": {spilt, "500 mL bottle holds 20 mL", "500 mL bottle holds 20 millilitres"},
		"a sentence within one": {phrase.Say("pour %s away", spilt), "pour 500 mL bottle holds 20 mL away",
			"pour 500 mL bottle holds 20 millilitres away"},
		"a number": {phrase.Say("%+.1f %% at %g, %d times", 2.55, 0.5, 3), "+2.5 % at 0.5, 3 times",
			"+2,5 % at 0,5, 3 times"},
		"a number below zero":               {phrase.Say("%+d s, %d s, %.1f K", -22, -5, -0.5), "-22 s, -5 s, -0.5 K", "−22 s, −5 s, −0,5 K"},
		"a number with a type of its own":   {phrase.Say("%.2f m²", quantity.SquareMetre(1.5)), "1.50 m²", "1,50 m²"},
		"a number that was written already": {phrase.Say("below %s ppm", quantity.Decimal("0.25")), "below 0.25 ppm", "below 0,25 ppm"},
		"what a person wrote":               {phrase.Plain("30.5 % mL"), "30.5 % mL", "30.5 % mL"},
		"sentences in a row": {phrase.Join("; ", phrase.Say("the fan is off"), spilt),
			"the fan is off; 500 mL bottle holds 20 mL", "the fan is off; 500 mL bottle holds 20 millilitres"},
		"an error within one": {phrase.Say("no air: %v", phrase.Errorf("%s are needed", quantity.Millilitre(5).To(1))),
			"no air: 5 mL are needed", "no air: 5 millilitres are needed"},
		"a state": {phrase.Say("the state is %s", state("x")), "the state is not known",
			"the state is not known"},
		"a row with a sign of its own between": {phrase.Join(" %s% ", phrase.Say("a"), phrase.Say("b")), "a %s% b", "a %s% b"},
		"nothing":                              {phrase.Sentence{}, "", ""},
	} {
		t.Run(name, func(t *testing.T) {
			require.Equal(t, test.here, test.sentence.String())
			require.Equal(t, test.overThere, test.sentence.By(place{}))
			require.Equal(t, test.here == "", test.sentence.IsZero())
		})
	}
}

func TestAnErrorIsASentenceAndKeepsItsCause(t *testing.T) {
	cause := errors.New("the disk is full")
	err := phrase.Errorf("no air below %s: %w", quantity.Millilitre(5).To(1), cause)
	require.ErrorIs(t, err, cause)
	require.EqualError(t, err, "no air below 5 mL: the disk is full")
	require.Equal(t, "no air below 5 millilitres: the disk is full", phrase.Error(err, place{}))
	require.Equal(t, "board: no air below 5 mL: the disk is full", phrase.Error(fmt.Errorf("board: %w", err), place{}),
		"wrapped in other words, as it is")
	require.Equal(t, "5 mL", phrase.Error(errors.New("5 mL"), place{}))
}

func TestErrorsThatWereJoinedAreReadOneByOne(t *testing.T) {
	joined := errors.Join(phrase.Errorf("%.1f is too much", 2.5), errors.New("5 mL"))
	require.Equal(t, "2,5 is too much\n5 mL", phrase.Error(joined, place{}))
}

func TestARecordHoldsTheInsideUnits(t *testing.T) {
	type record struct {
		Why  phrase.Sentence `json:"why"`
		None phrase.Sentence `json:"none,omitzero"`
	}
	line, err := json.Marshal(record{Why: phrase.Say("%s are needed", quantity.Millilitre(30).To(1))})
	require.NoError(t, err)
	require.JSONEq(t, `{"why":"30 mL are needed"}`, string(line))
	var back record
	require.NoError(t, json.Unmarshal(line, &back))
	require.Equal(t, "30 mL are needed", back.Why.String())
	require.Equal(t, "30 mL are needed", back.Why.By(place{}), "what was read back stays as it was written")
	require.True(t, back.None.IsZero())
}

func TestANumberStaysWithItsUnit(t *testing.T) {
	const held = "\u00a0"
	for text, want := range map[string]string{
		"open for 63 h 1 min, 98.1 % of it":   "open for 63" + held + "h" + held + "1" + held + "min, 98.1" + held + "% of it",
		"1 g in 100 mL of water: a 1 % bath":  "1" + held + "g in 100" + held + "mL of water: a 1" + held + "% bath",
		"begun 1 Dec 2026, 12 Mayors":         "begun 1" + held + "Dec 2026, 12 Mayors",
		"22.5 °C, 64 fl oz, 3 sheets at 8x10": "22.5" + held + "°C, 64" + held + "fl oz, 3 sheets at 8x10",
	} {
		require.Equal(t, want, phrase.Together(text))
	}
}
