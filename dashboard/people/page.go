package people

import (
	"cmp"
	"context"
	"fmt"
	"net/http"
	"strings"

	"wetside/dashboard/web"
	"wetside/rules/access"
)

// The acts of the forms on the page of people.
const (
	actInvite      = "invite"
	actRole        = "role"
	actNewPassword = "reset-password"
	actRevoke      = "revoke"
	actDropStep    = "drop-second-step"
	actLetIn       = "let-in-again"
	actSites       = "show-sites"
)

type peopleBody struct {
	Problem string
	Invite  web.AskForm
	Members []memberCard
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
	body := peopleBody{Problem: a.Sentence(), Fingerprint: s.Fingerprint}
	body.Invite = f.Asking(l, web.About{Act: actInvite, Summary: "Invite somebody", Button: "Invite"}, a,
		append([]web.Ask{{Field: nameField, Hint: "as others know it; it will be in the record"}, f.roleAsk()}, s.sitesAsk()...)...)
	for _, m := range s.Accounts.People() {
		body.Members = append(body.Members, s.memberCard(f, l, m, a))
	}
	s.Show(w, r, http.StatusOK, s.PlacePage(r, web.Head{Name: "people", Title: "People"}, "people.css").With(body))
}

// may says what a role is let do, beside what the roles below it are.
func may(r access.Role) string {
	return cmp.Or(map[access.Role]string{access.Volunteer: "fills trays, answers alarms, records what is done",
		access.Instructor: "can also snooze an alarm", access.Manager: "can also switch an alarm off",
		access.Keeper: "can also give people access"}[r], "nothing")
}

// sitesAsk asks for the sites that somebody may see, at a centre alone.
func (s *Pages) sitesAsk() []web.Ask {
	if !s.OfSites {
		return nil
	}
	return []web.Ask{{Field: sitesField, Hint: "all, or a list such as: building Library; site Annex. Empty shows none"}}
}

func (f figures) roleAsk() web.Ask {
	q := web.Ask{Field: roleField}
	for _, r := range access.Roles() {
		q.Choices = append(q.Choices, web.Choice{Value: string(r), Text: string(r) + ": " + may(r)})
	}
	return q
}

func (s *Pages) memberCard(f figures, l web.Look, m Member, a web.Attempt) memberCard {
	card := memberCard{Member: m, Title: string(m.Role)}
	form := func(of web.About, asks ...web.Ask) {
		of.Alarm = m.Name
		card.Forms = append(card.Forms, f.Asking(l, of, a, asks...))
	}
	newPassword := web.About{Act: actNewPassword, Summary: "New password", Button: "Give a new code"}
	switch {
	case m.Script != "":
		card.Title, card.State = "program", m.Script
	case m.House && !m.Joined:
		card.Title, card.State = s.Accounts.House(), "access taken away here"
		form(web.About{Act: actLetIn, Summary: "Let in again", Button: "Let in again"})
		return card
	case m.House:
		card.State = "signed in now with " + s.Accounts.House()
	case !m.Joined && m.Sessions == 0:
		card.State = fmt.Sprintf("code made %s, not used yet", f.When(m.Since))
		form(newPassword)
	case m.Sessions == 0:
		card.State = fmt.Sprintf("since %s, not signed in now", f.When(m.Since))
	default:
		card.State = fmt.Sprintf("since %s, signed in now", f.When(m.Since))
	}
	if m.Script == "" && m.Joined && !m.House {
		form(web.About{Act: actRole, Summary: "Change the role", Button: "Change the role"}, f.roleAsk())
		form(newPassword)
	}
	if s.OfSites && m.Script == "" && !m.House {
		if card.State += ", sees no site"; m.Sites != "" {
			card.State = strings.TrimSuffix(card.State, "no site") + string(m.Sites)
		}
		if m.Joined {
			form(web.About{Act: actSites, Summary: "Change the sites", Button: "Change the sites"}, s.sitesAsk()...)
		}
	}
	if m.SecondStep {
		form(web.About{Act: actDropStep, Summary: "Phone lost", Button: "Ask for no code any more"})
	}
	form(web.About{Act: actRevoke, Summary: "Remove access", Button: "Remove access now"})
	return card
}

func (s *Pages) peoplePost(w http.ResponseWriter, r *http.Request) {
	form := s.OnItsPage(w, r, s.changePeople)
	form.Secret = true // it may hold a code with which anybody could choose a password
	s.Submit(w, r, form)
}

func (s *Pages) changePeople(ctx context.Context, t web.Typed) (receipt string, wrong *web.Problem) {
	f := s.figures(s.View.Now()).Reader(t.More)
	target := access.Person{Name: t.Alarm, Role: access.Role(t.More.Get("role"))}
	if t.Act == actInvite {
		target.Name = f.Name(nameField, true)
	}
	if t.Act == actInvite || t.Act == actRole {
		if _, err := access.ParseRole(string(target.Role)); err != nil {
			f.Unchosen(roleField)
		}
	}
	var err error
	if target.Sites, err = access.ParseSites(t.More.Get("sites")); err != nil {
		return "", &web.Problem{Field: "sites", Sentence: s.ErrorText(err)}
	}
	if f.Problem != nil {
		return "", f.Problem
	}
	receipt, err = s.changeOne(ctx, t.Act, target)
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
		return fmt.Sprintf("%s is now %s.", p.Name, p.Role), s.Accounts.ChangeRole(ctx, p)
	case actDropStep:
		return fmt.Sprintf("%s signs in without a code now, and every session has ended. A new app is set up on the page Second step.",
			p.Name), s.Accounts.DropSecondStep(ctx, p.Name)
	case actLetIn:
		return fmt.Sprintf("%s is let in again.", p.Name), s.Accounts.LetInAgain(ctx, p.Name)
	case actSites:
		return fmt.Sprintf("%s can now see: %s.", p.Name, cmp.Or(string(p.Sites), "no site")), s.Accounts.ShowSites(ctx, p)
	case actRevoke:
		return fmt.Sprintf("%s can no longer sign in, and every session has ended.", p.Name), s.Accounts.Revoke(ctx, p.Name)
	}
	return fmt.Sprintf("Give %s this code, on paper or in person. It works once, within three days, at the address of this site with %s "+
		"behind it: %s", p.Name, "/join", code), err
}
