package cells_test

import (
	"bytes"
	"encoding/csv"
	"math"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/sensors/quantity/cells"
	"wetside/sensors/quantity/phrase"
)

// TestRowsAreThoseOfTheStandardLibrary writes any texts, numbers and times in both ways.
func TestRowsAreThoseOfTheStandardLibrary(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.OneOf(rapid.String(), rapid.SampledFrom([]string{"", `\.`, "a,b", `say "x"`, "\n", "\r\n", " a", "\u00a0a", "\u2028",
			"=1+1", "＝x", "-", `"`, ",", "a\x00b", "\xff"}))
		number := rapid.OneOf(rapid.Float64(), rapid.Float64Range(-1000, 1000), rapid.Map(rapid.IntRange(-1<<60, 1<<60),
			func(n int) float64 { return float64(n) }),
			rapid.SampledFrom([]float64{0, math.Copysign(0, -1), math.NaN(), math.Inf(1), math.Inf(-1), 1e15, -1e15, 1e300}))
		zone := time.FixedZone("there", rapid.IntRange(-14*3600, 14*3600).Draw(t, "offset"))
		at := time.UnixMilli(rapid.Int64Range(-70_000_000_000_000, 260_000_000_000_000).Draw(t, "at")).In(zone)
		var standard bytes.Buffer
		w := csv.NewWriter(&standard)
		var row cells.Row
		for range rapid.IntRange(1, 3).Draw(t, "rows") {
			a, b, v, n := text.Draw(t, "text"), text.Draw(t, "plain"), number.Draw(t, "number"), rapid.Int64().Draw(t, "whole")
			row = row.Whole(n).Text(a).Plain(b).Figure(v).Moment(at).Moment(at.UTC()).Empty(2).End()
			const form = "2006-01-02T15:04:05.000Z07:00"
			require.NoError(t, w.Write([]string{strconv.FormatInt(n, 10), phrase.Cell(a), b, strconv.FormatFloat(v, 'f', -1, 64),
				at.Format(form), at.UTC().Format(form), "", ""}))
		}
		w.Flush()
		require.Equal(t, standard.String(), string(row))
	})
}

// BenchmarkMoment writes one time of a table.
func BenchmarkMoment(b *testing.B) {
	at := time.Date(2026, 10, 14, 19, 15, 0, 250_000_000, time.UTC)
	var row cells.Row
	for b.Loop() {
		row = row[:0].Moment(at)
	}
}
