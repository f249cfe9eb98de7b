package daemon_test

import (
	"context"
	"net/http"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/config"
	"wetside/daemon/history/disktest"
	"wetside/daemon/northtest"
	"wetside/dashboard/formtest"
	"wetside/dashboard/web"
	"wetside/rules"
)

// comesBack is the page of a form that could not be carried out and is shown again.
func (s *north) comesBack(back *formtest.Page) string {
	s.t.Helper()
	require.True(s.t, back.Address.Query().Has("again"), "%s", back.Address)
	return s.read(back)
}

// receipt is what the page after a form says of it.
func (s *north) receipt(after *formtest.Page) string {
	s.t.Helper()
	found := regexp.MustCompile(`(?s)class="receipt".*?</strong> (.*?)</p>`).FindStringSubmatch(s.sent(after))
	require.NotNil(s.t, found, after.Source)
	return found[1]
}

// halted is a classroom whose fan has stopped.
func halted(t testing.TB, changes ...func(*config.Config)) *north {
	t.Helper()
	s := classroom(t, changes...)
	s.Minutes(2, northtest.Halting())
	return s
}

// reporting is a form that reports a practised alarm rightly.
func (s *north) reporting() *formtest.Form {
	s.t.Helper()
	return s.fills(alarmsPage, "drill", "drill", "the fan was switched off", "found", "everybody left", "who", "Ida Østergård")
}

func TestAnActIsRecordedOnceAndGivesAReceipt(t *testing.T) {
	s := newNorth(t)
	form := s.reporting()
	first := s.receipt(form.Send())
	require.Equal(t, first, s.receipt(form.Send()), "the second press shows the first receipt")
	drill := rules.RecordDrill{What: "the fan was switched off", Found: "everybody left"}
	kept, by := lastOf[rules.RecordDrill](s, drill.Kind())
	require.Equal(t, drill, kept)
	require.Equal(t, []string{"north", "Ida Østergård"}, []string{by.Room, by.Person})
	require.Len(t, s.Kept(drill.Kind()), 1)
}

func TestManyPressesAtOnceActOnce(t *testing.T) {
	var disk *disktest.Disk
	s := newNorth(t, onDisk(t, &disk))
	form := s.reporting().Values()
	disk.Break(disktest.Fault{Op: disktest.Sync, Delay: 20 * time.Millisecond})
	var all sync.WaitGroup
	codes := make([]int, 8)
	for i := range codes {
		all.Go(func() { codes[i] = s.sends(alarmsPage, form).Code })
	}
	all.Wait()
	for _, code := range codes {
		require.Equal(t, http.StatusSeeOther, code)
	}
	require.Len(t, s.Kept(rules.RecordDrill{}.Kind()), 1)
}

func TestAFormThatIsWrongComesBackAsItWasTyped(t *testing.T) {
	long := strings.Repeat("x", 10<<10)
	s := newNorth(t)
	for name, c := range map[string]struct{ field, typed, sentence string }{
		"nothing practised": {"drill", "   ", "Please fill in: "},
		"10 kB of text":     {"drill", long, "10240 characters are too many, please use at most 200."},
		"10 kB of a name":   {"who", long, "Your name: 10240 characters are too many, please use at most 60."},
		"no name":           {"who", "", "Please fill in: Your name"},
		"control sign":      {"found", "nobo\u0000dy", "some characters can't be displayed"},
		"turned text":       {"who", "Ida\u202eadI", "some characters can't be displayed"},
	} {
		t.Run(name, func(t *testing.T) {
			before := len(s.Kept(rules.RecordDrill{}.Kind()))
			form := s.reporting().Fill(c.field, c.typed)
			back := form.Send()
			require.Regexp(t, `(?s)id="`+c.field+`-[^>]*aria-invalid="true"`, s.comesBack(back))
			require.Contains(t, back.Problem(), c.sentence)
			require.Len(t, s.Kept(rules.RecordDrill{}.Kind()), before)
			shown := back.Form(formtest.Doing("drill"))
			typed := form.Values()
			typed.Set(c.field, strings.ReplaceAll(c.typed, "\u0000", "\ufffd")) // a page can't hold that sign
			require.Equal(t, typed, shown.Values(), "what was typed stays, under the same token")
			s.sent(shown.Fill(c.field, s.reporting().Values().Get(c.field)).Send())
			require.Empty(t, s.opens(back.Address.RequestURI()).Problem(), "a mended form is not held against anybody any more")
		})
	}
}

func TestNamesOfAnyScriptAreTaken(t *testing.T) {
	s := newNorth(t)
	for _, name := range []string{"李明", "Zoë", "مريم", "अनिता", "👩‍🔬 Ida", "O'Brien <b>", "  Ida   B.  "} {
		s.sent(s.reporting().Fill("who", name).Send())
		_, by := lastOf[rules.RecordDrill](s, rules.RecordDrill{}.Kind())
		require.Equal(t, strings.Join(strings.Fields(name), " "), by.Person)
	}
}

func TestAnAlarmIsAnsweredOnThePageOfTheBaths(t *testing.T) {
	s := halted(t)
	ofAir := formtest.Having("alarm", "air")
	form := func() *formtest.Form {
		return s.opens(baths).Form(formtest.Doing("acknowledge"), ofAir).Fill("who", "Ida")
	}
	gone := form().Fill("done", "Fan switched on again").Forge("the alarm of an older page", "alarm", "line:nowhere")
	require.Contains(t, s.comesBack(gone.Send()), "no longer open")
	nameless := form()
	require.Contains(t, s.comesBack(nameless.Send()), "Please fill in")
	s.sent(nameless.Fill("done", "Fan switched on again").Send())
	s.enteredAs(rules.AcknowledgeAlarm{Alarm: "air", Done: "Fan switched on again"})
}

