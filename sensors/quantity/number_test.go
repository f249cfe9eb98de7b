package quantity_test

import (
	"errors"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/sensors/quantity"
)

func TestANumberIsReadAsPeopleTypeIt(t *testing.T) {
	for text, want := range map[string]float64{
		"12.5": 12.5, "12,5": 12.5, "0,500": 0.5, "1,50": 1.5, "1,5000": 1.5, "1234,567": 1234.567, "1.500": 1.5, " 7 ": 7, "-3": -3,
		"1e3": 1000, ".5": 0.5,
		"1,500.5": 1500.5, "1,234,567": 1234567, "1,234,567.8": 1234567.8, "1.500,5": 1500.5, "1.234.567": 1234567, "1.234.567,8": 1234567.8,
		"1 500": 1500, "1 500,5": 1500.5, "1\u00a0500.5": 1500.5, "12 345 678": 12345678, "-1,500.5": -1500.5, "\u22125": -5,
	} {
		got, err := quantity.Number(text)
		require.NoError(t, err, text)
		require.InDelta(t, want, got, 1e-9, text)
	}
	for _, text := range []string{"", "some", "1,5,0", "1.5.0", "15,00.5", "1,50.5", "0,500.5", "1.50,5", "1 50", "1 5000", "0x10", "NaN",
		"Inf", "1e999", "--1", "+-1", "1,500,00", "1e3,5", "1 500 5"} {
		_, err := quantity.Number(text)
		require.Error(t, err, text)
	}
}

func TestThreeDigitsBehindAnOnlyCommaAreAskedAbout(t *testing.T) {
	for text, want := range map[string][2]float64{"1,500": {1500, 1.5}, "12,345": {12345, 12.345}, "-1,500": {-1500, -1.5},
		"100,000": {100000, 100}} {
		_, err := quantity.Number(text)
		var two *quantity.AmbiguousNumberError
		require.ErrorAs(t, err, &two, text)
		require.InDelta(t, want[0], two.Thousands, 1e-9)
		require.InDelta(t, want[1], two.Decimal, 1e-9)
	}
	_, err := quantity.ParseMillilitre("1,500 mL")
	require.EqualError(t, err, `"1,500 mL": 1500 mL or 1.5 mL? Write the one you mean without the comma`)
	_, err = quantity.ParseCelsius("1,500 C")
	require.ErrorContains(t, err, "1500 C or 1.5 C?")
}

// A number that is written with grouped thousands and decimals gives itself back, or is asked about.
func TestGroupedNumbersAreReadBackOrAskedAbout(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		whole, decimals := rapid.IntRange(1, 999_999_999).Draw(t, "whole"), rapid.StringMatching(`[0-9]{0,4}`).Draw(t, "decimals")
		signs := rapid.SampledFrom([][2]string{{",", "."}, {".", ","}, {" ", "."}, {" ", ","}}).Draw(t, "signs")
		text, plain := grouped(whole, signs[0]), strconv.Itoa(whole)
		if decimals != "" {
			text, plain = text+signs[1]+decimals, plain+"."+decimals
		}
		want, err := strconv.ParseFloat(plain, 64)
		require.NoError(t, err)
		got, err := quantity.Number(text)
		var two *quantity.AmbiguousNumberError
		switch {
		case errors.As(err, &two):
			require.Contains(t, []float64{two.Thousands, two.Decimal}, want, text)
		case signs[0] == "." && decimals == "" && whole >= 1000 && whole < 1_000_000:
			require.InDelta(t, want/1000, got, 1e-6, "one point stands before decimals: %s", text)
		default:
			require.NoError(t, err, text)
			require.InDelta(t, want, got, 1e-9*want, text)
		}
	})
}

func grouped(whole int, sign string) string {
	text := strconv.Itoa(whole)
	for at := len(text) - 3; at > 0; at -= 3 {
		text = text[:at] + sign + text[at:]
	}
	return text
}

func FuzzNumber(f *testing.F) {
	for _, seed := range []string{"1,500", "1,500.5", "1 500", "1.234.567,8", "-3e2", "٣"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		v, err := quantity.Number(text)
		if err != nil {
			require.NotEmpty(t, err.Error())
			return
		}
		again, err := quantity.Number(strconv.FormatFloat(v, 'f', -1, 64))
		require.NoError(t, err)
		require.InDelta(t, v, again, 0)
	})
}

// The US gallon is 231 cubic inches, the imperial gallon 4.54609 L (NIST Handbook 44, appendix C; UK
// Weights and Measures Act 1985); 128 and 160 fluid ounces make one.
func TestFluidOuncesAndOtherUnitsAreReadInAllSpellings(t *testing.T) {
	const us, imperial = 29.5735295625, 28.4130625
	for text, want := range map[string]float64{
		"6.4 floz": 6.4 * us, "6.4 fl oz": 6.4 * us, "6.4 fl. oz.": 6.4 * us, "6.4 Fl.Oz": 6.4 * us, "6.4 US fl oz": 6.4 * us,
		"6.4 U.S. fl. oz.": 6.4 * us,
		"6.4 fluid ounces": 6.4 * us, "1 fluid ounce": us, "2 US fluid ounces": 2 * us, "10 imp fl oz": 10 * imperial,
		"10 UK fl. oz.": 10 * imperial, "10 imperial fluid ounces": 10 * imperial,
		"500 ml": 500, "500 mLs": 500, "500 millilitres": 500, "500 cc": 500, "500 cm³": 500, "1.5 litres": 1500, "1.5 Liter": 1500,
		"2 L": 2000, "1 gallon": 128 * us, "1 imperial gallon": 160 * imperial,
		"1,500.5 mL": 1500.5, "1 500 mL": 1500, "500 mL mL": 500, "64 fl oz fl oz": 64 * us, "64 fl oz US fl oz": 64 * us,
	} {
		got, err := quantity.ParseMillilitre(text)
		require.NoError(t, err, text)
		require.InDelta(t, want, float64(got), 1e-9, text)
	}
	for text, says := range map[string]string{"500 mL L": "two units, mL and L: write one", "5 oz": "may be a weight",
		"5 ounces": "may be a weight", "2000 L": "more than 1000 L", "-5 mL": "negative",
		"500": "has no unit", "500 F": "expected a liquid volume", "500 C mL": "two units, C and mL"} {
		_, err := quantity.ParseMillilitre(text)
		require.ErrorContains(t, err, says, text)
	}
	for _, text := range []string{"99%", "99 %", "99 per cent", "99 percent", "99 pct"} {
		got, err := quantity.Reading[quantity.Percent](quantity.Ratio)(text)
		require.NoError(t, err, text)
		require.InDelta(t, 99, float64(got), 1e-12)
	}
	for _, text := range []string{"68F", "68 °F", "68 ° F", "68 degrees F", "68 deg. F", "68 Fahrenheit", "68 ºF"} {
		got, err := quantity.ParseCelsius(text)
		require.NoError(t, err, text)
		require.InDelta(t, 20, float64(got), 1e-9, text)
	}
}

func TestABareNumberIsToldFromOneWithAUnit(t *testing.T) {
	for text, bare := range map[string]bool{"1,500": true, "1 500": true, "-2.5": true, "1,500 mL": false, "some": false, "": false} {
		require.Equal(t, bare, quantity.Bare(text), text)
	}
}
