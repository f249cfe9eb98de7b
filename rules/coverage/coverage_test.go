package coverage_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/rules/coverage"
	"wetside/sensors"
)

func at(second int) time.Time { return time.Date(2026, 10, 14, 18, 0, second, 0, time.UTC) }

func span(from, to int) coverage.Span { return coverage.Span{From: at(from), To: at(to)} }

// sample is a sample at a second; why is empty for a good one.
type sample struct {
	second int
	why    string
}

func count(required coverage.Span, samples []sample, recorded []coverage.Gap) coverage.Coverage {
	c := coverage.NewCounter(required, coverage.Channel{Silence: 15 * time.Second, Until: at(100_000)})
	for _, s := range samples {
		c.Add(at(s.second), s.why)
	}
	return c.Finish(recorded)
}

// every gives a good sample every ten seconds from one second to another.
func every(from, to int) (list []sample) {
	for s := from; s <= to; s += 10 {
		list = append(list, sample{second: s})
	}
	return list
}

func Example() {
	c := coverage.NewCounter(span(0, 3600), coverage.Channel{Silence: 15 * time.Second, Until: at(7200)})
	for _, s := range append(every(0, 1200), every(1500, 3600)...) {
		c.Add(at(s.second), s.why)
	}
	got := c.Finish([]coverage.Gap{{Span: span(1200, 1490), Cause: coverage.Cause("line gone")}})
	fmt.Printf("%s of %s, longest gap %s: %s\n", got.Valid, got.Required, got.Longest, got.Gaps[0].Cause)
	// Output: 55m0s of 1h0m0s, longest gap 5m0s: port lost
}

func TestCoverageStories(t *testing.T) {
	for _, c := range []struct {
		name     string
		samples  []sample
		recorded []coverage.Gap
		valid    time.Duration
		longest  time.Duration
		gaps     []coverage.Gap
	}{
		{"everything measured", every(0, 610), nil, 600 * time.Second, 0, nil},
		{"nothing measured", nil, nil, 0, 600 * time.Second, []coverage.Gap{{Span: span(0, 600), Cause: coverage.NotRecorded}}},
		{"a missing minute is a missing minute", append(every(0, 300), every(360, 610)...), nil, 540 * time.Second, time.Minute,
			[]coverage.Gap{{Span: span(300, 360), Cause: coverage.NotRecorded}}},
		{"two causes in a row", append(every(0, 300), every(420, 610)...),
			[]coverage.Gap{{Span: span(360, 420), Cause: "machine off"}, {Span: span(290, 360), Cause: "port lost"}}, 480 * time.Second,
			2 * time.Minute,
			[]coverage.Gap{{Span: span(300, 360), Cause: "port lost"}, {Span: span(360, 420), Cause: "machine off"}}},
		{"a gap that is still open", every(0, 300), []coverage.Gap{{Span: coverage.Span{From: at(300)}, Cause: "machine off"}},
			300 * time.Second, 5 * time.Minute,
			[]coverage.Gap{{Span: span(300, 600), Cause: "machine off"}}},
		{"a doubtful reading is none", append(append(every(0, 290), sample{300, "probe suspect: jump"}), every(310, 610)...), nil,
			590 * time.Second, 10 * time.Second,
			[]coverage.Gap{{Span: span(300, 310), Cause: "probe suspect: jump"}}},
		{"the sample before the time counts into it", append(every(-10, 290), every(300, 610)...), nil, 600 * time.Second, 0, nil},
		{"a sample out of order is passed over", append(every(0, 300), append([]sample{{second: 100}}, every(310, 610)...)...), nil,
			600 * time.Second, 0, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := count(span(0, 600), c.samples, c.recorded)
			require.Equal(t, 600*time.Second, got.Required)
			require.Equal(t, c.valid, got.Valid)
			require.Equal(t, c.longest, got.Longest)
			require.Equal(t, c.gaps, got.Gaps)
		})
	}
}

func TestWhatIsStillToComeIsNotRequired(t *testing.T) {
	c := coverage.NewCounter(span(0, 600), coverage.Channel{Silence: 15 * time.Second, Until: at(305)})
	for _, s := range every(0, 300) {
		c.Add(at(s.second), "")
	}
	got := c.Finish(nil)
	require.Equal(t, 305*time.Second, got.Required)
	require.Equal(t, 305*time.Second, got.Valid)
	require.Zero(t, coverage.NewCounter(span(600, 0), coverage.Channel{Until: at(0)}).Finish(nil).Required,
		"a time that ends before it begins requires nothing")
}

