package ledger_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"wetside/chem/ledger"
	"wetside/sensors/quantity"
)

// Everything that a person can get wrong gives a sentence that says what is wrong and what to do.
func TestBadInput(t *testing.T) {
	tooMuch := fixer("x", "tray-fix", 2000)
	tooMuch.Total = 2500
	overflowing := fixer("x", "tray-fix", 3500)
	twice := fixer("fix", "tray-fix-2", 1000)
	wrongBottle := fixer("x", "bottle-dev", 1000)
	boiling := quantity.Celsius(120)
	hot := fixer("x", "tray-fix", 1000)
	hot.MixTemperature = &boiling
	for name, c := range map[string]struct {
		act  ledger.Act
		sort error
		says string
	}{
		"volumes that do not add up": {tooMuch, ledger.ErrVolume,
			"200 mL of concentrate or stock and 1800 mL of water make 2000 mL, not 2500 mL"},
		"more than the tray takes": {overflowing, ledger.ErrVolume, "do not fit"},
		"a draw of more than is left": {ledger.PortionPoured{From: "bottle-fix", To: "tray-fix", Volume: 2500}, ledger.ErrNotEnough,
			"bottle-fix holds 2000 mL, but 2500 mL was taken out"},
		"an unknown container": {ledger.PortionPoured{From: "bottle-fax", To: "tray-fix", Volume: 10}, ledger.ErrUnknown, `"bottle-fax"`},
		"a taken name":         {twice, ledger.ErrTaken, "another name"},
		"the wrong bottle":     {wrongBottle, ledger.ErrMismatch, "kept for print developer"},
		"into itself":          {ledger.PortionPoured{From: "tray-fix", To: "tray-fix", Volume: 10}, ledger.ErrForm, "where it went"},
		"a negative volume":    {ledger.PortionPoured{From: "bottle-fix", To: "tray-fix", Volume: -10}, ledger.ErrVolume, "was measured"},
		"boiling fixer":        {hot, ledger.ErrForm, "between 0 and 100"},
		"a test without baseline": {ledger.TestDone{Test: ledger.ClearingTest, Container: "bottle-fix", Film: "f", Seconds: 40},
			ledger.ErrBaseline, "Record this as measured on the fresh bath"},
		"a colour read by red light": {ledger.TestDone{Test: ledger.StopColourTest, Container: "bottle-fix", Seen: "yellow"}, ledger.ErrForm,
			"white light"},
		"a test of the wrong bath": {ledger.TestDone{Test: ledger.IodideTest, Container: "conc-dev", Seen: "clear"}, ledger.ErrMismatch,
			"says nothing about print developer"},
		"a test of an empty tray":  {iodide("tray-fix", "clear"), ledger.ErrNotEnough, "a late entry is accepted"},
		"an answer nobody can see": {iodide("bottle-fix", "green"), ledger.ErrForm, "clear, cloudy"},
		"a print of no session":    {ledger.TestDone{Test: ledger.ResidualSilver, Seen: "stain"}, ledger.ErrSession, "Name the session"},
		"no sheets":                {sheets(0, nil, "tray-fix"), ledger.ErrForm, "at least 1"},
		"sheets in a bottle":       {sheets(1, nil, "bottle-fix"), ledger.ErrMismatch, "nothing is processed in it"},
		"silver into the other drum": {ledger.Discarded{Container: "bottle-fix", Volume: 10, To: "drum-plain", Reason: "old"},
			ledger.ErrMismatch, "Keep the wastes apart"},
		"nothing left of the lot":     {ledger.LotOpened{Lot: "lot-none", Container: "c"}, ledger.ErrUnknown, "delivery"},
		"a correction of nothing":     {ledger.Correction{Of: 999, Reason: "x"}, ledger.ErrUnknown, "no entry 999"},
		"a correction without reason": {ledger.Correction{Of: 1}, ledger.ErrForm, "reason"},
		"a session closed unopened":   {ledger.SessionClosed{Session: "s"}, ledger.ErrUnknown, "Check the name"},
	} {
		t.Run(name, func(t *testing.T) {
			b := newBook(t).room()
			b.write(at("18:00"), fixer("fix", "bottle-fix", 2000))
			version, account := b.l.Version(), b.l.Account()
			require.Contains(t, b.refuse(b.entry(at("19:00"), c.act), c.sort), c.says)
			require.Error(t, b.l.Apply(b.entry(at("19:00"), c.act)))
			require.Equal(t, version, b.l.Version())
			require.Equal(t, account, b.l.Account())
		})
	}
}

func TestBatchOlderThanItsParent(t *testing.T) {
	b := newBook(t).room()
	early := fixer("x", "tray-fix", 1000)
	said := b.refuse(b.wroteLate(evening().AddDate(0, 0, -1).Add(-time.Hour), early), ledger.ErrOlder)
	require.Contains(t, said, "3 Mar 2025 17:00 and conc-fix, which it is mixed from, is dated 3 Mar 2025 18:00")

	b.write(at("18:00"), ledger.LotOpened{Lot: "lot-fix", Container: "conc-new"})
	early.From = "conc-new"
	require.Contains(t, b.refuse(b.wroteLate(at("17:00"), early), ledger.ErrOlder), "cannot be older than what it is mixed from")
}

