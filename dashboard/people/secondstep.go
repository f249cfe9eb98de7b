package people

import (
	"html/template"
	"net/http"
	"net/url"
	"strings"

	"wetside/dashboard/report"
	"wetside/dashboard/web"
	"wetside/rules/access"
)

// codeBody is the page that asks for a code after the password, or shows the codes for a lost
// phone once an app is set up.
type codeBody struct {
	Look                  web.Look
	Ticket, Next, Problem string
	New                   *newApp
	Recovery              []string
}

// newApp is what an app is given: as a square for the camera of a phone, and as text.
type newApp struct {
	Key    string
	Square template.HTML
}

// appFor draws the key of an app in the form that apps read: an address of their own, which no
// standard describes and every app takes (from memory).
func appFor(r *http.Request, n *NewApp) *newApp {
	if n == nil {
		return nil
	}
	at := "wetside " + r.Host
	address := url.URL{Scheme: "otpauth", Host: "totp", Path: "/" + at + ":" + n.Name,
		RawQuery: "secret=" + n.Key + "&issuer=" + url.PathEscape(at)}
	out := &newApp{Key: inGroups(n.Key)}
	if square, err := report.NewSquare(address.String()); err == nil { // a long name: the text remains
		out.Square = square.SVG("The key of the app as a square for a camera")
	}
	return out
}

func inGroups(key string) string {
	var b strings.Builder
	for i, sign := range key {
		if i > 0 && i%4 == 0 {
			b.WriteByte(' ')
		}
		b.WriteRune(sign)
	}
	return b.String()
}

// goOn leads to where somebody wanted who signed in, or to the second step.
func (s *Pages) goOn(w http.ResponseWriter, r *http.Request, in Login, next string) {
	if in.Ticket != "" {
		s.showCode(w, r, codeBody{Ticket: in.Ticket, New: appFor(r, in.New), Next: next})
		return
	}
	http.SetCookie(w, &http.Cookie{Name: web.CookieName(r), Value: in.Key, Path: "/", Expires: in.Until,
		HttpOnly: true, Secure: r.TLS != nil, SameSite: http.SameSiteLaxMode})
	if len(in.Recovery) > 0 {
		s.showCode(w, r, codeBody{Recovery: in.Recovery, Next: next})
		return
	}
	http.Redirect(w, r, next, http.StatusSeeOther)
}

func (s *Pages) showCode(w http.ResponseWriter, r *http.Request, body codeBody) {
	body.Look = web.DoorLook(r)
	s.Show(w, r, web.StatusOf(body.Problem), s.DoorPage(web.Head{Name: "sign-in-code", Title: "Code from your app"}, body.Look).With(body))
}

func (s *Pages) codePost(w http.ResponseWriter, r *http.Request) {
	form := r.PostForm
	next := web.OwnPath(form.Get("next"), "/").String()
	in, err := s.Accounts.SecondStep(r.Context(), CodeTry{Ticket: form.Get("ticket"), Code: form.Get("code"), From: web.AddressOf(r),
		Here: web.IsHere(r)})
	switch {
	case err != nil && in.Ticket != "":
		s.showCode(w, r, codeBody{Ticket: in.Ticket, New: appFor(r, in.New), Next: next, Problem: s.ErrorText(err)})
	case err != nil:
		s.ShowSignIn(w, r, web.SignInBody{Next: next, Problem: s.ErrorText(err)})
	default:
		s.goOn(w, r, in, next)
	}
}

type secondStepBody struct {
	Look                 web.Look
	Own, Demanded        bool
	Since, Left, Problem string
}

func (s *Pages) secondStepPage(w http.ResponseWriter, r *http.Request) {
	s.showSecondStep(w, r, "")
}

func (s *Pages) showSecondStep(w http.ResponseWriter, r *http.Request, problem string) {
	f := s.figures(s.View.Now())
	now, own := s.Accounts.SecondStepOf(web.KeyOf(r))
	body := secondStepBody{Look: web.LookOf(r), Own: own, Demanded: now.Demanded, Problem: problem}
	if !now.Since.IsZero() {
		body.Since, body.Left = f.When(now.Since), web.Count(now.Left, "%d recovery code is left.", "%d recovery codes are left.")
	}
	s.Show(w, r, web.StatusOf(problem), s.PlacePage(r, web.Head{Name: "second-step", Title: "Second step"}, "people.css").With(body))
}

// secondStepPost asks for the password once more, so that nobody sets up an app of their own in
// a browser that somebody left open.
func (s *Pages) secondStepPost(w http.ResponseWriter, r *http.Request) {
	who, known := access.From(r.Context())
	if _, own := s.Accounts.SecondStepOf(web.KeyOf(r)); !known || !own {
		s.showSecondStep(w, r, "Only somebody with an account of this place sets up an app here.")
		return
	}
	in, err := s.Accounts.SignIn(r.Context(), SignIn{Name: who.Name, Password: r.PostForm.Get("password"), From: web.AddressOf(r),
		Here: web.IsHere(r), NewApp: true})
	if err != nil {
		s.showSecondStep(w, r, s.ErrorText(err))
		return
	}
	s.goOn(w, r, in, r.URL.Path+"?look="+string(web.LookOf(r)))
}
