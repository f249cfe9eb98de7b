package web

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"time"

	"go.uber.org/zap"

	"wetside/rules"
	"wetside/rules/access"
	"wetside/sensors/quantity/phrase"
)

const (
	// longestForm bounds the body of a form in bytes.
	longestForm = 64 << 10
	// actWithin is how long an act may take to be recorded.
	actWithin = 10 * time.Second
)

// RoomForm is the route of a form about a room: who may enter the record of an act may send the act.
func (s *Kit) RoomForm(pattern string, acts []Act) Route {
	return Route{Pattern: pattern, For: From(access.Volunteer), Acts: acts,
		Answer: s.InRoom(func(w http.ResponseWriter, r *http.Request, in Visit) {
			form := s.OnItsPage(w, r, func(ctx context.Context, t Typed) (string, *Problem) { return s.carryOut(ctx, in, t, acts) })
			form.Undo = func() (*Undo, string) { return undoOf(r, acts) }
			s.Submit(w, r, form)
		})}
}

// undoOf is the form that takes back the act that came; it goes where the act went.
func undoOf(r *http.Request, acts []Act) (form *Undo, stays string) {
	t := readTyped(r.PostForm)
	at := slices.IndexFunc(acts, func(a Act) bool { return a.Name == t.Act })
	if at < 0 || acts[at].Undo == "" {
		return nil, OnRecord
	}
	return &Undo{Action: r.URL.Path, Says: url.Values{"act": {acts[at].Undo}, "alarm": {t.Alarm}, NameField: {t.Who}}}, ""
}

// Once carries out one form, however often its button is pressed, and leads to its
// receipt on the page of the form.
func (s *Kit) Once(w http.ResponseWriter, r *http.Request, carryOut func(context.Context, Typed) (receipt string, wrong *Problem)) {
	form := s.OnItsPage(w, r, carryOut)
	form.Stays = OnRecord
	s.Submit(w, r, form)
}

// OnItsPage is a form whose receipt and whose problem are shown on its own page.
func (s *Kit) OnItsPage(w http.ResponseWriter, r *http.Request, carryOut func(context.Context, Typed) (string, *Problem)) Sent {
	return Sent{
		Do:   func(ctx context.Context) (string, *Problem) { return carryOut(ctx, readTyped(r.PostForm)) },
		Next: func() *url.URL { return &url.URL{Path: r.URL.Path} },
		Back: func(wrong *Problem) { s.ComeBack(w, r, r.URL.Path, wrong) },
	}
}

// Sent is a form that was sent: how it is carried out, where its receipt is shown, and
// how it is shown again when it does not go through.
type Sent struct {
	Do   func(context.Context) (receipt string, wrong *Problem)
	Next func() *url.URL
	Back func(wrong *Problem)
	// Undo gives, after Do, the form that takes the act back, or says what stays; where there
	// is none, Stays says it.
	Undo  func() (form *Undo, stays string)
	Stays string
	// More gives, after Do, the page of what follows from the act; nil where there is none.
	More func() *Link
	// Secret is set for a receipt that is shown once, to the sender alone.
	Secret bool
	// Listens is set for an act that takes as long as a probe takes to speak, and ends when the browser goes away.
	Listens bool
}

// Submit carries out one form, once. What is carried out must go on when the browser
// goes away in between: a phone that falls asleep must not leave half an answer.
func (s *Kit) Submit(w http.ResponseWriter, r *http.Request, form Sent) {
	sub := submission{r.PostForm.Get("token"), senderOf(r), r.URL.Path, sha256.Sum256([]byte(r.PostForm.Encode()))}
	if !validToken(sub.token) {
		s.Fail(w, r, Failure{http.StatusBadRequest, Incomplete})
		return
	}
	it, first := s.submissions.begin(sub)
	var wrong *Problem
	switch {
	case first:
		wrong = s.carry(r, it, form)
	case it.submission != sub:
		// Shown again under a token of its own, it may be sent as a second entry.
		wrong = &Problem{"act", otherContents}
		r.PostForm.Set("token", NewToken())
	case !it.wait(r.Context()):
		wrong = &Problem{"act", "This was sent twice and the first one failed. Check the form and send it again."}
	}
	switch {
	case wrong != nil:
		form.Back(wrong)
	case WantsText(r):
		SendText(w, http.StatusOK, s.submissions.receipt(it.token, it.sender, it.page).Text)
	default:
		http.Redirect(w, r, it.address, http.StatusSeeOther)
	}
}

