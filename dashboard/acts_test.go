package dashboard_test

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/viewtest"
	"wetside/rules"
	"wetside/sensors/quantity/phrase"
)

const baths = "/rooms/north/baths"

// tokenOf finds the token of a form on the page of baths.
func tokenOf(t *testing.T, page, act, bath string) string {
	t.Helper()
	m := regexp.MustCompile(`name="token" value="([A-Z2-7]+)"/><input type="hidden" name="act" value="`+act+`"/>(?:<input type="hidden" name="bath" value="`+bath+`")?`).
		FindAllStringSubmatch(page, -1)
	for _, found := range m {
		if strings.Contains(found[0], `value="`+bath+`"`) || bath == "" {
			return found[1]
		}
	}
	require.Fail(t, "no form to "+act+" "+bath)
	return ""
}

// comesBack follows a form that could not be carried out to where it is shown again.
func (p *pages) comesBack(out *httptest.ResponseRecorder) string {
	p.t.Helper()
	require.Equal(p.t, http.StatusSeeOther, out.Code)
	require.Contains(p.t, out.Header().Get("Location"), "again=")
	return p.page(out.Header().Get("Location"))
}

// filling is a form that fills the stop bath's tray rightly.
func (p *pages) filling() url.Values {
	p.t.Helper()
	return url.Values{"token": {tokenOf(p.t.(*testing.T), p.page(baths), "fill", "stop")}, "act": {"fill"}, "bath": {"stop"}, "version": {"empty"},
		"batch": {"SB-2"}, "what": {"Stop bath, working strength"}, "concentrate": {"1"}, "water": {"19"}, "volume": {"1,5 L"}, "who": {"Ida Østergård"}}
}

func TestFillingATrayIsRecordedOnceAndGivesAReceipt(t *testing.T) {
	p := evening(t)
	number := 0
	p.Answer(func(context.Context, rules.Command) (rules.Receipt, error) {
		number++
		return rules.Receipt{Number: uint64(number), Sentence: phrase.Plain(fmt.Sprintf("Stop bath filled, record %d.", number))}, nil
	})
	form := p.filling()
	out := p.post(baths, form)
	require.Equal(t, http.StatusSeeOther, out.Code)
	require.Contains(t, p.page(out.Header().Get("Location")), "Stop bath filled, record 1.")

	again := p.post(baths, form)
	require.Equal(t, http.StatusSeeOther, again.Code)
	require.Contains(t, p.page(again.Header().Get("Location")), "Stop bath filled, record 1.", "the second press shows the first receipt")
	require.Equal(t, []rules.Command{{Room: "north", Person: "Ida Østergård", Act: rules.FillTray{Bath: "stop", Batch: "SB-2", What: "Stop bath, working strength",
		Concentrate: 1, Water: 19, Volume: 1500}}}, p.Commands())
}

func TestManyPressesAtOnceActOnce(t *testing.T) {
	p := evening(t)
	p.Answer(func(context.Context, rules.Command) (rules.Receipt, error) {
		time.Sleep(20 * time.Millisecond)
		return rules.Receipt{Number: 7, Sentence: phrase.Plain("Recorded as number 7.")}, nil
	})
	form := p.filling()
	var all sync.WaitGroup
	codes := make([]int, 8)
	for i := range codes {
		all.Go(func() { codes[i] = p.post(baths, form).Code })
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
		"no label":          {"batch", "   ", "Please fill in: Batch label"},
		"10 kB label":       {"batch", long, "Batch label: 10240 characters are too many, please use at most 60."},
		"no name":           {"who", "", "Please fill in: Your name"},
		"control sign":      {"what", "dev\u0000eloper", "some characters can't be displayed"},
		"turned text":       {"who", "Ida\u202eadI", "some characters can't be displayed"},
		"half a mixture":    {"water", "", "Fill in both parts"},
		"ratio in one box":  {"concentrate", "1:9", "is not a number from 0 to 1000"},
		"nothing but water": {"concentrate", "0", "that would be water alone"},
		"negative part":     {"water", "-3", "is not a number from 0 to 1000"},
		"volume in words":   {"volume", "a lot", "is not a volume"},
		"volume of nothing": {"volume", "0 L", "is not a volume"},
		"volume as weight":  {"volume", "2 Pa", "is not a volume"},
	} {
		t.Run(name, func(t *testing.T) {
			p := evening(t)
			form := p.filling()
			form.Set(c.field, c.typed)
			out := p.post(baths, form)
			text := p.comesBack(out)
			require.Contains(t, text, c.sentence)
			require.Empty(t, p.Commands())
			require.Regexp(t, `(?s)id="`+c.field+`-[^>]*aria-invalid="true"`, text)
			for field, values := range form {
				if field != "version" && !strings.ContainsRune(values[0], 0) {
					require.Contains(t, text, `name="`+field+`" value="`+values[0]+`"`, "what was typed stays")
				}
			}
			form.Set(c.field, p.filling().Get(c.field))
			out = p.post(baths, form)
			require.Contains(t, out.Header().Get("Location"), "done=", "the mended form goes through with the same token")
			require.NotContains(t, p.page(baths+"?again="+form.Get("token")), `class="problem"`, "and is not held against anybody any more")
		})
	}
}

