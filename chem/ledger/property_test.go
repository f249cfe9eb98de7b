package ledger_test

import (
	"encoding/json"
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
	"wetside/chem/ledger"
	"wetside/sensors/quantity"
)

// anyAct draws an act that is well-formed, though it need not be possible.
func anyAct(t *rapid.T, n int) ledger.Act {
	place := func(name string) string {
		return rapid.SampledFrom([]string{"bottle-fix", "bottle-fix-2", "tray-fix", "tray-fix-2"}).Draw(t, name)
	}
	volume := quantity.Millilitre(rapid.IntRange(1, 2500).Draw(t, "volume"))
	from, to := place("from"), place("to")
	emptied := rapid.Bool().Draw(t, "emptied")
	switch rapid.IntRange(0, 12).Draw(t, "act") {
	case 0, 1:
		return fixer(fmt.Sprintf("fix-%d", n), to, volume)
	case 2, 3:
		return ledger.PortionPoured{From: from, To: to, Volume: volume}
	case 4:
		return ledger.ToppedUp{Container: to, Water: volume}
	case 5:
		return ledger.Returned{From: from, To: to, Volume: volume, Emptied: emptied}
	case 6:
		return ledger.Discarded{Container: from, Volume: volume, Emptied: emptied, To: "drum-silver", Reason: "drawn"}
	case 7:
		return ledger.Promoted{From: from, To: to}
	case 8:
		return ledger.Merged{From: from, Into: to}
	case 9:
		return ledger.TraysCovered{Containers: []string{"tray-fix"}}
	case 10:
		return sheets(rapid.IntRange(1, 30).Draw(t, "count"), nil, "tray-fix")
	case 11:
		return ledger.BathFound{Container: to, Batch: fmt.Sprintf("found-%d", n), Name: "fixer", Class: ledger.Fixer, Volume: volume,
			Fresh: emptied}
	}
	return iodide(to, rapid.SampledFrom([]ledger.Seen{"clear", "cloudy"}).Draw(t, "seen"))
}

// anyBook writes what is possible of a random evening, some of it late, some of it corrected.
func anyBook(t *rapid.T, base *book) []ledger.Entry {
	l := ledger.New(ledger.Settings{Catalogue: catalogue(base.t)})
	require.NoError(t, l.Replay(base.entries))
	entries := slices.Clone(base.entries)
	now := evening()
	for n := range rapid.IntRange(5, 40).Draw(t, "entries") {
		now = now.Add(time.Duration(rapid.IntRange(0, 20).Draw(t, "minutes")) * time.Minute)
		act := anyAct(t, n)
		if rapid.IntRange(0, 9).Draw(t, "correct") == 0 {
			act = ledger.Correction{Of: entries[len(entries)-1].Number, Reason: "misread", Instead: act}
		}
		late := time.Duration(rapid.SampledFrom([]int{0, 0, 0, 0, 45}).Draw(t, "late")) * time.Minute
		e := ledger.Entry{Number: l.Version() + 1, At: now.Add(-late), Entered: now, By: "Ada", Act: act}
		if l.Check(e) == nil {
			require.NoError(t, l.Apply(e), "what is checked is taken")
			entries = append(entries, e)
			balances(t, l)
		}
	}
	return entries
}

// balances says that nothing is negative and that what came is held or went.
func balances(t *rapid.T, l *ledger.Ledger) {
	for _, id := range l.Containers() {
		c, _ := l.Container(id)
		contents, ok := l.Contents(id, evening().Add(24*time.Hour))
		if !ok {
			continue
		}
		require.Positive(t, float64(contents.Volume), id)
		require.LessOrEqual(t, float64(contents.Volume), 1.001*float64(c.Capacity), id)
		shares := 0.0
		for _, share := range contents.Shares {
			require.GreaterOrEqual(t, float64(share.Volume), 0.0)
			shares += float64(share.Volume)
		}
		require.InDelta(t, float64(contents.Volume), shares, 1e-6, "the batches in %s make up its volume", id)
	}
	a := l.Account()
	require.InDelta(t, float64(a.In), float64(a.Held+a.Out), 1e-5)
}

