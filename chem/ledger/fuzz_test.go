package ledger_test

import (
	"encoding/json"
	"os"
	"testing"

	"github.com/stretchr/testify/require"
	"wetside/chem/ledger"
	"wetside/rules/record"
)

// Whatever is decoded is valid, and survives writing and reading again.
func FuzzDecodeAct(f *testing.F) {
	for _, act := range []ledger.Act{
		fixer("fix", "bottle", 1000), ledger.PortionPoured{From: "a", To: "b", Volume: 5}, iodide("a", "clear"),
		sheets(3, []string{"Cy"}, "tray"),
		ledger.Correction{Of: 3, Reason: "misread", At: evening(), Instead: ledger.Promoted{From: "a", To: "b"}},
		ledger.Correction{Of: 3, Reason: "no"},
		ledger.LotReceived{Lot: "l", Class: ledger.Fixer, Units: 2, UnitVolume: 500, Owner: ledger.Owner("private: Cy"), Expiry: evening()},
		ledger.SilverMeasured{Sample: "outflow", Silver: ledger.SilverFigure{High: 0.2, Under: true}, Method: ledger.Laboratory,
			Sampled: evening()},
	} {
		data, err := ledger.EncodeAct(act)
		require.NoError(f, err)
		f.Add(act.Kind(), data)
	}
	f.Add("correction", []byte(`{"of":1,"reason":"r","kind":"correction","act":{}}`))
	f.Add("portion poured", []byte(`{"from":"a","to":"b","volume_ml":1e999}`))
	f.Fuzz(func(t *testing.T, kind string, data []byte) {
		act, err := ledger.DecodeAct(kind, data)
		if err != nil {
			return
		}
		written, err := ledger.EncodeAct(act)
		require.NoError(t, err)
		again, err := ledger.DecodeAct(kind, written)
		require.NoError(t, err, "%s", written)
		rewritten, err := ledger.EncodeAct(again)
		require.NoError(t, err)
		require.JSONEq(t, string(written), string(rewritten))
		// An act that nobody expected is refused or taken by the ledger, never a panic.
		b := ledger.New(ledger.Settings{})
		_ = b.Apply(ledger.Entry{Number: 1, At: evening(), Entered: evening(), By: "Ada", Act: act})
	})
}

// Whatever the parser accepts holds only products that validate.
func FuzzParseCatalogue(f *testing.F) {
	data, err := os.ReadFile("../../configs/catalogue.toml")
	require.NoError(f, err)
	f.Add(data)
	f.Add([]byte("[[product]]\nid = \"a\"\nname = \"A\"\nclass = \"fixer\"\nfull = { value = 1e9, unit = \"months\", source = \"s\", " +
		"standing = \"verified\" }\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		c, err := ledger.ParseCatalogue(data)
		if err != nil {
			return
		}
		_, err = ledger.NewCatalogue(c.Products()...)
		require.NoError(t, err)
	})
}

func TestEveryKindCanBeWrittenAndRead(t *testing.T) {
	require.Equal(t, []string{"room as found", "note left"}, record.Names(ledger.NoteKinds(), func(record.Kind) bool { return true }))
	_, err := ledger.DecodeAct("nonsense", nil)
	require.ErrorIs(t, err, ledger.ErrForm)
	_, err = ledger.DecodeAct("portion poured", []byte(`{"from":"a","to":"b","volume_ml":1,"colour":"red"}`))
	require.ErrorContains(t, err, "colour")
	_, err = ledger.DecodeAct("portion poured", []byte(`{"from":"a","to":"b","volume_ml":1}{}`))
	require.ErrorContains(t, err, "nothing after it")
	_, err = ledger.EncodeAct(nil)
	require.ErrorIs(t, err, ledger.ErrForm)
	_, err = json.Marshal(ledger.Entry{})
	require.Error(t, err)
	_, err = ledger.Write("Friday", nil)
	require.ErrorIs(t, err, ledger.ErrForm)
}

// Shelf, report and a past moment read a record by what is declared of its kind.
func TestTheKindOfARecordReadsWhatWasWritten(t *testing.T) {
	kinds, err := record.NewRegistry(ledger.Kinds()...)
	require.NoError(t, err)
	for _, act := range []ledger.Act{iodide("a", "clear"), ledger.Correction{Of: 3, Reason: "no"}, silver("<0.2"), silver("2-4 g/L"),
		silver(">6"),
		ledger.Correction{Of: 3, Reason: "no", At: evening(), Instead: silver("5")}, fixer("F", "tray", 1000), booking("b", evening(), 3)} {
		content, err := ledger.Write("Friday", act)
		require.NoError(t, err)
		read, err := kinds.Decode(act.Kind(), content)
		require.NoError(t, err)
		got := read.(ledger.Content)
		require.Equal(t, "Friday", got.Session)
		require.Equal(t, act, got.Act)
		read, err = kinds.Decode(act.Kind(), []byte(`{"act":{"mood":"good"}}`))
		require.ErrorContains(t, err, "mood")
		require.JSONEq(t, `{"mood":"good"}`, string(read.(ledger.Content).Written), "what no version knows can still be shown")
	}
}
