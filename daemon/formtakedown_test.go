package daemon_test

import (
	"net/url"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/daemon/northtest"
	"wetside/dashboard/cards"
	"wetside/dashboard/formtest"
	"wetside/rules"
)

func TestATakeDownReturnsDiscardsBalancesAndLeavesANote(t *testing.T) {
	s := stocked(t)
	require.Contains(t, s.page(takeDown), "No session is open.</p>", "no tray is filled")
	s.Does(ledger.SessionOpened{Session: "north session", Title: "Invented class", Lead: "Ada"},
		ledger.ContainerNamed{Container: "fixer jug", Vessel: ledger.Bottle, Capacity: 5000}, mixed("F1", "fixer jug", 200, 1800),
		ledger.PortionPoured{From: "fixer jug", To: "Fixer tray", Volume: 2000},
		ledger.SheetsUsed{Containers: []string{"Fixer tray"}, Material: ledger.ResinCoated, Count: 4, SheetArea: ledger.EightByTen},
		ledger.TestDone{Test: ledger.IodideTest, Container: "Fixer tray", Seen: "clear"},
		ledger.BatchMixed{Batch: "D1", Name: "Developer", Product: "print-developer", Class: ledger.PrintDeveloper, Into: "Developer tray",
			Meant: ledger.FromConcentrate,
			From:  "PD bottle", ParentVolume: 200, Water: 1800, Aim: ledger.Parts{Parent: 1, Water: 9}, Owner: ledger.House})
	text := s.page(takeDown)
	require.Contains(t, text, "<h2>Developer tray</h2>", "one vessel at a time")
	require.Contains(t, text, "does not keep overnight")
	text = s.sent(s.entry(takeDown, "discarded", "volume_ml", "1.9 L", "route", "foul drain, as the place allows", "who", "Bo").Send())
	require.Contains(t, text, "<h2>Fixer tray</h2>")
	require.Contains(t, text, "Silver-bearing: keep it apart.")
	require.Contains(t, text, "5.0 mg/L")
	require.Contains(t, text, "<strong>Return.</strong> The iodide precipitate test passed", "the verdict is said once")
	form := s.entry(takeDown, "returned", "volume_ml", "1900", "who", "Bo")
	require.Equal(t, "fixer jug", form.Values().Get("to"), "back to where it came from")
	text = s.sent(form.Send())
	require.Regexp(t, `(?s)print developer</th><td[^>]*>2000 mL</td><td[^>]*>0 mL</td><td[^>]*>1900 mL</td><td[^>]*>0 mL</td><td[^>]*>0 `+
		`mL</td><td[^>]*>0 mL</td><td[^>]*>100 mL \(5 %\)`, text, "mixed 2000, discarded 1900")
	require.Contains(t, text, "State: all trays and tanks are empty.")
	note := s.opens(takeDown).Form(formtest.Having("note")).FillIn("who", "Bo", "note", "  ")
	require.Contains(t, note.Press("all done").Problem(), "A note has one to 12 lines")
	s.Does(ledger.ClosingListWritten{List: ledger.AfterTakeDown, Lines: []string{"Bench wiped"}})
	require.Contains(t, note.Fill("note", "State: all empty.").Press("all done").Problem(), "The list has changed")
	note = s.opens(takeDown).Form(formtest.Having("note")).FillIn("who", "Bo")
	require.Contains(t, note.Enter().Problem(), "Press the button that says whether", "the key Enter ends no session")
	require.Contains(t, s.sent(note.Fill("note", "State: all empty.\nFirst: wipe the bench 🙂").Press("all done")), "wipe the bench")
	text = s.page(setUp)
	require.Regexp(t, `(?s)Left by the last volunteer.*Bo.*First: wipe the bench`, text, "shown at the next set-up")
	s.look(func(b *cards.ShelfBook) {
		session, ok := b.Session("north session")
		require.True(t, ok)
		require.False(t, session.Closed.IsZero())
		require.True(t, b.ClosingSigned(ledger.AfterTakeDown, session.ID), "and the list of the place is signed")
	})
}

func TestSheetsGoInByOnePressOfTheirSizeAndATimeIsAnnounced(t *testing.T) {
	s := stocked(t)
	s.Does(mixed("F1", "Fixer tray", 200, 1800))
	form := s.entry(baths, "sheets-used", "who", "Ada", "count", "5")
	require.Equal(t, []string{"Fixer tray"}, form.Values()["containers"])
	after := form.Press("8x10")
	require.Equal(t, baths, after.Address.Path)
	require.Contains(t, s.sent(after), "5 × 8x10 of resin-coated paper through Fixer tray")

	s.Does(nine("D1", developerTray, 200, 1800))
	s.Minutes(1, northtest.Usual())
	text := s.page(baths)
	require.Regexp(t, `Announce \d:\d\d`, text)
	announce := s.opens(baths).Form(formtest.To("/rooms/north/announce")).Fill("who", "Ada")
	require.Contains(t, s.sent(announce.Send()), " was announced for Developer by Ada")
	announced, by := lastOf[rules.AnnounceTime](s, rules.AnnounceTime{}.Kind())
	require.Equal(t, "Ada", by.Person)
	require.Equal(t, "developer", announced.Bath)
	require.InDelta(t, 120, announced.Seconds, 30)
}

