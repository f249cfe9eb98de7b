package dashboard_test

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/formtest"
	"wetside/dashboard/viewtest"
	"wetside/rules"
	"wetside/sensors/quantity/phrase"
)

const (
	baths      = "/rooms/north/baths"
	alarmsPage = "/rooms/north/alarms"
)

// comesBack is the page of a form that could not be carried out and is shown again.
func (p *pages) comesBack(back *formtest.Page) string {
	p.t.Helper()
	require.True(p.t, back.Address.Query().Has("again"), "%s", back.Address)
	return p.read(back)
}

// reporting is a form that reports a practised alarm rightly.
func (p *pages) reporting() *formtest.Form {
	p.t.Helper()
	return p.fills(alarmsPage, "drill", "drill", "the fan was switched off", "found", "everybody left", "who", "Ida Østergård")
}

func TestAnActIsRecordedOnceAndGivesAReceipt(t *testing.T) {
	p := evening(t)
	number := 0
	p.Answer(func(context.Context, rules.Command) (rules.Receipt, error) {
		number++
		return rules.Receipt{Number: uint64(number), Sentence: phrase.Plain(fmt.Sprintf("Alarm practised, record %d.", number))}, nil
	})
	form := p.reporting()
	require.Contains(t, p.sent(form.Send()), "Alarm practised, record 1.")
	require.Contains(t, p.sent(form.Send()), "Alarm practised, record 1.", "the second press shows the first receipt")
	require.Equal(t, []rules.Command{{Room: "north", Person: "Ida Østergård", Act: rules.RecordDrill{What: "the fan was switched off",
		Found: "everybody left"}}}, p.Commands())
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
		all.Go(func() { codes[i] = p.posts(form).Code })
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
			form := p.reporting().Fill(c.field, c.typed)
			back := form.Send()
			require.Regexp(t, `(?s)id="`+c.field+`-[^>]*aria-invalid="true"`, p.comesBack(back))
			require.Contains(t, back.Problem(), c.sentence)
			require.Empty(t, p.Commands())
			shown := back.Form(formtest.Doing("drill"))
			typed := form.Values()
			typed.Set(c.field, strings.ReplaceAll(c.typed, "\u0000", "\ufffd")) // a page can't hold that sign
			require.Equal(t, typed, shown.Values(), "what was typed stays, under the same token")
			p.sent(shown.Fill(c.field, p.reporting().Values().Get(c.field)).Send())
			require.Empty(t, p.opens(back.Address.RequestURI()).Problem(), "a mended form is not held against anybody any more")
		})
	}
}

func TestNamesOfAnyScriptAreTaken(t *testing.T) {
	for _, name := range []string{"李明", "Zoë", "مريم", "अनिता", "👩‍🔬 Ida", "O'Brien <b>", "  Ida   B.  "} {
		p := evening(t)
		p.sent(p.reporting().Fill("who", name).Send())
		require.Equal(t, strings.Join(strings.Fields(name), " "), p.Commands()[0].Person)
	}
}

func TestAnAlarmIsAnsweredOnThePageOfTheBaths(t *testing.T) {
	p := evening(t)
	p.Minutes(2, viewtest.Values{Developer: 19, Stop: 19, Fixer: 19, Duct: 0.02}, viewtest.Values{})
	p.Publish()
	form := p.fills(baths, "acknowledge", "who", "Ida")
	require.Contains(t, p.comesBack(form.Send()), "Please fill in")
	p.sent(form.Fill("done", "Fan switched on again").Send())
	require.Equal(t, rules.AcknowledgeAlarm{Alarm: "air", Done: "Fan switched on again"}, p.Commands()[0].Act)

	gone := p.fills(baths, "acknowledge", "who", "Ida", "done", "Fan switched on again").Forge("the alarm of an older page", "alarm",
		"line:nowhere")
	require.Contains(t, p.comesBack(gone.Send()), "no longer open")
}

func TestAnActThatFailsIsSaidAndMayBeSentAgain(t *testing.T) {
	p := evening(t)
	p.Answer(func(context.Context, rules.Command) (rules.Receipt, error) {
		return rules.Receipt{}, errors.New("Nothing was recorded: the disk is full.")
	})
	form := p.reporting()
	require.Contains(t, p.comesBack(form.Send()), "Nothing was recorded: the disk is full.")
	p.Answer(func(context.Context, rules.Command) (rules.Receipt, error) {
		return rules.Receipt{Number: 8, Sentence: phrase.Plain("Recorded as number 8.")}, nil
	})
	p.sent(form.Send())
}

func TestAnActGoesOnWhenTheBrowserGoesAway(t *testing.T) {
	p := evening(t)
	p.Answer(func(ctx context.Context, _ rules.Command) (rules.Receipt, error) {
		return rules.Receipt{Number: 9, Sentence: phrase.Plain("Recorded as number 9.")}, ctx.Err()
	})
	form := p.reporting().Values()
	ctx, gone := context.WithCancel(t.Context())
	gone()
	r := httptest.NewRequestWithContext(ctx, http.MethodPost, alarmsPage, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	p.ServeHTTP(httptest.NewRecorder(), r)
	require.Contains(t, p.page(alarmsPage+"?done="+form.Get("token")), "Recorded as number 9.")
}

func TestFormsOfOtherSitesAndBrokenOnesAreRefusedInRed(t *testing.T) {
	p := evening(t)
	body := p.reporting().Values().Encode()
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
	form := p.fills(alarmsPage+"?look=red", "drill", "drill", "the fan was switched off", "found", "everybody left")
	require.Contains(t, p.comesBack(form.Send()), `data-look="red"`)
	require.Contains(t, p.sent(form.Fill("who", "Ida").Send()), `data-look="red"`)
}

func FuzzForm(f *testing.F) {
	f.Add("drill", "the fan was off", "everybody left", "Ida")
	f.Add("sounder", "李", "yes", "👩‍🔬")
	f.Add("acknowledge", "\u202e", "\x00", "")
	f.Fuzz(func(t *testing.T, act, what, found, who string) {
		p := evening(t)
		out := p.sends(alarmsPage, formtest.Forged("token", someToken, "act", act, "alarm", "air",
			"drill", what, "complaint", what, "place", what, "found", found, "heard", found, "who", who, "done", what, "why", what))
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
