package audit_test

import (
	"bytes"
	"encoding/csv"
	"math"
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history"
	"wetside/dashboard/report"
	"wetside/rules/session"
	"wetside/sensors"
)

// tableRows reads a table of a pack as a stranger does: text by the name of its column.
func tableRows(t *testing.T, d report.Data, file string) (rows []map[string]string) {
	tables := report.Tables(d)
	at := slices.IndexFunc(tables, func(t report.Table) bool { return t.File == file })
	require.GreaterOrEqual(t, at, 0, file)
	var text bytes.Buffer
	require.NoError(t, tables[at].Write(&text))
	all, err := csv.NewReader(&text).ReadAll()
	require.NoError(t, err)
	for _, cells := range all[1:] {
		row := map[string]string{}
		for i, name := range all[0] {
			row[name] = cells[i]
		}
		rows = append(rows, row)
	}
	return rows
}

// stretch is a time of one level, from seconds to seconds of the session, as the table of
// minutes gives it: what was read, what was below detection, what was at the end of the range, the rest.
type stretch struct{ from, to, low, high float64 }

// stretches lays the minutes of one gas in a row; open where nothing bounds a value.
func stretches(t *testing.T, rows []map[string]string, session, channel, level string) (list []stretch) {
	number := func(text string, unknown float64) float64 {
		if text == "" {
			return unknown
		}
		v, err := strconv.ParseFloat(text, 64)
		require.NoError(t, err)
		return v
	}
	at := 0.0
	add := func(length, low, high float64) {
		if length > 0 {
			list = append(list, stretch{at, at + length, low, high})
			at += length
		}
	}
	for _, row := range rows {
		if row["session"] != session || row["channel"] != channel {
			continue
		}
		read, below, over := number(row["read_s"], 0), number(row["below_detection_s"], 0), number(row["over_range_s"], 0)
		value, end := number(row[level], 0), number(row["range_end_ppm"], math.Inf(1))
		add(read, value, value)
		add(below, 0, number(row["detection_ppm"], 0))
		add(over, end, math.Inf(1))
		add(number(row["length_s"], 0)-read-below-over, 0, end)
	}
	return list
}

// worst gives the highest average of any window of so many seconds, at least and at most.
// Time before the first minute was not read.
func worst(list []stretch, window, before float64) (low, high float64) {
	end := list[len(list)-1].to
	over := func(to float64) (l, h float64) {
		if from := to - window; from < 0 {
			h = -from * before
		}
		for _, s := range list {
			if part := math.Min(s.to, to) - math.Max(s.from, to-window); part > 0 {
				l, h = l+part*s.low, h+part*s.high
			}
		}
		return l / window, h / window
	}
	low, high = over(end)
	for _, s := range list {
		for _, to := range []float64{s.to, s.to + window} {
			if to >= window && to <= end {
				l, h := over(to)
				low, high = math.Max(low, l), math.Max(high, h)
			}
		}
	}
	return low, high
}

// Two gases rise and fall over two hours, with a silence of five minutes and readings below
// the detection limit: every average of the pack follows from its minutes alone.
func TestTheAveragesOfAPackFollowFromItsMinutes(t *testing.T) {
	p := newPlace(t)
	s := session.Session{Phase: session.Open, Begun: p.clock.Now().Wall}
	p.phase(s)
	for minute := range 120 {
		var b history.Batch
		for second := 0; second < 60; second += 10 {
			at := p.clock.Now().Wall.Add(time.Duration(second) * time.Second)
			sulfur := 0.05
			if minute%3 > 0 {
				sulfur = 0.3 + float64(minute)/100
			}
			b.Samples = append(b.Samples, history.Sample{Channel: "room-sulfur-dioxide", At: at, Raw: sulfur, Grade: sensors.Good})
			if minute < 40 || minute >= 45 {
				b.Samples = append(b.Samples, history.Sample{Channel: "room-acetic-acid", At: at, Raw: float64(minute % 20), Grade: sensors.Good})
			}
		}
		require.NoError(t, p.store.Append(t.Context(), b))
		p.clock.Advance(time.Minute)
	}
	s.Phase = session.Closed
	p.phase(s)
	d := p.gather(term(), term().AddDate(0, 0, 2))
	minutes, seen := tableRows(t, d, "gas-minutes.csv"), 0
	for _, row := range tableRows(t, d, "averages.csv") {
		if row["unit"] != "ppm" || row["lowest_average"] == "" {
			continue
		}
		level, window := "mean_ppm", 60*parsed(t, row["minutes"])
		if window == 0 {
			level = "highest_ppm"
		}
		list := stretches(t, minutes, row["session"], row["channel"], level)
		low, high := 0.0, 0.0
		if window == 0 {
			for _, s := range list {
				low, high = math.Max(low, s.low), math.Max(high, s.high)
			}
		} else {
			low, high = worst(list, window, parsed(t, minutes[slices.IndexFunc(minutes,
				func(m map[string]string) bool { return m["channel"] == row["channel"] })]["range_end_ppm"]))
		}
		require.InDelta(t, parsed(t, row["lowest_average"]), low, 1e-6*(1+low), "%v", row) // seven digits are written
		require.InDelta(t, parsed(t, row["highest_average"]), high, 1e-6*(1+high), "%v", row)
		seen++
	}
	require.GreaterOrEqual(t, seen, 6, "two gases against the averages and ceilings of two jurisdictions")
}

func parsed(t *testing.T, text string) float64 {
	v, err := strconv.ParseFloat(text, 64)
	require.NoError(t, err)
	return v
}
