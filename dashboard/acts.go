package dashboard

import (
	"context"
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strconv"
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

// roomForm is the route of a form about a room: who may enter the record of an act may send the act.
func (s *kit) roomForm(pattern string, acts []Act) Route {
	return Route{Pattern: pattern, For: From(access.Volunteer), Acts: acts, Answer: s.inRoom(func(w http.ResponseWriter, r *http.Request, in visit) {
		s.once(w, r, func(ctx context.Context, t typed) (string, *problem) { return s.carryOut(ctx, in, t, acts) })
	})}
}

// once carries out one form, however often its button is pressed, and leads to its
// receipt on the page of the form.
func (s *kit) once(w http.ResponseWriter, r *http.Request, carryOut func(context.Context, typed) (receipt string, wrong *problem)) {
	s.submit(w, r, s.onItsPage(w, r, carryOut))
}

// onItsPage is a form whose receipt and whose problem are shown on its own page.
func (s *kit) onItsPage(w http.ResponseWriter, r *http.Request, carryOut func(context.Context, typed) (string, *problem)) sent {
	return sent{
		do:   func(ctx context.Context) (string, *problem) { return carryOut(ctx, readTyped(r.PostForm)) },
		next: func() *url.URL { return &url.URL{Path: r.URL.Path} },
		back: func(wrong *problem) { s.comeBack(w, r, r.URL.Path, wrong) },
	}
}

// sent is a form that was sent: how it is carried out, where its receipt is shown, and
// how it is shown again when it does not go through.
type sent struct {
	do   func(context.Context) (receipt string, wrong *problem)
	next func() *url.URL
	back func(wrong *problem)
	// secret is set for a receipt that is shown once, to the sender alone.
	secret bool
}

// submit carries out one form, once. What is carried out must go on when the browser
// goes away in between: a phone that falls asleep must not leave half an answer.
func (s *kit) submit(w http.ResponseWriter, r *http.Request, form sent) {
	sub := submissionOf(r)
	if !validToken(sub.token) {
		s.fail(w, r, failure{http.StatusBadRequest, s.words.Say("form.incomplete")})
		return
	}
	it, first := s.presses.begin(sub)
	var wrong *problem
	switch {
	case first:
		wrong = s.carry(r, it, form)
	case it.submission != sub:
		// Shown again under a token of its own, it may be sent as a second entry.
		wrong = &problem{"act", s.words.Say("form.other")}
		r.PostForm.Set("token", newToken())
	case !it.wait(r.Context()):
		wrong = &problem{"act", s.words.Say("form.twice")}
	}
	switch {
	case wrong != nil:
		form.back(wrong)
	case wantsText(r):
		sendText(w, http.StatusOK, s.presses.receipt(it.token, it.sender, it.page))
	default:
		http.Redirect(w, r, it.address, http.StatusSeeOther)
	}
}

// carry acts on a form for the first time.
func (s *kit) carry(r *http.Request, it *press, form sent) (wrong *problem) {
	var end outcome
	defer func() {
		if cause := recover(); cause != nil {
			s.Log.Error("a form failed", zap.String("path", r.URL.Path), zap.Any("cause", cause), zap.Stack("stack"))
			end, wrong = outcome{}, &problem{"act", s.words.Say("error.page")}
		}
		s.presses.finish(it, end)
	}()
	sent := access.FormOf(it.token, string(it.content[:]))
	receipt, wrong := s.filedBefore(it.token, sent)
	if wrong != nil {
		r.PostForm.Set("token", newToken())
	}
	if receipt == "" && wrong == nil {
		receipt, wrong = form.do(access.WithForm(r.Context(), sent))
	}
	if wrong != nil {
		return wrong
	}
	to := form.next()
	end = outcome{receipt: receipt, page: to.Path, secret: form.secret}
	end.address = withQuery(r, to, "done", it.token)
	return nil
}

// filedBefore gives the receipt of a form that was recorded before the program started
// again, or refuses other contents under the same token; both are empty for a new form.
func (s *kit) filedBefore(token string, sent access.Form) (receipt string, wrong *problem) {
	if s.Filed == nil {
		return "", nil
	}
	form, number, found := s.Filed(token)
	switch {
	case !found:
		return "", nil
	case form != sent:
		return "", &problem{"act", s.words.Say("form.other")}
	}
	return s.words.Say("form.filed", number), nil
}

// withQuery is an address with a token in it; a red page leads to a red page.
func withQuery(r *http.Request, to *url.URL, what, token string) string {
	q := to.Query()
	q.Set(what, token)
	if lookOf(r) == red {
		q.Set("look", string(red))
	}
	to.RawQuery = q.Encode()
	return to.String()
}

// carryOut reads the form of one of the acts and hands the act to the room; it gives a receipt or a problem.
func (s *kit) carryOut(ctx context.Context, in visit, t typed, acts []Act) (receipt string, wrong *problem) {
	f, command, on := s.figures(in.site).reader(), rules.Command{Room: in.snap.Room}, OnRoom
	if at := slices.IndexFunc(acts, func(a Act) bool { return a.Name == t.Act }); at >= 0 {
		command.Act, on = acts[at].Read(f, t), acts[at].On
	} else {
		f.fail("act", "form.unknown-act")
	}
	command.Person = f.text(nameField, t.Who, longestName, true)
	if f.problem == nil {
		f.problem = s.outdated(in.snap, t, on)
	}
	if f.problem != nil {
		return "", f.problem
	}
	return s.handOver(ctx, command)
}

// handOver gives an act to its room and waits until it is recorded.
func (s *kit) handOver(ctx context.Context, command rules.Command) (receipt string, wrong *problem) {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), actWithin)
	defer cancel()
	got, err := s.View.Do(ctx, command)
	switch {
	case errors.Is(err, context.DeadlineExceeded):
		return "", &problem{"act", s.words.Say("form.no-answer")}
	case err != nil:
		return "", &problem{"act", phrase.Error(err, s.figures(s.View.Now()))}
	}
	return s.figures(s.View.Now()).tell(got.Sentence), nil
}

