package ledger_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// told gives sentences in the inside units.
func told(all []phrase.Sentence) []string {
	var out []string
	for _, t := range all {
		out = append(out, t.String())
	}
	return out
}

// spelled stands for the writing of a place.
type spelled struct{ phrase.Inside }

func (spelled) Figure(f quantity.Figure) string {
	return strings.ReplaceAll(f.String(), "mL", "millilitres")
}

func TestQuantitiesOfASentenceCanBeWrittenAnewAndNamesStay(t *testing.T) {
	b := newBook(t).room()
	bottle := "500 mL bottle"
	b.write(at("12:00"), ledger.ContainerNamed{Container: bottle, Vessel: ledger.Bottle, Capacity: 500})
	b.write(at("12:05"), fixer("fix", "tray-fix", 1000))

	err := b.l.Check(b.entry(at("12:10"), ledger.PortionPoured{From: "tray-fix", To: bottle, Volume: 600}))
	require.ErrorIs(t, err, ledger.ErrVolume)
	require.ErrorContains(t, err, "500 mL bottle takes 500 mL and already holds 0 mL: 600 mL more do not fit.")
	require.Equal(t, "500 mL bottle takes 500 millilitres and already holds 0 millilitres: 600 millilitres more do not fit. Check the "+
		"volume, or use another vessel.",
		phrase.Error(err, spelled{}))

	student := developer("dev", bottle, 500)
	student.ParentVolume, student.Water = 40, 400 // 440 (0.1 - 1/11) / (1 - 0.1) = 4.4
	warned := b.l.Warnings(b.entry(at("12:20"), student))
	require.Equal(t, "500 mL bottle: 9.1 % too weak: add 4.4 millilitres of concentrate, and enter it as a top-up", warned[0].By(spelled{}))
}

func TestAProblemWithinAProblemIsWrittenAnewToo(t *testing.T) {
	b := newBook(t).room()
	b.write(at("12:00"), fixer("fix", "tray-fix", 1000))
	b.write(at("13:00"), ledger.PortionPoured{From: "tray-fix", To: "bottle-fix", Volume: 900})
	err := b.l.Check(b.entry(at("12:30"), ledger.Discarded{Container: "tray-fix", Volume: 300, Route: "drain", Reason: "spilt"}))
	require.ErrorIs(t, err, ledger.ErrLater)
	require.Contains(t, phrase.Error(err, spelled{}), "tray-fix holds 700 millilitres, but 900 millilitres was taken out")
	require.Equal(t, err.Error(), phrase.Error(err, phrase.Inside{}))
}