// Any evening: volumes stay positive, accounts balance, and the book replayed,
// at once, one by one, in any pieces, or through JSON, gives the same ledger.
func TestReplayGivesTheSameLedger(t *testing.T) {
	base := newBook(t).room()
	rapid.Check(t, func(t *rapid.T) {
		entries := anyBook(t, base)
		settings := ledger.Settings{Catalogue: catalogue(base.t)}
		whole := ledger.New(settings)
		require.NoError(t, whole.Replay(entries))
		single := ledger.NewKeeping(settings, rapid.IntRange(1, 20).Draw(t, "kept every"))
		at := rapid.IntRange(0, len(entries)-1).Draw(t, "copied")
		var copied *ledger.Ledger
		for i, e := range entries {
			if i == at {
				copied = single.Copy()
			}
			require.NoError(t, single.Apply(e))
		}
		require.Equal(t, whole.Plain(), single.Plain())
		until := ledger.New(settings)
		require.NoError(t, until.Replay(entries[:at]))
		require.Equal(t, until.Plain(), copied.Plain(), "a copy stays as it was")
		for _, e := range entries[at:] {
			require.NoError(t, copied.Apply(e))
		}
		require.Equal(t, whole.Plain(), copied.Plain())
		require.Equal(t, whole.Plain(), single.Plain(), "a copy that goes on changes nothing in what it was made of")
		for i, e := range entries {
			near := single.Near(e.Number)
			since := slices.DeleteFunc(slices.Clone(entries[:i+1]), func(e ledger.Entry) bool { return e.Number <= near.Version() })
			require.NoError(t, near.Replay(since))
			then := ledger.New(settings)
			require.NoError(t, then.Replay(entries[:i+1]))
			require.Equal(t, then.Plain(), near.Plain(), "the past is the same from a moment that was kept as from the first entry")
		}
		pieces := ledger.NewKeeping(settings, rapid.IntRange(1, 20).Draw(t, "pieces kept every"))
		for rest := entries; len(rest) > 0; {
			n := rapid.IntRange(1, len(rest)).Draw(t, "piece")
			require.NoError(t, pieces.Replay(rest[:n]))
			rest = rest[n:]
		}
		require.Equal(t, whole.Plain(), pieces.Plain())
		data, err := json.Marshal(entries)
		require.NoError(t, err)
		var read []ledger.Entry
		require.NoError(t, json.Unmarshal(data, &read))
		again := ledger.New(settings)
		require.NoError(t, again.Replay(read))
		require.Equal(t, whole.Plain(), again.Plain())
	})
}

// Promoting moves a liquid with its whole history and changes no sum; only its place in the row is another.
func TestPromotingConservesHistory(t *testing.T) {
	base := newBook(t).room()
	rapid.Check(t, func(t *rapid.T) {
		l := ledger.New(ledger.Settings{Catalogue: catalogue(base.t)})
		require.NoError(t, l.Replay(anyBook(t, base)))
		now := evening().Add(24 * time.Hour)
		before, held := l.Contents("tray-fix-2", now)
		uses, account := l.Uses(), l.Account()
		e := ledger.Entry{Number: l.Version() + 1, At: now, Entered: now, By: "Ada", Act: ledger.Promoted{From: "tray-fix-2", To: "tray-fix"}}
		if l.Check(e) != nil {
			_, taken := l.Contents("tray-fix", now)
			require.True(t, !held || taken, "it is refused only when there is nothing to move or no room")
			return
		}
		require.NoError(t, l.Apply(e))
		after, ok := l.Contents("tray-fix", now)
		require.True(t, ok)
		after.Container, after.Bath = before.Container, before.Bath
		require.False(t, after.Row.Second)
		after.Row.Second, after.Row.Rotations = before.Row.Second, before.Row.Rotations
		require.Equal(t, before, after)
		require.Equal(t, uses, l.Uses())
		require.InDelta(t, float64(account.Held), float64(l.Account().Held), 1e-6)
		require.Equal(t, []quantity.Millilitre{account.In, account.Out}, []quantity.Millilitre{l.Account().In, l.Account().Out})
	})
}

// Pouring apart and together again conserves volume, solute, age, temperature and use.
func TestPouringApartAndTogether(t *testing.T) {
	base := newBook(t).room()
	base.write(at("12:00"), fixer("fix", "bottle-fix", 3000))
	base.write(at("12:05"), ledger.PortionPoured{From: "bottle-fix", To: "tray-fix", Volume: 2000})
	base.write(at("12:10"), sheets(7, nil, "tray-fix"))
	base.write(at("12:20"), ledger.Returned{From: "tray-fix", To: "bottle-fix", Volume: 2000})
	rapid.Check(t, func(t *rapid.T) {
		l := ledger.New(ledger.Settings{Catalogue: catalogue(base.t)})
		require.NoError(t, l.Replay(base.entries))
		before, _ := l.Contents("bottle-fix", at("13:00"))
		v := quantity.Millilitre(rapid.Float64Range(0.001, 2999).Draw(t, "volume"))
		for i, act := range []ledger.Act{ledger.PortionPoured{From: "bottle-fix", To: "bottle-fix-2", Volume: v},
			ledger.Merged{From: "bottle-fix-2", Into: "bottle-fix"}} {
			require.NoError(t, l.Apply(ledger.Entry{Number: l.Version() + 1, At: at("13:00"), Entered: at("13:00"), By: "Ada", Act: act}),
				"step %d", i)
		}
		after, _ := l.Contents("bottle-fix", at("13:00"))
		require.InDelta(t, float64(before.Volume), float64(after.Volume), 1e-6)
		require.InDelta(t, *before.Strength, *after.Strength, 1e-9)
		require.InDelta(t, before.OpenHours, after.OpenHours, 1e-9)
		require.InDelta(t, float64(before.Load.Total()), float64(after.Load.Total()), 1e-9)
		require.WithinDuration(t, before.Made, after.Made, time.Second)
	})
}