// notKept says why an entry was not kept, or that it is not known whether it was.
func (s *kit) notKept(err error) *problem {
	if errors.Is(err, context.DeadlineExceeded) {
		return &problem{"act", s.words.Say("form.no-answer")}
	}
	return &problem{"act", s.sentenceOf(err)}
}

// outdated finds a form that was drawn before somebody else changed what its act is on.
func (s *kit) outdated(snap *rules.Snapshot, t typed, on Subject) *problem {
	switch on {
	case OnRoom:
		return nil
	case OnAlarm:
		if slices.ContainsFunc(slices.Concat(snap.Alarms, snap.Aside), func(a rules.AlarmView) bool { return a.ID == t.Alarm }) {
			return nil
		}
		return &problem{"act", s.words.Say("form.no-alarm")}
	}
	for _, b := range snap.Baths {
		if b.Bath.ID != t.Bath {
			continue
		}
		if versionOf(b.Portion) != t.Version {
			return &problem{"act", s.words.Say("form.conflict")}
		}
		return nil
	}
	return &problem{"act", s.words.Say("form.no-bath")}
}

// versionOf names what stood in the tray when a form was drawn.
func versionOf(p *rules.Portion) string {
	if p == nil {
		return "empty"
	}
	return strconv.FormatUint(p.Record, 10)
}

// comeBack leads to a page with what was typed and what is wrong. It is an
// address of its own, so that going back never asks to send a form again: the
// browser's page for that question is white.
func (s *kit) comeBack(w http.ResponseWriter, r *http.Request, page string, wrong *problem) {
	if wantsText(r) {
		sendText(w, http.StatusConflict, wrong.Sentence)
		return
	}
	t := readTyped(r.PostForm)
	s.attempts.keep(attemptBy{attempt{t, wrong}, senderOf(r), page})
	http.Redirect(w, r, withQuery(r, &url.URL{Path: page}, "again", t.Token), http.StatusSeeOther)
}
