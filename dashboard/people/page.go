package people

import (
	"context"
	"net/http"

	"wetside/dashboard/web"
	"wetside/rules/access"
)

// The acts of the forms on the page of people.
const (
	actInvite      = "invite"
	actRole        = "role"
	actNewPassword = "reset-password"
	actRevoke      = "revoke"
)

// peopleBody is the page on which a keeper says who may sign in.
type peopleBody struct {
	Receipt, Problem string
	Invite           web.AskForm
	Members          []memberCard
	// Fingerprint is that of the certificate; empty without one.
	Fingerprint string
}

// memberCard is one person or script with what may be done about them.
type memberCard struct {
	Member
	Title, State string
	Forms        []web.AskForm
}

func (s *Pages) peoplePage(w http.ResponseWriter, r *http.Request) {
	f, a, l := s.figures(s.View.Now()), s.Attempt(r), web.LookOf(r)
	body := peopleBody{Receipt: s.Receipt(r), Fingerprint: s.Fingerprint}
	if a.Problem != nil {
		body.Problem = a.Problem.Sentence
	}
	body.Invite = f.Asking(l, web.About{Act: actInvite, Summary: f.Words.Say("people.invite"), Button: f.Words.Say("button.invite")}, a,
		web.Ask{Name: "name", Label: f.Words.Say("people.name"), Hint: f.Words.Say("people.name-hint")}, f.roleAsk())
	for _, m := range s.Accounts.People() {
		body.Members = append(body.Members, f.memberCard(l, m, a))
	}
	p := s.PlacePage(r, "people", "people.css")
	p.Body = body
	s.Show(w, r, http.StatusOK, p)
}

func (f figures) roleAsk() web.Ask {
	q := web.Ask{Name: "role", Label: f.Words.Say("people.which-role")}
	for _, r := range access.Roles() {
		q.Choices = append(q.Choices, web.Choice{Value: string(r), Text: f.Words.Say("role."+string(r)) + ": " +
			f.Words.Say("role-may."+string(r))})
	}
	return q
}

func (f figures) memberCard(l web.Look, m Member, a web.Attempt) memberCard {
	card := memberCard{Member: m, Title: f.Words.Say("role." + string(m.Role))}
	form := func(act string, asks ...web.Ask) {
		card.Forms = append(card.Forms, f.Asking(l, web.About{Act: act, Alarm: m.Name, Summary: f.Words.Say("people." + act),
			Button: f.Words.Say("button." + act)}, a, asks...))
	}
	switch {
	case m.Script != "":
		card.Title, card.State = f.Words.Say("people.script"), f.Words.Say("script."+m.Script)
	case !m.Joined && m.Sessions == 0:
		card.State = f.Words.Say("people.waits", f.When(m.Since))
		form(actNewPassword)
	case m.Sessions == 0:
		card.State = f.Words.Say("people.out", f.When(m.Since))
	default:
		card.State = f.Words.Say("people.in", f.When(m.Since))
	}
	if m.Script == "" && m.Joined {
		form(actRole, f.roleAsk())
		form(actNewPassword)
	}
	form(actRevoke)
	return card
}

func (s *Pages) peoplePost(w http.ResponseWriter, r *http.Request) {
	form := s.OnItsPage(w, r, s.changePeople)
	form.Secret = true // it may hold a code with which anybody could choose a password
	s.Submit(w, r, form)
}

// changePeople carries out one act of a keeper.
func (s *Pages) changePeople(ctx context.Context, t web.Typed) (receipt string, wrong *web.Problem) {
	f := s.figures(s.View.Now()).Reader()
	target := access.Person{Name: t.Alarm, Role: access.Role(t.More.Get("role"))}
	if t.Act == actInvite {
		target.Name = f.Text("name", t.More.Get("name"), web.LongestName, true)
	}
	if t.Act == actInvite || t.Act == actRole {
		if _, err := access.ParseRole(string(target.Role)); err != nil {
			f.Fail("role", "form.choose", s.Words.Say("people.which-role"))
		}
	}
	if f.Problem != nil {
		return "", f.Problem
	}
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), web.ActWithin)
	defer cancel()
	receipt, err := s.changeOne(ctx, t.Act, target)
	if err != nil {
		return "", &web.Problem{Field: "act", Sentence: s.ErrorText(err)}
	}
	return receipt, nil
}

func (s *Pages) changeOne(ctx context.Context, act string, p access.Person) (receipt string, err error) {
	code := ""
	switch act {
	case actInvite:
		code, err = s.Accounts.Invite(ctx, p)
	case actNewPassword:
		code, err = s.Accounts.Reset(ctx, p.Name)
	case actRole:
		return s.Words.Say("people.role-done", p.Name, s.Words.Say("role."+string(p.Role))), s.Accounts.ChangeRole(ctx, p)
	case actRevoke:
		return s.Words.Say("people.revoke-done", p.Name), s.Accounts.Revoke(ctx, p.Name)
	}
	return s.Words.Say("people.code", p.Name, "/join", code), err
}
