package people

import (
	"context"
	"fmt"
	"net/http"

	"wetside/dashboard/web"
)

// The acts of the forms on the page of programs.
const (
	actToken       = "make-token"
	actRevokeToken = "revoke-token"
)

type programsBody struct {
	Problem  string
	Token    web.AskForm
	Programs []memberCard
}

func (s *Pages) programsPage(w http.ResponseWriter, r *http.Request) {
	f, a, l := s.figures(s.View.Now()), s.Attempt(r), web.LookOf(r)
	body := programsBody{Problem: a.Sentence()}
	scope := web.Ask{Field: scopeField}
	for _, c := range s.Accounts.Scopes() {
		scope.Choices = append(scope.Choices, web.Choice{Value: c.Name, Text: c.Name + ": " + c.Label})
	}
	body.Token = f.Asking(l, web.About{Act: actToken, Summary: "Let a program read", Button: "Make a token"}, a,
		web.Ask{Field: nameField, Hint: "of the program; it will be in the record"}, scope)
	for _, m := range s.Accounts.People() {
		if m.Script == "" {
			continue
		}
		card := memberCard{Member: m, Title: "program", State: fmt.Sprintf("%s, since %s", m.Script, f.When(m.Since))}
		revoke := web.About{Act: actRevokeToken, Alarm: m.Name, Summary: "Remove access", Button: "Remove access now"}
		card.Forms = append(card.Forms, f.Asking(l, revoke, a))
		body.Programs = append(body.Programs, card)
	}
	s.Show(w, r, http.StatusOK, s.PlacePage(r, web.Head{Name: "programs", Title: "Programs"}, "people.css").With(body))
}

func (s *Pages) programsPost(w http.ResponseWriter, r *http.Request) {
	form := s.OnItsPage(w, r, s.changePrograms)
	form.Secret = true // it holds the token
	s.Submit(w, r, form)
}

func (s *Pages) changePrograms(ctx context.Context, t web.Typed) (receipt string, wrong *web.Problem) {
	var err error
	switch t.Act {
	case actToken:
		receipt, wrong, err = s.makeToken(ctx, t)
	case actRevokeToken:
		receipt, err = fmt.Sprintf("%s can read nothing any more.", t.Alarm), s.Accounts.RevokeToken(ctx, t.Alarm)
	default:
		return "", &web.Problem{Field: "act", Sentence: web.UnknownAct}
	}
	if err != nil {
		return "", &web.Problem{Field: "act", Sentence: s.ErrorText(err)}
	}
	return receipt, wrong
}

func (s *Pages) makeToken(ctx context.Context, t web.Typed) (receipt string, wrong *web.Problem, err error) {
	f := s.figures(s.View.Now()).Reader(t.More)
	name := f.Name(nameField, true)
	var scopes []string
	for _, c := range s.Accounts.Scopes() {
		scopes = append(scopes, c.Name)
	}
	scope := web.PickOf(f, scopeField, scopes...)
	if f.Problem != nil {
		return "", f.Problem, nil
	}
	key, err := s.Accounts.MakeToken(ctx, name, scope)
	return fmt.Sprintf("The token of %s is shown this once. Keep it where only the program can read it, and have it sent with "+
		"each request as Authorization: Bearer %s", name, key), nil, err
}
