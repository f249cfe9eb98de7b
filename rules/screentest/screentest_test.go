package screentest_test

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/rules/screentest"
)

// The three results that Kodak publication K-4 shows and reads out.
func TestTheWorkedResultsOfThePublishedTest(t *testing.T) {
	for name, c := range map[string]struct {
		before, after string
		clear         time.Duration
	}{
		"A: no added density on either side: at least 7 minutes":               {"none", "none", 7 * time.Minute},
		"B: change from 1 minute before, from 3 minutes after: handle in dark": {"1", "3", 0},
		"C: good for 7 minutes before and 3 after: limit the total to 3":       {"none", "7", 3 * time.Minute},
	} {
		t.Run(name, func(t *testing.T) {
			before, err := screentest.ParseMarked(c.before)
			require.NoError(t, err)
			after, err := screentest.ParseMarked(c.after)
			require.NoError(t, err)
			require.Equal(t, c.clear, screentest.Note{Before: before, After: after}.Clear())
		})
	}
}

func TestThePartsAddUpToTheStrips(t *testing.T) {
	var sum time.Duration
	for _, p := range screentest.Parts() {
		sum += p.Light
		require.Equal(t, sum, p.Sum)
	}
	require.Equal(t, 7*time.Minute, sum, "K-4: the longest step is 7 minutes")
}

func TestOnlyStripsOfTheSheetAreTaken(t *testing.T) {
	for _, text := range []string{"", "2", "0", "-1", "7 min", "NONE", "1e0"} {
		_, err := screentest.ParseMarked(text)
		require.ErrorContains(t, err, "expected none, 1, 3 or 7", text)
	}
}

func TestAFindingComesBackFromTheBookAsItWas(t *testing.T) {
	for _, text := range []string{"none", "1", "3", "7"} {
		m, err := screentest.ParseMarked(text)
		require.NoError(t, err)
		kept, err := json.Marshal(screentest.Note{Screen: "s", Before: m, After: m})
		require.NoError(t, err)
		var back screentest.Note
		require.NoError(t, json.Unmarshal(kept, &back))
		require.Equal(t, m, back.Before)
		require.Equal(t, text, back.After.String())
	}
	require.Error(t, json.Unmarshal([]byte(`{"before":"5"}`), &screentest.Note{}))
}

func TestATestMustSayWhatItHoldsFor(t *testing.T) {
	whole := screentest.Note{Screen: "lab computer", Brightness: "10 %", Paper: "grade 2 glossy", Place: "beside the developer"}
	require.NoError(t, whole.Complete())
	for what, cut := range map[string]func(*screentest.Note){
		"screen": func(n *screentest.Note) { n.Screen = " " }, "brightness": func(n *screentest.Note) { n.Brightness = "" },
		"paper": func(n *screentest.Note) { n.Paper = "" }, "place of the paper": func(n *screentest.Note) { n.Place = "" },
	} {
		n := whole
		cut(&n)
		require.ErrorContains(t, n.Complete(), what)
	}
}

func TestOneScreenHasItsNewestTestOfEachPaperAlone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		start := time.Date(2026, 3, 1, 18, 0, 0, 0, time.UTC)
		var tests []screentest.Test
		for i := range rapid.IntRange(0, 20).Draw(t, "tests") {
			tests = append(tests, screentest.Test{Record: uint64(i), At: start.Add(time.Duration(rapid.IntRange(0, 50).Draw(t,
				"day")) * 24 * time.Hour),
				Note: screentest.Note{Screen: rapid.SampledFrom([]string{"A", "a", "b"}).Draw(t, "screen"),
					Paper: rapid.SampledFrom([]string{"P", "p", "q"}).Draw(t, "paper")}})
		}
		got := screentest.Of("a", tests)
		require.LessOrEqual(t, len(got), 2)
		for i, one := range got {
			require.Contains(t, []string{"A", "a"}, one.Screen)
			if i > 0 {
				require.False(t, one.At.After(got[i-1].At))
			}
		}
		for _, one := range tests {
			if one.Screen == "b" {
				continue
			}
			require.Condition(t, func() bool {
				for _, kept := range got {
					if !kept.At.Before(one.At) && (kept.Paper == one.Paper || kept.Paper == "P" && one.Paper == "p" || kept.Paper == "p" &&
						one.Paper == "P") {
						return true
					}
				}
				return false
			})
		}
	})
}