// The trays are seen to in the order in which sheets go through them, and nobody chooses among no waste containers.
func TestATakeDownGoesAlongTheTrays(t *testing.T) {
	s := stocked(t)
	s.Does(ledger.SessionOpened{Session: "north session", Title: "Invented class", Lead: "Ada"}, mixed("F1", "Fixer tray", 200, 1800),
		ledger.BathFound{Batch: "S1", Name: "stop bath", Class: ledger.StopBath, Container: "Stop bath tray", Volume: 1000},
		ledger.BathFound{Batch: "D1", Name: "developer", Class: ledger.PrintDeveloper, Container: "Developer tray", Volume: 1000})
	page := s.opens("/rooms/north/take-down")
	require.Regexp(t, `(?s)Developer tray.*Stop bath tray.*Fixer tray.*Note for the next volunteer`, page.Text())
	discard := page.Form(formtest.To("/shelf/enter/discarded"))
	require.NotContains(t, discard.Shown(), "to", "no waste container is for developer")
	s.sent(discard.Fill("route", "foul drain, as the place allows").Fill("who", "Ada").Send())
}

// A bath of a take-down is tested where it is seen to: one press records what was seen, and the same page goes on with
// the bath and its volume.
func TestABathIsTestedWithinItsTakeDown(t *testing.T) {
	for seen, next := range map[string]string{"clear": "<h3>Back to storage</h3>", "cloudy": "<h3>Discard</h3>"} {
		s := stocked(t)
		s.Does(ledger.SessionOpened{Session: "north session", Title: "Invented class", Lead: "Ada"},
			ledger.ContainerNamed{Container: "fixer jug", Vessel: ledger.Bottle, Capacity: 5000}, mixed("F1", "fixer jug", 200, 1800),
			ledger.PortionPoured{From: "fixer jug", To: "Fixer tray", Volume: 2000},
			ledger.SheetsUsed{Containers: []string{"Fixer tray"}, Material: ledger.ResinCoated, Count: 22, SheetArea: ledger.EightByTen})
		page := s.opens(takeDown)
		require.Regexp(t, `(?s)Test it first.*Does a precipitate form\?.*passed: it may go back to storage`, page.Text())
		after := page.Form(formtest.Having("test", string(ledger.IodideTest))).Fill("who", "Bo").Press(seen)
		require.Equal(t, takeDown, after.Address.Path)
		text := s.sent(after)
		require.Contains(t, text, next, seen)
		require.Equal(t, seen == "cloudy", strings.Contains(text, "Back to storage all the same"), seen)
		form := after.Form(formtest.To("/shelf/enter/returned"))
		require.Equal(t, []string{"2000 mL", "Bo"}, []string{form.Values().Get("volume_ml"), form.Values().Get("who")})
	}
}

func TestAFailedTestLeadsToItsPrintsFromTheReceipt(t *testing.T) {
	s := stocked(t)
	s.Does(ledger.SessionOpened{Session: "evening", Title: "Invented class", Lead: "Ada"}, mixed("F1", "Fixer tray", 200, 1800),
		ledger.SheetsUsed{Containers: []string{"Fixer tray"}, Material: ledger.ResinCoated, Count: 5, SheetArea: ledger.EightByTen})
	test := func(seen string) *formtest.Page {
		return s.opens("/shelf/enter/test-done?container=Fixer+tray&test="+url.QueryEscape(string(ledger.IodideTest))).
			Form(formtest.To("/shelf/enter/test-done")).FillIn("seen", seen, "who", "Ada").Send()
	}
	require.NotContains(t, s.read(test("clear")), "Which prints are affected")
	s.Does(ledger.SheetsUsed{Containers: []string{"Fixer tray"}, Material: ledger.ResinCoated, Count: 5, SheetArea: ledger.EightByTen})
	failed := test("cloudy")
	failed.Says("odide precipitate test of Fixer tray: cloudy (failed)")
	require.Contains(t, s.read(failed.Follow("Which prints are affected")), "Invented class")
}

// From the page of the tests to what shelf and list say afterwards. A print tells nothing of how far the bath had gone.
func TestAStainOnAPrintIsRecordedFromThePageOfTests(t *testing.T) {
	s := stocked(t)
	s.Does(ledger.SessionOpened{Session: "evening", Title: "Invented class", Lead: "Ada"}, mixed("F1", "Fixer tray", 200, 1800),
		ledger.SheetsUsed{Containers: []string{"Fixer tray"}, Material: ledger.ResinCoated, Count: 1, SheetArea: ledger.EightByTen})
	require.NotRegexp(t, `(?s)Fixer tray</a>.*?TEST FIRST`, s.page("/shelf"))
	record := regexp.MustCompile(`href="([^"]*test=residual\+silver)">Record the result`).FindStringSubmatch(s.page("/shelf/tests"))
	require.Len(t, record, 2)
	form := s.opens(strings.ReplaceAll(record[1], "&amp;", "&")).Form(formtest.To("/shelf/enter/test-done"))
	require.Contains(t, s.read(form.FillIn("who", "Ada").Send()), "No result of this test is given. Choose one of: no stain, stain.")
	receipt := form.FillIn("who", "Ada", "seen", "stain").Send()
	require.Contains(t, s.read(receipt), "Residual silver test of finished prints: stain (failed)")
	require.Contains(t, s.page("/shelf"), "The residual silver test of finished prints failed")
	require.Regexp(t, `(?s)Fixer tray</a>.*?TEST FIRST.*?A print fixed in it failed the residual silver test`, s.page("/shelf"))
	affected := s.read(receipt.Follow("Which prints are affected"))
	require.Contains(t, affected, "Invented class")
	require.NotContains(t, affected, "100")
}