func TestAnActThatFailsIsSaidAndMayBeSentAgain(t *testing.T) {
	var disk *disktest.Disk
	s := newNorth(t, onDisk(t, &disk))
	form := s.reporting()
	disk.Break(disktest.Fault{Op: disktest.Write, Code: disktest.Full})
	failed := s.comesBack(form.Send())
	disk.Mend()
	require.Contains(t, failed, "Nothing was recorded")
	require.Contains(t, failed, "the disk is full")
	require.Empty(t, s.Kept(rules.RecordDrill{}.Kind()))
	require.Eventually(t, func() bool { return form.Send().Problem() == "" }, 10*time.Second, 20*time.Millisecond)
	require.Len(t, s.Kept(rules.RecordDrill{}.Kind()), 1)
}

func TestAnActGoesOnWhenTheBrowserGoesAway(t *testing.T) {
	var disk *disktest.Disk
	s := newNorth(t, onDisk(t, &disk))
	form := s.reporting().Values()
	disk.Break(disktest.Fault{Op: disktest.Sync, Delay: 300 * time.Millisecond})
	ctx, gone := context.WithTimeout(t.Context(), 100*time.Millisecond)
	defer gone()
	_, err := http.DefaultTransport.RoundTrip(s.request(ctx, alarmsPage, form.Encode()))
	require.ErrorIs(t, err, context.DeadlineExceeded)
	require.Eventually(t, func() bool { return strings.Contains(s.page(alarmsPage+"?done="+form.Get("token")), `class="receipt"`) },
		10*time.Second, 20*time.Millisecond)
	require.Len(t, s.Kept(rules.RecordDrill{}.Kind()), 1)
}

func TestFormsOfOtherSitesAndBrokenOnesAreRefusedInRed(t *testing.T) {
	s := newNorth(t)
	body := s.reporting().Values().Encode()
	for name, c := range map[string]struct {
		header, value, body string
		status              int
	}{
		"other site":      {"Sec-Fetch-Site", "cross-site", body, http.StatusForbidden},
		"other origin":    {"Origin", "http://elsewhere.example", body, http.StatusForbidden},
		"no token":        {"Sec-Fetch-Site", "same-origin", "act=drill", http.StatusBadRequest},
		"token made up":   {"Sec-Fetch-Site", "same-origin", "token=%3Cscript%3E&act=drill", http.StatusBadRequest},
		"broken encoding": {"Sec-Fetch-Site", "same-origin", "token=%zz", http.StatusBadRequest},
		"far too long":    {"Sec-Fetch-Site", "same-origin", "who=" + strings.Repeat("x", 100<<10), http.StatusRequestEntityTooLarge},
	} {
		r := s.request(t.Context(), alarmsPage, c.body)
		r.Header.Del("Sec-Fetch-Site")
		r.Header.Set(c.header, c.value)
		out := s.asks(r)
		require.Equal(t, c.status, out.Code, name)
		require.Contains(t, out.Body, `data-look="red"`, name)
	}
	require.Empty(t, s.Kept(rules.RecordDrill{}.Kind()))
}

func TestTheRedLookIsKeptFromPageToFormToReceipt(t *testing.T) {
	s := newNorth(t)
	require.Contains(t, s.page("/"), baths+"?look=red")
	page := s.page(alarmsPage + "?look=red")
	require.Contains(t, page, `data-look="red"`)
	form := s.fills(alarmsPage+"?look=red", "drill", "drill", "the fan was switched off", "found", "everybody left")
	require.Contains(t, s.comesBack(form.Send()), `data-look="red"`)
	require.Contains(t, s.sent(form.Fill("who", "Ida").Send()), `data-look="red"`)
}

func FuzzForm(f *testing.F) {
	f.Add("drill", "the fan was off", "everybody left", "Ida")
	f.Add("sounder", "李", "yes", "👩‍🔬")
	f.Add("acknowledge", "\u202e", "\x00", "")
	place := newNorth(f)
	kinds := []string{rules.RecordDrill{}.Kind(), rules.TestSounder{}.Kind(), rules.AcknowledgeAlarm{}.Kind(), rules.ReportComplaint{}.Kind()}
	f.Fuzz(func(t *testing.T, act, what, found, who string) {
		s := &north{place.In(t), t}
		before := len(s.Kept(kinds...))
		out := s.sends(alarmsPage, formtest.Forged("token", web.NewToken(), "act", act, "alarm", "air",
			"drill", what, "complaint", what, "place", what, "found", found, "heard", found, "who", who, "done", what, "why", what))
		location := out.Header.Get("Location")
		kept := s.Kept(kinds...)
		switch {
		case strings.Contains(location, "done="):
			require.NotEmpty(t, strings.TrimSpace(kept[len(kept)-1].Person))
		case strings.Contains(location, "again="):
			require.Len(t, kept, before)
			require.Contains(t, s.page(location), `class="problem"`)
		default:
			require.Contains(t, []int{http.StatusRequestEntityTooLarge, http.StatusBadRequest}, out.Code)
		}
	})
}
