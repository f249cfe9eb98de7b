package formtest

import (
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"testing"

	"github.com/stretchr/testify/require"
)

// place is a small site that says back what came.
func place(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Referrer-Policy", r.URL.Query().Get("policy"))
	switch r.URL.Path {
	case "/start":
		http.SetCookie(w, &http.Cookie{Name: "known", Value: "yes"})
		_, _ = io.WriteString(w, `<title>no part of the text</title><p>One</p><p>two <b>bold</b>.</p>
			<a href="/echo?x=1">on</a><a hidden href="/other">off</a>
<details><summary>More</summary><form method=post action="/echo?keep=1"><input name=a value=1>
	<button hidden>enter</button><button name=by value=first>First</button>
<button name=by value=second formaction="/moved">Second</button></form>
	<form action="/echo?dropped=1#part"><input name=q value="x y"><button>Find</button></form></details>`)
	case "/moved":
		http.Redirect(w, r, "/echo?after=1", http.StatusSeeOther)
	default:
		body, _ := io.ReadAll(r.Body)
		fmt.Fprintf(w, `<p>%s %s body=%s cookies=%d origin=%s referer=%s</p>`, r.Method, r.URL.RequestURI(), body, len(r.Cookies()),
			r.Header.Get("Origin"), r.Header.Get("Referer"))
	}
}

func TestABrowserFollowsSendsAndIntroducesItself(t *testing.T) {
	server := httptest.NewServer(http.HandlerFunc(place))
	defer server.Close()
	for name, b := range map[string]*Browser{"a handler": On(t, http.HandlerFunc(place)), "a server": At(t, server.URL)} {
		t.Run(name, func(t *testing.T) {
			b := b.In(t)
			home := b.base.String()
			start := b.Open("/start?policy=same-origin")
			require.Equal(t, "One two bold. on More First Second Find", start.Text())
			start.Follow("on").Says("GET /echo?x=1 body= cookies=1 origin= referer=" + home + "/start?policy=same-origin")
			post := start.Form(Saying("First"))
			require.Equal(t, []string{"First", "Second"}, post.Buttons())
			post.Press("First").Says("POST /echo?keep=1 body=a=1&by=first cookies=1 origin=" + home + " referer=" + home + "/start")
			start.Form(Having("a", "1")).Press("Second").Says("GET /echo?after=1 body= ")
			start.Form(To("/echo"), Having("a")).Fill("a", "x y").Enter().Says("body=a=x+y cookies")
			start.Form(Having("q")).Send().Says("GET /echo?q=x+y body= cookies=1 origin= referer=")
			b.Open("/start?policy=no-referrer").Form(Having("a")).Press("First").Says("origin=null referer=")
		})
	}
}

func TestAnEffortIsEveryPressAndEveryTextTyped(t *testing.T) {
	b := On(t, http.HandlerFunc(place))
	start := b.Open("/start")
	start.Form(Having("a")).Fill("a", "1").Fill("a", "2").Press("First")
	require.Equal(t, Effort{Presses: 2, Entries: 1}, b.Effort(), "the fold, the button, and one text that differs from what stood there")
	start.Form(Having("q")).Send()
	require.Equal(t, Effort{Presses: 3, Entries: 1}, b.Effort(), "the fold is open by now")
	start.Follow("on")
	start.FollowTo("/echo", "x", "1").Says("GET /echo?x=1")
	require.Equal(t, Effort{Presses: 5, Entries: 1}, b.Effort())
}

func TestAFormMustBeTheOnlyOneThatIsMeant(t *testing.T) {
	page := On(t, http.HandlerFunc(place)).Open("/start")
	require.Len(t, page.Forms(), 2)
	_, err := page.Form(Having("a")).buttonSaying("enter")
	require.ErrorContains(t, err, "0 buttons", "a hidden button can't be pressed")
	_, err = page.link("off")
	require.ErrorContains(t, err, "no link", "nor can a hidden link")
	require.False(t, Saying("Third")(page.Forms()[0]))
	require.False(t, Having("a", "9")(page.Forms()[0]))
}

func TestABrowserWithoutPickersTakesAnyTextForADate(t *testing.T) {
	show := http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		_, _ = io.WriteString(w, `<form><input type=hidden name=act value=clean><input name=a type=date><input name=b><input name=c `+
			`type=checkbox value=1><input name=c type=checkbox value=2></form>`)
	})
	form := On(t, show).WithoutPickers().In(t).Open("/").Form(Doing("clean"))
	require.Equal(t, "act=clean&a=yesterday&b=1&c=1&c=2", encoded(form.FillIn("a", "yesterday", "c", "1", "b", "1", "c", "2").entries(nil)))
}

func TestAForgeryIsSentAsItIs(t *testing.T) {
	f := one(t, `<form><input type=hidden name=token value=1><input name=a></form>`)
	f.Forge("a stranger makes tokens up", "token", "2").Forge("and fields", "b", "3")
	require.Equal(t, "token=2&a=&b=3", encoded(f.entries(nil)))
}