func TestTimesAndPeople(t *testing.T) {
	left := at("12:00").AddDate(0, -1, 0)
	b := &book{t: t, l: ledger.New(ledger.Settings{Catalogue: catalogue(t), People: []ledger.Person{{Name: "Ada"},
		{Name: "Old", Left: left}}})}
	b.room()
	future := b.entry(at("18:00"), fixer("x", "tray-fix", 1000))
	future.Entered = at("17:00")
	require.Contains(t, b.refuse(future, ledger.ErrTime), "lies in the future")
	gone := b.entry(at("18:00"), fixer("x", "tray-fix", 1000))
	gone.By = "Old"
	require.Contains(t, b.refuse(gone, ledger.ErrPerson), "Old left on 4 Feb 2025")
	gone.By = "Nobody"
	require.Contains(t, b.refuse(gone, ledger.ErrPerson), `"Nobody"`)
	require.False(t, b.entry(at("18:00"), nil).Late())
	require.True(t, b.wroteLate(at("18:00"), nil).Late())
}

// Two volunteers look at the same bottle; the second is told what the first did.
func TestTwoVolunteersAtOnce(t *testing.T) {
	b := newBook(t).room()
	b.write(at("18:00"), fixer("fix", "bottle-fix", 4000))
	seen := b.l.Version()
	first := b.write(at("18:10"), ledger.PortionPoured{From: "bottle-fix", To: "tray-fix", Volume: 2000})
	second := b.entry(at("18:11"), ledger.PortionPoured{From: "bottle-fix", To: "tray-fix-2", Volume: 2000})
	second.By, second.Seen = "Bo", seen
	require.Contains(t, b.refuse(second, ledger.ErrStale), "Ada changed bottle-fix")
	second.Seen = b.l.Version()
	require.NoError(t, b.l.Check(second))
	// A correction counts as a change too, and two corrections of one entry collide.
	seen = b.l.Version()
	b.write(at("18:12"), ledger.Correction{Of: first, Reason: "misread", Instead: ledger.PortionPoured{From: "bottle-fix", To: "tray-fix",
		Volume: 1900}})
	second.Number, second.Seen = 0, seen
	require.Contains(t, b.refuse(second, ledger.ErrStale), "what you typed is kept")
	again := b.entry(at("18:13"), ledger.Correction{Of: first, Reason: "misread", Instead: ledger.PortionPoured{From: "bottle-fix",
		To: "tray-fix", Volume: 1800}})
	again.Seen = seen
	b.refuse(again, ledger.ErrStale)
}

// A correction is a new record: the old one stays, the ledger follows the new one.
func TestCorrection(t *testing.T) {
	b := newBook(t).room()
	mixed := b.write(at("18:00"), fixer("fix", "bottle-fix", 2000))
	poured := b.write(at("18:10"), ledger.PortionPoured{From: "bottle-fix", To: "tray-fix", Volume: 1000})
	said := b.refuse(b.entry(at("18:20"), ledger.Correction{Of: mixed, Reason: "never happened"}), ledger.ErrLater)
	require.Contains(t, said, "Entry 14")
	correction := b.write(at("18:20"), ledger.Correction{Of: poured, Reason: "it was 1.5 L",
		Instead: ledger.PortionPoured{From: "bottle-fix", To: "tray-fix", Volume: 1500}})
	c, _ := b.l.Contents("tray-fix", at("18:30"))
	require.InDelta(t, 1500, float64(c.Volume), 1e-9)
	b.refuse(b.entry(at("18:21"), ledger.Correction{Of: correction, Reason: "no"}), ledger.ErrForm)
	b.write(at("18:22"), ledger.Correction{Of: poured, Reason: "not at all"})
	_, ok := b.l.Contents("tray-fix", at("18:30"))
	require.False(t, ok)
	b.refuse(b.entry(at("18:23"), ledger.Correction{Of: poured, Reason: "more than there is",
		Instead: ledger.PortionPoured{From: "bottle-fix", To: "tray-fix", Volume: 2500}}), ledger.ErrNotEnough)
}

func TestSeveralSessionsNeedAName(t *testing.T) {
	b := newBook(t).room()
	b.write(at("18:00"), ledger.SessionOpened{Session: "a", Title: "Class", Lead: "Bo"})
	b.write(at("18:00"), ledger.SessionOpened{Session: "b", Title: "Film line", Lead: "Cy"})
	require.Contains(t, b.refuse(b.entry(at("18:01"), sheets(1, nil, "tray-fix")), ledger.ErrSession), "2 sessions are open")
	e := b.entry(at("18:01"), sheets(1, nil, "tray-fix"))
	e.Session = "b"
	b.take(e)
	require.Equal(t, "b", b.l.Uses()[0].Session)
}
