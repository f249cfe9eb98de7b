package daemon_test

import (
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/daemon/history/disktest"
	"wetside/dashboard/formtest"
	"wetside/rules"
)

// Whoever asks on the page of the evening and whoever looks at the baths must not read two answers.
func TestWhatIsBookedLastsAlikeOnEveryPage(t *testing.T) {
	s := classroom(t)
	for _, c := range []struct{ each, word string }{{"4", "ENOUGH"}, {"9", "SHORT"}} {
		s.sent(s.booking(with(class(c.each), "title", "Class of "+c.each)...).Send())
		answer := regexp.MustCompile(`About \d+ sheets 8x10 left; \d+ of \d+ booked are still to come\.`)
		tonight, baths := s.page("/rooms/north/tonight"), s.page("/rooms/north/baths")
		require.Equal(t, answer.FindAllString(baths, -1), answer.FindAllString(tonight, -1))
		require.Len(t, answer.FindAllString(tonight, -1), 2, "developer and fixer")
		require.Contains(t, tonight, c.word)
		require.Contains(t, baths, c.word)
	}
	booking := s.page("/shelf/enter/work-booked?students=3&sheets_each=2&sheet_m2=8x10in&material=film&begins=2026-01-15T20:00")
	require.Contains(t, booking, `value="3"`)
	require.Contains(t, booking, `<option value="8x10in" selected="selected">`)
}

// A capacity that is left does not help a bath that must be tested first.
func TestABathThatMustBeTestedIsToBeLookedAtFirst(t *testing.T) {
	s := classroom(t)
	s.sent(s.booking(class("2")...).Send())
	require.NotContains(t, s.page("/rooms/north/tonight"), "CHECK FIRST")
	s.Does(ledger.SheetsUsed{Containers: []string{"Fixer tray"}, Material: ledger.ResinCoated, Count: 22, SheetArea: ledger.EightByTen})
	for _, page := range []string{"/rooms/north/tonight", "/rooms/north/baths",
		"/rooms/north/tonight?students=2&each=5&size=8x10in&material=film"} {
		require.Regexp(t, `(?s)CHECK FIRST.*TEST FIRST: Used and never tested`, s.page(page), page)
	}
	s.Does(ledger.TestDone{Test: ledger.IodideTest, Container: "Fixer tray", Seen: "clear"})
	require.NotContains(t, s.page("/rooms/north/tonight"), "CHECK FIRST")
}

// A sheet that went through both fixing baths is one sheet less to come, not two.
func TestWhatIsStillToComeCountsASheetOnceThoughItWentThroughTwoBaths(t *testing.T) {
	s := classroom(t)
	s.Does(ledger.SessionOpened{Session: "north session", Title: "Class", Lead: "Ada"},
		ledger.ContainerNamed{Container: "second tray", Vessel: ledger.Tray, Capacity: 5000}, mixed("F2", "second tray", 200, 1800),
		ledger.SheetsUsed{Containers: []string{"Fixer tray", "second tray"}, Material: ledger.ResinCoated, Count: 10,
			SheetArea: ledger.EightByTen})
	s.sent(s.booking(class("4")...).Send())
	require.Regexp(t, `<h3>Fixer</h3>(?s).*30 of 40 booked are still to come`, s.page("/rooms/north/tonight"))
}

func TestAChangedTimeIsAnnouncedAndARefusalKeepsTheName(t *testing.T) {
	var disk *disktest.Disk
	s := classroom(t, onDisk(t, &disk))
	form := s.opens("/rooms/north/tonight").Form(formtest.To("/rooms/north/announce")).Fill("who", "Ada")
	require.Equal(t, "126", form.Values().Get("seconds"))
	after := form.Send()
	text := s.sent(after)
	require.Contains(t, text, "2:06 was announced for Developer by Ada")
	require.Contains(t, text, `name="who" value="Ada"`, "the next press needs no name")
	announced, by := lastOf[rules.AnnounceTime](s, rules.AnnounceTime{}.Kind())
	require.Equal(t, rules.AnnounceTime{Bath: "developer", Seconds: 126}, announced)
	require.Equal(t, []string{"north", "Ada"}, []string{by.Room, by.Person})
	require.Equal(t, after.Address, form.Send().Address, "pressed twice")
	require.Len(t, s.Kept(announced.Kind()), 1)

	disk.Break(disktest.Fault{Op: disktest.Write, Code: disktest.Full})
	defer disk.Mend()
	after = s.opens("/rooms/north/tonight").Form(formtest.To("/rooms/north/announce")).Fill("who", "Bo 🙂").Send()
	require.Contains(t, after.Problem(), "he disk is full")
	require.Equal(t, "Bo 🙂", after.Form(formtest.To("/rooms/north/announce")).Values().Get("who"))
}

func TestSheetsGoInWithOnePressBySizeAndTheNameStays(t *testing.T) {
	s := classroom(t)
	after := s.entry("/rooms/north/tonight", "sheets-used", "who", "Ada").Press("8x10")
	require.Equal(t, "/rooms/north/tonight", after.Address.Path)
	text := s.sent(after)
	require.Contains(t, text, "1 × 8x10")
	require.Contains(t, text, `id="use-who" name="who" value="Ada"`)
}

func TestAnEmergenceTimeIsEnteredOnThePageOfTheEvening(t *testing.T) {
	s := classroom(t)
	enter := func(typed ...string) string {
		return s.sent(s.entry("/rooms/north/tonight", "test-done", typed...).FillIn("who", "Ada", "bath_c", "20 °C").Send())
	}
	fresh := func() bool {
		return strings.Contains(s.page("/rooms/north/tonight"), `name="baseline" value="on" checked="checked"`)
	}
	require.True(t, fresh(), "nothing has gone through: the first time is the baseline")
	require.Contains(t, enter("seconds", "15,5", "baseline", "on"), "emergence time")
	s.Does(ledger.SheetsUsed{Containers: []string{"Developer tray"}, Material: ledger.ResinCoated, Count: 1, SheetArea: ledger.EightByTen})
	require.False(t, fresh())
	require.Contains(t, enter("seconds", "18.6"), "emergence time")
}