func TestNamesOfAnyScriptAreTaken(t *testing.T) {
	for _, name := range []string{"李明", "Zoë", "مريم", "अनिता", "👩‍🔬 Ida", "O'Brien <b>", "  Ida   B.  "} {
		p := evening(t)
		form := p.filling()
		form.Set("who", name)
		require.Contains(t, p.post(baths, form).Header().Get("Location"), "done=", name)
		require.Equal(t, strings.Join(strings.Fields(name), " "), p.Commands()[0].Person)
	}
}

func TestEmptyingAndAcknowledging(t *testing.T) {
	p := evening(t)
	form := url.Values{"token": {tokenOf(t, p.page(baths), "empty", "developer")}, "act": {"empty"}, "bath": {"developer"}, "version": {"41"}, "who": {"Ida"}}
	out := p.post(baths, form)
	require.Contains(t, p.comesBack(out), "Choose where the contents of the tray went.")
	form.Set("where", "to waste")
	require.Contains(t, p.post(baths, form).Header().Get("Location"), "done=")

	p.Minutes(2, viewtest.Values{Developer: 19, Stop: 19, Fixer: 19, Duct: 0.02}, viewtest.Values{})
	p.Publish()
	form = url.Values{"token": {tokenOf(t, p.page(baths), "acknowledge", "")}, "act": {"acknowledge"}, "alarm": {"air"}, "who": {"Ida"}, "done": {"Fan switched on again"}}
	require.Contains(t, p.post(baths, form).Header().Get("Location"), "done=")
	require.Equal(t, []rules.Act{rules.EmptyTray{Bath: "developer", Where: "to waste"}, rules.AcknowledgeAlarm{Alarm: "air", Done: "Fan switched on again"}},
		[]rules.Act{p.Commands()[0].Act, p.Commands()[1].Act})

	form.Set("token", tokenOf(t, p.page(baths), "acknowledge", ""))
	form.Set("alarm", "line:nowhere")
	require.Contains(t, p.comesBack(p.post(baths, form)), "no longer open")
}

func TestATrayThatSomebodyElseChangedMeanwhileIsSaid(t *testing.T) {
	p := evening(t)
	form := p.filling()
	p.Pour("stop", rules.Portion{Record: 77, Batch: "SB-9", What: "Stop bath", By: "Jo", Filled: viewtest.Evening()})
	p.Publish()
	out := p.post(baths, form)
	text := p.comesBack(out)
	require.Contains(t, text, "Somebody changed this tray")
	require.Contains(t, text, "batch SB-9")
	require.Empty(t, p.Commands())
	form.Set("version", "77")
	require.Contains(t, p.post(baths, form).Header().Get("Location"), "done=", "whoever still wants to may")
	form.Set("bath", "nowhere")
	form.Set("token", tokenOf(t, p.page(baths), "fill", "wash"))
	require.Contains(t, p.comesBack(p.post(baths, form)), "no longer configured")
}

func TestAnActThatFailsIsSaidAndMayBeSentAgain(t *testing.T) {
	p := evening(t)
	p.Answer(func(context.Context, rules.Command) (rules.Receipt, error) {
		return rules.Receipt{}, errors.New("Nothing was recorded: the disk is full.")
	})
	form := p.filling()
	out := p.post(baths, form)
	require.Contains(t, p.comesBack(out), "Nothing was recorded: the disk is full.")
	p.Answer(func(context.Context, rules.Command) (rules.Receipt, error) {
		return rules.Receipt{Number: 8, Sentence: phrase.Plain("Recorded as number 8.")}, nil
	})
	require.Contains(t, p.post(baths, form).Header().Get("Location"), "done=")
}