// carry acts on a form for the first time.
func (s *Kit) carry(r *http.Request, it *received, form Sent) (wrong *Problem) {
	var end outcome
	defer func() {
		if cause := recover(); cause != nil {
			s.Log.Error("a form failed", zap.String("path", r.URL.Path), zap.Any("cause", cause), zap.Stack("stack"))
			end, wrong = outcome{}, &Problem{"act", NotDrawn}
		}
		s.submissions.finish(it, end)
	}()
	sent := access.FormOf(it.token, string(it.content[:]))
	receipt, wrong := s.filedBefore(it.token, sent)
	if wrong != nil {
		r.PostForm.Set("token", NewToken())
	}
	if receipt == "" && wrong == nil {
		ctx, cancel := access.WithForm(r.Context(), sent), func() {}
		if !form.Listens {
			ctx, cancel = context.WithTimeout(context.WithoutCancel(ctx), actWithin)
		}
		defer cancel()
		receipt, wrong = form.Do(ctx)
	}
	if wrong != nil {
		return wrong
	}
	to := form.Next()
	end = outcome{receipt: Receipt{Text: phrase.Capital(receipt), Stays: form.Stays}, page: to.Path, secret: form.Secret}
	if form.Undo != nil {
		end.receipt.Undo, end.receipt.Stays = form.Undo()
	}
	if form.More != nil {
		end.receipt.More = form.More()
	}
	end.address = withQuery(r, to, "done", it.token)
	return nil
}

// filedBefore gives the receipt of a form that was recorded before the program started
// again, or refuses other contents under the same token; both are empty for a new form.
func (s *Kit) filedBefore(token string, sent access.Form) (receipt string, wrong *Problem) {
	if s.Filed == nil {
		return "", nil
	}
	form, number, found := s.Filed(token)
	switch {
	case !found:
		return "", nil
	case form != sent:
		return "", &Problem{"act", otherContents}
	}
	return fmt.Sprintf("This form was already recorded, as number %d.", number), nil
}

// withQuery is an address with a token in it; a red page leads to a red page.
func withQuery(r *http.Request, to *url.URL, what, token string) string {
	q := to.Query()
	q.Set(what, token)
	if LookOf(r) == Red {
		q.Set("look", string(Red))
	}
	to.RawQuery = q.Encode()
	return to.String()
}

// carryOut reads the form of one of the acts and hands the act to the room; it gives a receipt or a problem.
func (s *Kit) carryOut(ctx context.Context, in Visit, t Typed, acts []Act) (receipt string, wrong *Problem) {
	f, command := s.Figures(in.Site).Reader(t.More), rules.Command{Room: in.Snap.Room}
	at := slices.IndexFunc(acts, func(a Act) bool { return a.Name == t.Act })
	if at >= 0 {
		command.Act = acts[at].Read(f, t)
	} else {
		f.Fail("act", UnknownAct)
	}
	command.Person = f.Who()
	open := func(a rules.AlarmView) bool { return a.ID == t.Alarm }
	switch {
	case f.Problem != nil:
		return "", f.Problem
	case acts[at].OnAlarm && !slices.ContainsFunc(slices.Concat(in.Snap.Alarms, in.Snap.Aside), open):
		return "", &Problem{"act", "This alarm is no longer open: there is nothing to acknowledge."}
	}
	return s.HandOver(ctx, command)
}

// HandOver gives an act to its room and waits until it is recorded.
func (s *Kit) HandOver(ctx context.Context, command rules.Command) (receipt string, wrong *Problem) {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), actWithin)
	defer cancel()
	got, err := s.View.Do(ctx, command)
	if err != nil {
		return "", s.NotKept(err)
	}
	return s.Figures(s.View.Now()).Text(got.Sentence), nil
}

// NotKept says why an entry was not kept, or that it is not known whether it was.
func (s *Kit) NotKept(err error) *Problem {
	if errors.Is(err, context.DeadlineExceeded) {
		return &Problem{"act", "wetside did not answer in time. Check whether the tray has changed before you press again."}
	}
	return &Problem{"act", s.ErrorText(err)}
}

// ComeBack leads to a page with what was typed and what is wrong. It is an
// address of its own, so that going back never asks to send a form again: the
// browser's page for that question is white.
func (s *Kit) ComeBack(w http.ResponseWriter, r *http.Request, page string, wrong *Problem) {
	if WantsText(r) {
		SendText(w, http.StatusConflict, wrong.Sentence)
		return
	}
	t := readTyped(r.PostForm)
	s.attempts.keep(attemptBy{Attempt{t, wrong}, senderOf(r), page})
	http.Redirect(w, r, withQuery(r, &url.URL{Path: page}, "again", t.Token), http.StatusSeeOther)
}
