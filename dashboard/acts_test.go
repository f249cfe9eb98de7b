package dashboard_test

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/viewtest"
	"wetside/rules"
	"wetside/sensors/quantity/phrase"
)

const (
	baths      = "/rooms/north/baths"
	alarmsPage = "/rooms/north/alarms"
)

// comesBack follows a form that could not be carried out to where it is shown again.
func (p *pages) comesBack(out *httptest.ResponseRecorder) string {
	p.t.Helper()
	require.Equal(p.t, http.StatusSeeOther, out.Code)
	require.Contains(p.t, out.Header().Get("Location"), "again=")
	return p.page(out.Header().Get("Location"))
}

// reporting is a form that reports a practised alarm rightly.
func (p *pages) reporting() url.Values {
	p.t.Helper()
	return url.Values{"token": {token(p.t, p.page(alarmsPage), "drill")}, "act": {"drill"}, "drill": {"the fan was switched off"},
		"found": {"everybody left"}, "who": {"Ida Østergård"}}
}

func TestAnActIsRecordedOnceAndGivesAReceipt(t *testing.T) {
	p := evening(t)
	number := 0
	p.Answer(func(context.Context, rules.Command) (rules.Receipt, error) {
		number++
		return rules.Receipt{Number: uint64(number), Sentence: phrase.Plain(fmt.Sprintf("Alarm practised, record %d.", number))}, nil
	})
	form := p.reporting()
	out := p.post(alarmsPage, form)
	require.Equal(t, http.StatusSeeOther, out.Code)
	require.Contains(t, p.page(out.Header().Get("Location")), "Alarm practised, record 1.")

	again := p.post(alarmsPage, form)
	require.Equal(t, http.StatusSeeOther, again.Code)
	require.Contains(t, p.page(again.Header().Get("Location")), "Alarm practised, record 1.", "the second press shows the first receipt")
	require.Equal(t, []rules.Command{{Room: "north", Person: "Ida Østergård", Act: rules.RecordDrill{What: "the fan was switched off", Found: "everybody left"}}}, p.Commands())
}

func TestManyPressesAtOnceActOnce(t *testing.T) {
	p := evening(t)
	p.Answer(func(context.Context, rules.Command) (rules.Receipt, error) {
		time.Sleep(20 * time.Millisecond)
		return rules.Receipt{Number: 7, Sentence: phrase.Plain("Recorded as number 7.")}, nil
	})
	form := p.reporting()
	var all sync.WaitGroup
	codes := make([]int, 8)
	for i := range codes {
		all.Go(func() { codes[i] = p.post(alarmsPage, form).Code })
	}
	all.Wait()
	for _, code := range codes {
		require.Equal(t, http.StatusSeeOther, code)
	}
	require.Len(t, p.Commands(), 1)
}

func TestAFormThatIsWrongComesBackAsItWasTyped(t *testing.T) {
	long := strings.Repeat("x", 10<<10)
	for name, c := range map[string]struct{ field, typed, sentence string }{
		"nothing practised": {"drill", "   ", "Please fill in: "},
		"10 kB of text":     {"drill", long, "10240 characters are too many, please use at most 200."},
		"10 kB of a name":   {"who", long, "Your name: 10240 characters are too many, please use at most 60."},
		"no name":           {"who", "", "Please fill in: Your name"},
		"control sign":      {"found", "nobo\u0000dy", "some characters can't be displayed"},
		"turned text":       {"who", "Ida\u202eadI", "some characters can't be displayed"},
	} {
		t.Run(name, func(t *testing.T) {
			p := evening(t)
			form := p.reporting()
			form.Set(c.field, c.typed)
			out := p.post(alarmsPage, form)
			text := p.comesBack(out)
			require.Contains(t, text, c.sentence)
			require.Empty(t, p.Commands())
			require.Regexp(t, `(?s)id="`+c.field+`-[^>]*aria-invalid="true"`, text)
			for field, values := range form {
				if !strings.ContainsRune(values[0], 0) {
					require.Contains(t, text, `name="`+field+`" value="`+values[0]+`"`, "what was typed stays")
				}
			}
			form.Set(c.field, p.reporting().Get(c.field))
			out = p.post(alarmsPage, form)
			require.Contains(t, out.Header().Get("Location"), "done=", "the mended form goes through with the same token")
			require.NotContains(t, p.page(alarmsPage+"?again="+form.Get("token")), `class="problem"`, "and is not held against anybody any more")
		})
	}
}

func TestNamesOfAnyScriptAreTaken(t *testing.T) {
	for _, name := range []string{"李明", "Zoë", "مريم", "अनिता", "👩‍🔬 Ida", "O'Brien <b>", "  Ida   B.  "} {
		p := evening(t)
		form := p.reporting()
		form.Set("who", name)
		require.Contains(t, p.post(alarmsPage, form).Header().Get("Location"), "done=", name)
		require.Equal(t, strings.Join(strings.Fields(name), " "), p.Commands()[0].Person)
	}
}

