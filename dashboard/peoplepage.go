package dashboard

import (
	"context"
	"net/http"

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
	Invite           askForm
	Members          []memberCard
	// Fingerprint is that of the certificate; empty without one.
	Fingerprint string
}

// memberCard is one person or script with what may be done about them.
type memberCard struct {
	Member
	Title, State string
	Forms        []askForm
}

func (s *peoplePages) peoplePage(w http.ResponseWriter, r *http.Request) {
	f, a, l := s.figures(s.View.Now()), s.attempt(r), lookOf(r)
	body := peopleBody{Receipt: s.receipt(r), Fingerprint: s.fingerprint}
	if a.problem != nil {
		body.Problem = a.problem.Sentence
	}
	body.Invite = f.asking(l, about{act: actInvite, summary: f.words.Say("people.invite"), button: f.words.Say("button.invite")}, a,
		ask{Name: "name", Label: f.words.Say("people.name"), Hint: f.words.Say("people.name-hint")}, f.roleAsk())
	for _, m := range s.door.People() {
		body.Members = append(body.Members, f.memberCard(l, m, a))
	}
	p := s.placePage(r, "people", "people.css")
	p.Body = body
	s.show(w, r, http.StatusOK, p)
}

func (f figures) roleAsk() ask {
	q := ask{Name: "role", Label: f.words.Say("people.which-role")}
	for _, r := range access.Roles() {
		q.Choices = append(q.Choices, choice{Value: string(r), Text: f.words.Say("role."+string(r)) + ": " + f.words.Say("role-may."+string(r))})
	}
	return q
}

func (f figures) memberCard(l look, m Member, a attempt) memberCard {
	card := memberCard{Member: m, Title: f.words.Say("role." + string(m.Role))}
	form := func(act string, asks ...ask) {
		card.Forms = append(card.Forms, f.asking(l, about{act: act, alarm: m.Name, summary: f.words.Say("people." + act), button: f.words.Say("button." + act)}, a, asks...))
	}
	switch {
	case m.Script != "":
		card.Title, card.State = f.words.Say("people.script"), f.words.Say("script."+m.Script)
	case !m.Joined && m.Sessions == 0:
		card.State = f.words.Say("people.waits", f.when(m.Since))
		form(actNewPassword)
	case m.Sessions == 0:
		card.State = f.words.Say("people.out", f.when(m.Since))
	default:
		card.State = f.words.Say("people.in", f.when(m.Since))
	}
	if m.Script == "" && m.Joined {
		form(actRole, f.roleAsk())
		form(actNewPassword)
	}
	form(actRevoke)
	return card
}

func (s *peoplePages) peoplePost(w http.ResponseWriter, r *http.Request) {
	form := s.onItsPage(w, r, s.changePeople)
	form.secret = true // it may hold a code with which anybody could choose a password
	s.submit(w, r, form)
}

// changePeople carries out one act of a keeper.
func (s *peoplePages) changePeople(ctx context.Context, t typed) (receipt string, wrong *problem) {
	f := s.figures(s.View.Now()).reader()
	target := access.Person{Name: t.Alarm, Role: access.Role(t.More.Get("role"))}
	if t.Act == actInvite {
		target.Name = f.text("name", t.More.Get("name"), longestName, true)
	}
	if t.Act == actInvite || t.Act == actRole {
		if _, err := access.ParseRole(string(target.Role)); err != nil {
			f.fail("role", "form.choose", s.words.Say("people.which-role"))
		}
	}
	if f.problem != nil {
		return "", f.problem
	}
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), actWithin)
	defer cancel()
	receipt, err := s.changeOne(ctx, t.Act, target)
	if err != nil {
		return "", &problem{"act", s.sentenceOf(err)}
	}
	return receipt, nil
}

func (s *peoplePages) changeOne(ctx context.Context, act string, p access.Person) (receipt string, err error) {
	code := ""
	switch act {
	case actInvite:
		code, err = s.door.Invite(ctx, p)
	case actNewPassword:
		code, err = s.door.Reset(ctx, p.Name)
	case actRole:
		return s.words.Say("people.role-done", p.Name, s.words.Say("role."+string(p.Role))), s.door.ChangeRole(ctx, p)
	case actRevoke:
		return s.words.Say("people.revoke-done", p.Name), s.door.Revoke(ctx, p.Name)
	}
	return s.words.Say("people.code", p.Name, "/join", code), err
}
