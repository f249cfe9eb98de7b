package daemon_test

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/daemon"
	"wetside/daemon/history"
	"wetside/dashboard/cards"
	"wetside/rules"
)

// An older version kept what was in the trays beside the book of the shelf. The contents are as
// that version wrote them.
func oldTrays() []history.Entry {
	entry := func(kind, content string) history.Entry {
		return history.Entry{Kind: kind, Room: "darkroom", Person: "Ida (invented)", Content: json.RawMessage(content)}
	}
	return []history.Entry{
		entry("tray filled", `{"bath":"developer","batch":"A1","what":"invented `+
			`developer","parts_concentrate":1,"parts_water":9,"volume_ml":2000}`),
		entry("tray filled", `{"bath":"fixer","batch":"F1","what":"invented fixer","volume_ml":2000}`),
		entry("tray covered", `{"bath":"fixer","covered":true}`),
		entry("tray filled", `{"bath":"stop-bath","batch":"S1","what":"invented stop bath"}`),
		entry("tray emptied", `{"bath":"stop-bath","where":"to waste"}`),
	}
}

// onOldBook starts a daemon on a book with such records.
func onOldBook(t *testing.T) (daemon.Options, bench) {
	o := options(t)
	store, err := history.Open(t.Context(), history.Options{Dir: o.Config.Data, Clock: o.Clock, Zone: time.UTC})
	require.NoError(t, err)
	_, err = store.RecordAll(t.Context(), oldTrays())
	require.NoError(t, err)
	require.NoError(t, store.Close())
	return o, bench{t, running(t, o), "darkroom"}
}

// portions is what the board shows in the trays, by bath.
func (b bench) portions() map[string]rules.Portion {
	list := map[string]rules.Portion{}
	for _, v := range b.d.Now().Rooms[0].Baths {
		if v.Portion != nil {
			list[v.Bath.ID] = *v.Portion
		}
	}
	return list
}

func TestTheTraysOfAnOlderBookAreOnTheBoardAndInTheReportAsBefore(t *testing.T) {
	_, b := onOldBook(t)
	got := b.portions()
	require.Len(t, got, 2)
	developer, fixer := got["developer"], got["fixer"]
	require.Equal(t, rules.Portion{Record: developer.Record, Batch: "A1", What: "invented developer", By: "Ida (invented)",
		Filled:      developer.Filled,
		Concentrate: 1, Water: 9, Volume: 2000}, developer)
	require.Equal(t, rules.Portion{Record: fixer.Record, Batch: "F1", What: "invented fixer", By: "Ida (invented)", Filled: fixer.Filled,
		Volume: 2000, Covered: true}, fixer)
	require.Less(t, developer.Record, fixer.Record)
	require.Empty(t, look(b.d, func(s *cards.ShelfBook) []string { return s.Containers() }), "the shelf knows nothing of them")

	now := time.Now()
	report, err := b.d.Reports().Report(t.Context(), now.Add(-time.Hour), now.Add(time.Hour))
	require.NoError(t, err)
	var lines []string
	for _, e := range report.Chemistry {
		lines = append(lines, e.Kind+": "+e.What.Said().String())
	}
	require.Equal(t, []string{
		"tray filled: bath developer; batch A1; what invented developer; parts concentrate 1; parts water 9; volume 2000 mL",
		"tray filled: bath fixer; batch F1; what invented fixer; volume 2000 mL",
		"tray filled: bath stop-bath; batch S1; what invented stop bath",
		"tray emptied: bath stop-bath; where to waste",
	}, lines)
}

func TestWhatIsEnteredNowEndsTheEntryOfAnOlderBook(t *testing.T) {
	_, b := onOldBook(t)
	_, err := b.d.Do(t.Context(), rules.Command{Room: "darkroom", Person: "Bo", Act: oldAct(t)})
	require.Error(t, err, "the kinds of older books are only read")
	_, err = b.tries("Bo", ledger.TraysCovered{Containers: []string{developerTray}})
	require.ErrorIs(t, err, ledger.ErrUnknown)

	found(t, b.d, "darkroom", "developer")
	require.Equal(t, "invented bath", b.portions()["developer"].What)
	b.does("Bo", ledger.Discarded{Container: developerTray, Volume: 2000, Emptied: true, Route: "collected (invented)", Reason: "end"})
	require.NotContains(t, b.portions(), "developer", "the old entry does not come back")
	require.Contains(t, b.portions(), "fixer")
}

// oldAct is an act of an older book.
func oldAct(t *testing.T) rules.Act {
	act, err := rules.DecodeAct("tray emptied", oldTrays()[4].Content)
	require.NoError(t, err)
	return act
}