func TestAnAlarmIsAnsweredOnThePageOfTheBaths(t *testing.T) {
	p := evening(t)
	p.Minutes(2, viewtest.Values{Developer: 19, Stop: 19, Fixer: 19, Duct: 0.02}, viewtest.Values{})
	p.Publish()
	form := url.Values{"token": {token(t, p.page(baths), "acknowledge")}, "act": {"acknowledge"}, "alarm": {"air"}, "who": {"Ida"}}
	require.Contains(t, p.comesBack(p.post(baths, form)), "Please fill in")
	form.Set("done", "Fan switched on again")
	require.Contains(t, p.post(baths, form).Header().Get("Location"), "done=")
	require.Equal(t, rules.AcknowledgeAlarm{Alarm: "air", Done: "Fan switched on again"}, p.Commands()[0].Act)

	form.Set("token", token(t, p.page(baths), "acknowledge"))
	form.Set("alarm", "line:nowhere")
	require.Contains(t, p.comesBack(p.post(baths, form)), "no longer open")
}

func TestAnActThatFailsIsSaidAndMayBeSentAgain(t *testing.T) {
	p := evening(t)
	p.Answer(func(context.Context, rules.Command) (rules.Receipt, error) {
		return rules.Receipt{}, errors.New("Nothing was recorded: the disk is full.")
	})
	form := p.reporting()
	out := p.post(alarmsPage, form)
	require.Contains(t, p.comesBack(out), "Nothing was recorded: the disk is full.")
	p.Answer(func(context.Context, rules.Command) (rules.Receipt, error) {
		return rules.Receipt{Number: 8, Sentence: phrase.Plain("Recorded as number 8.")}, nil
	})
	require.Contains(t, p.post(alarmsPage, form).Header().Get("Location"), "done=")
}

func TestAnActGoesOnWhenTheBrowserGoesAway(t *testing.T) {
	p := evening(t)
	p.Answer(func(ctx context.Context, _ rules.Command) (rules.Receipt, error) {
		return rules.Receipt{Number: 9, Sentence: phrase.Plain("Recorded as number 9.")}, ctx.Err()
	})
	form := p.reporting()
	ctx, gone := context.WithCancel(t.Context())
	gone()
	r := httptest.NewRequestWithContext(ctx, http.MethodPost, alarmsPage, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	p.ServeHTTP(httptest.NewRecorder(), r)
	require.Contains(t, p.page(alarmsPage+"?done="+form.Get("token")), "Recorded as number 9.")
}

func TestFormsOfOtherSitesAndBrokenOnesAreRefusedInRed(t *testing.T) {
	p := evening(t)
	body := p.reporting().Encode()
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
		r := httptest.NewRequest(http.MethodPost, alarmsPage, strings.NewReader(c.body))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set(c.header, c.value)
		out := httptest.NewRecorder()
		p.ServeHTTP(out, r)
		require.Equal(t, c.status, out.Code, name)
		require.Contains(t, out.Body.String(), `data-look="red"`, name)
	}
	require.Empty(t, p.Commands())
}

func TestTheRedLookIsKeptFromPageToFormToReceipt(t *testing.T) {
	p := evening(t)
	require.Contains(t, p.page("/"), baths+"?look=red")
	page := p.page(alarmsPage + "?look=red")
	require.Contains(t, page, `data-look="red"`)
	form := p.reporting()
	form.Set("look", "red")
	location := p.post(alarmsPage, form).Header().Get("Location")
	require.Contains(t, p.page(location), `data-look="red"`)
	form = p.reporting()
	form.Set("look", "red")
	form.Set("who", "")
	require.Contains(t, p.comesBack(p.post(alarmsPage, form)), `data-look="red"`)
}

func FuzzForm(f *testing.F) {
	f.Add("drill", "the fan was off", "everybody left", "Ida")
	f.Add("sounder", "李", "yes", "👩‍🔬")
	f.Add("acknowledge", "\u202e", "\x00", "")
	f.Fuzz(func(t *testing.T, act, what, found, who string) {
		p := evening(t)
		out := p.post(alarmsPage, url.Values{"token": {"ABCDEFGHIJKLMNOPQRSTUVWXYZ"}, "act": {act}, "alarm": {"air"},
			"drill": {what}, "complaint": {what}, "place": {what}, "found": {found}, "heard": {found}, "who": {who}, "done": {what}, "why": {what}})
		location := out.Header().Get("Location")
		switch {
		case strings.Contains(location, "done="):
			require.NotEmpty(t, strings.TrimSpace(p.Commands()[0].Person))
		case strings.Contains(location, "again="):
			require.Empty(t, p.Commands())
			require.Contains(t, p.get(location).Body.String(), `class="problem"`)
		default:
			require.Equal(t, http.StatusRequestEntityTooLarge, out.Code)
		}
	})
}