func TestCausesAreSaidInAnAuditorsWords(t *testing.T) {
	for recorded, want := range map[string]string{
		string(sensors.LineLost): "port lost", string(sensors.Silent): "probe silent", string(sensors.FlatLine): "probe suspect: flat line",
		string(sensors.OutOfService): "out of service", "machine off": "machine off", "": coverage.NotRecorded,
	} {
		require.Equal(t, want, coverage.Cause(recorded))
		if want != "machine off" { // a processing machine is one too: people read of the computer
			require.Equal(t, want, coverage.Told(want).String())
		}
	}
	require.Equal(t, "computer off", coverage.Told("machine off").String())
}

func drawSamples(t *rapid.T) (list []sample) {
	second := -60
	for range rapid.IntRange(0, 60).Draw(t, "samples") {
		second += rapid.IntRange(0, 40).Draw(t, "pause")
		list = append(list, sample{second, rapid.SampledFrom([]string{"", "", "", "flat line"}).Draw(t, "why")})
	}
	return list
}

func drawGaps(t *rapid.T) (list []coverage.Gap) {
	for range rapid.IntRange(0, 5).Draw(t, "gaps") {
		from := rapid.IntRange(-60, 900).Draw(t, "gap from")
		list = append(list, coverage.Gap{Span: span(from, from+rapid.IntRange(0, 300).Draw(t, "gap length")),
			Cause: rapid.SampledFrom([]string{"port lost", "machine off"}).Draw(t, "cause")})
	}
	return list
}

// byHand counts the valid seconds by the definition, one by one.
func byHand(samples []sample, from, to int) (valid time.Duration) {
	for s := from; s < to; s++ {
		last, next := -1, -1
		for i := range samples {
			if samples[i].second <= s {
				last = i
			} else if next < 0 {
				next = i
			}
		}
		if last >= 0 && next >= 0 && samples[last].why == "" && samples[next].second-samples[last].second <= 15 {
			valid += time.Second
		}
	}
	return valid
}

func TestRunsCountLikeTheirSamples(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		samples := drawSamples(t)
		c := coverage.NewCounter(span(0, 600), coverage.Channel{Silence: 15 * time.Second, Until: at(100_000)})
		for i := 0; i < len(samples); {
			last := i
			for last+1 < len(samples) && samples[last+1].why == samples[i].why && samples[last+1].second-samples[last].second <= 15 {
				last++
			}
			c.AddRun(span(samples[i].second, samples[last].second), samples[i].why)
			i = last + 1
		}
		require.Equal(t, count(span(0, 600), samples, nil), c.Finish(nil))
	})
}

func TestValidAndMissingAddUpAndASplitTimeToo(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		samples, gaps := drawSamples(t), drawGaps(t)
		from := rapid.IntRange(0, 300).Draw(t, "from")
		middle := from + rapid.IntRange(0, 300).Draw(t, "middle")
		to := middle + rapid.IntRange(0, 300).Draw(t, "to")
		whole := count(span(from, to), samples, gaps)
		require.Equal(t, whole.Required, whole.Valid+whole.Missing)
		require.Equal(t, byHand(samples, from, to), whole.Valid)

		var sum time.Duration
		end := at(from)
		for _, g := range whole.Gaps {
			require.Positive(t, g.Length())
			require.False(t, g.From.Before(end), "gaps are in order and never overlap")
			require.LessOrEqual(t, g.Length(), whole.Longest)
			sum, end = sum+g.Length(), g.To
		}
		require.False(t, end.After(at(to)))
		require.Equal(t, whole.Missing, sum)

		first, second := count(span(from, middle), samples, gaps), count(span(middle, to), samples, gaps)
		require.Equal(t, whole.Required, first.Required+second.Required)
		require.Equal(t, whole.Valid, first.Valid+second.Valid)
	})
}

func TestTheGapsOverASessionAreThoseOfAllThatTouchIt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		gap := rapid.Custom(func(t *rapid.T) coverage.Gap {
			g := coverage.Gap{Span: span(rapid.IntRange(0, 100).Draw(t, "from"), 0), Cause: rapid.StringN(1, 2, 2).Draw(t, "cause")}
			if g.To = g.From.Add(time.Duration(rapid.IntRange(0, 60).Draw(t, "length")) * time.Second); rapid.IntRange(0, 9).Draw(t, "lasts") == 0 {
				g.To = time.Time{}
			}
			return g
		})
		gaps := rapid.SliceOfN(gap, 0, 12).Draw(t, "gaps")
		over := span(rapid.IntRange(0, 100).Draw(t, "over from"), rapid.IntRange(0, 120).Draw(t, "over to"))
		var want []coverage.Gap
		for _, g := range gaps {
			if g.From.Before(over.To) && (g.To.IsZero() || g.To.After(over.From)) {
				want = append(want, g)
			}
		}
		slices.SortStableFunc(want, func(a, b coverage.Gap) int { return a.From.Compare(b.From) })
		require.Equal(t, want, coverage.Lay(gaps).Over(over))
	})
}
