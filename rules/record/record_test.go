package record_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules/access"
	"wetside/rules/record"
)

type lamp struct {
	Colour string `json:"colour"`
}

func lampChanged() record.Kind {
	return record.Kind{Name: "lamp changed", Decode: record.JSON[lamp], Recalled: record.Never, Least: access.Volunteer,
		Judges: record.Nothing}
}

func TestAKindThatIsDeclaredInPartOrTwiceIsRefused(t *testing.T) {
	for want, spoil := range map[string]func(*record.Kind){
		"has no name":                          func(k *record.Kind) { k.Name = "" },
		"how its content is read":              func(k *record.Kind) { k.Decode = nil },
		"whether a room that starts again":     func(k *record.Kind) { k.Recalled = 0 },
		"the lowest role that may enter":       func(k *record.Kind) { k.Least = "" },
		"what it changes the judgement of":     func(k *record.Kind) { k.Judges = "" },
		`the role "king", which nobody can ha`: func(k *record.Kind) { k.Least = "king" },
	} {
		k := lampChanged()
		spoil(&k)
		_, err := record.NewRegistry(k)
		require.ErrorContains(t, err, want)
	}
	_, err := record.NewRegistry(lampChanged(), lampChanged())
	require.ErrorContains(t, err, `"lamp changed" is declared twice`)
}

func TestARegistryReadsAndSelectsByWhatIsDeclared(t *testing.T) {
	moved := lampChanged()
	moved.Name, moved.Recalled, moved.Least, moved.Judges = "lamp moved", record.Within(48*time.Hour), record.Program, record.Air
	r, err := record.NewRegistry(lampChanged(), moved)
	require.NoError(t, err)

	got, err := r.Decode("lamp changed", []byte(`{"colour":"red"}`))
	require.NoError(t, err)
	require.Equal(t, lamp{"red"}, got)
	_, err = r.Decode("lamp changed", []byte(`[]`))
	require.Error(t, err)
	_, err = r.Decode("lamp sold", nil)
	require.ErrorContains(t, err, `unknown kind of record "lamp sold"`)

	require.Equal(t, []string{"lamp moved"}, r.Names(record.Judging(record.Gases, record.Air)))
	require.Equal(t, []string{"lamp moved"}, r.Names(record.RecalledAs(record.Within(48*time.Hour))))
	require.Equal(t, []string{"lamp changed"}, r.Names(record.RecalledAs(record.Never)))

	require.True(t, access.Volunteer.Covers(r.Least("lamp changed")))
	require.False(t, access.Keeper.Covers(r.Least("lamp moved")), "no person enters what the program writes")
	require.False(t, access.Keeper.Covers(r.Least("lamp sold")), "what nobody declared is for nobody")
}

func TestARecordIsAboutWhenItHappened(t *testing.T) {
	written := time.Date(2026, 3, 4, 20, 0, 0, 0, time.UTC)
	require.Equal(t, written, record.Record{At: written}.When())
	require.Equal(t, written.Add(-time.Hour), record.Record{At: written, Happened: written.Add(-time.Hour)}.When())
}