func TestAnActGoesOnWhenTheBrowserGoesAway(t *testing.T) {
	p := evening(t)
	p.Answer(func(ctx context.Context, _ rules.Command) (rules.Receipt, error) {
		return rules.Receipt{Number: 9, Sentence: phrase.Plain("Recorded as number 9.")}, ctx.Err()
	})
	form := p.filling()
	ctx, gone := context.WithCancel(t.Context())
	gone()
	r := httptest.NewRequestWithContext(ctx, http.MethodPost, baths, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	p.ServeHTTP(httptest.NewRecorder(), r)
	require.Contains(t, p.page(baths+"?done="+form.Get("token")), "Recorded as number 9.")
}

func TestFormsOfOtherSitesAndBrokenOnesAreRefusedInRed(t *testing.T) {
	p := evening(t)
	body := p.filling().Encode()
	for name, c := range map[string]struct {
		header, value, body string
		status              int
	}{
		"other site":      {"Sec-Fetch-Site", "cross-site", body, http.StatusForbidden},
		"other origin":    {"Origin", "http://elsewhere.example", body, http.StatusForbidden},
		"no token":        {"Sec-Fetch-Site", "same-origin", "act=fill", http.StatusBadRequest},
		"token made up":   {"Sec-Fetch-Site", "same-origin", "token=%3Cscript%3E&act=fill", http.StatusBadRequest},
		"broken encoding": {"Sec-Fetch-Site", "same-origin", "token=%zz", http.StatusBadRequest},
		"far too long":    {"Sec-Fetch-Site", "same-origin", "who=" + strings.Repeat("x", 100<<10), http.StatusRequestEntityTooLarge},
	} {
		r := httptest.NewRequest(http.MethodPost, baths, strings.NewReader(c.body))
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
	page := p.page(baths + "?look=red")
	require.Contains(t, page, `data-look="red"`)
	form := p.filling()
	form.Set("look", "red")
	location := p.post(baths, form).Header().Get("Location")
	require.Contains(t, p.page(location), `data-look="red"`)
	form = p.filling()
	form.Set("look", "red")
	form.Set("who", "")
	require.Contains(t, p.comesBack(p.post(baths, form)), `data-look="red"`)
}

func FuzzForm(f *testing.F) {
	f.Add("fill", "PD-1", "Paper developer", "1", "9", "2 L", "Ida", "")
	f.Add("fill", "李", "x", "0,5", "1,5", "64floz", "👩‍🔬", "")
	f.Add("empty", "", "", "", "", "", "Ida", "to waste")
	f.Add("acknowledge", "\u202e", "\x00", "1e309", "-0", "NaN L", "", "?")
	f.Fuzz(func(t *testing.T, act, batch, what, concentrate, water, volume, who, where string) {
		p := evening(t)
		token := "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
		out := p.post(baths, url.Values{"token": {token}, "act": {act}, "bath": {"stop"}, "version": {"empty"}, "alarm": {"air"},
			"batch": {batch}, "what": {what}, "concentrate": {concentrate}, "water": {water}, "volume": {volume}, "who": {who}, "where": {where}, "done": {what}})
		location := out.Header().Get("Location")
		switch {
		case strings.Contains(location, "done="):
			requireSound(t, p.Commands()[0])
		case strings.Contains(location, "again="):
			require.Empty(t, p.Commands())
			require.Contains(t, p.get(location).Body.String(), `class="problem"`)
		default:
			require.Equal(t, http.StatusRequestEntityTooLarge, out.Code)
		}
	})
}

// requireSound requires of an act that came through that it can be recorded and shown.
func requireSound(t *testing.T, c rules.Command) {
	t.Helper()
	require.NotEmpty(t, strings.TrimSpace(c.Person))
	if fill, ok := c.Act.(rules.FillTray); ok {
		require.NotEmpty(t, fill.Batch)
		require.True(t, fill.Concentrate >= 0 && fill.Water >= 0 && fill.Volume >= 0)
		require.False(t, fill.Concentrate == 0 && fill.Water > 0)
	}
}
