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
	"wetside/sensors/quantity/phrase"
)

const (
	// longestForm bounds the body of a form in bytes.
	longestForm = 64 << 10
	// actWithin is how long an act may take to be recorded.
	actWithin = 10 * time.Second
)

// bathsPost carries out one act in a room and leads to its receipt.
func (s *Server) bathsPost(w http.ResponseWriter, r *http.Request, in visit) {
	s.once(w, r, func(ctx context.Context, t typed) (string, *problem) { return s.carryOut(ctx, in, t) })
}

// once carries out one form, however often its button is pressed, and leads to its
// receipt. What is carried out must go on when the browser goes away in between: a
// phone that falls asleep must not leave half an answer.
func (s *Server) once(w http.ResponseWriter, r *http.Request, carryOut func(context.Context, typed) (receipt string, wrong *problem)) {
	t := readTyped(r.PostForm)
	if !validToken(t.Token) {
		s.fail(w, r, failure{http.StatusBadRequest, s.words.Say("form.incomplete")})
		return
	}
	it, first := s.presses.begin(t.Token)
	if !first {
		if it.wait(r.Context()) == "" {
			s.comeBack(w, r, attempt{t, &problem{"act", s.words.Say("form.twice")}})
			return
		}
		s.leadTo(w, r, "done", t.Token)
		return
	}
	receipt, wrong := carryOut(r.Context(), t)
	s.presses.finish(t.Token, it, receipt)
	if wrong != nil {
		s.comeBack(w, r, attempt{t, wrong})
		return
	}
	s.leadTo(w, r, "done", t.Token)
}

// carryOut reads the form and hands the act to the room; it gives a receipt or a problem.
func (s *Server) carryOut(ctx context.Context, in visit, t typed) (receipt string, wrong *problem) {
	defer func() {
		if cause := recover(); cause != nil {
			s.log.Error("an act failed", zap.Any("cause", cause))
			receipt, wrong = "", &problem{"act", s.words.Say("error.page")}
		}
	}()
	figures := s.figures(in.site)
	f := formReader{words: s.words, volume: figures.unit(volumeDimension), now: figures.now.Wall, zone: figures.zone}
	command := f.command(t)
	if f.problem == nil {
		f.problem = s.outdated(in.snap, t)
	}
	if f.problem != nil {
		return "", f.problem
	}
	command.Room = in.snap.Room
	return s.handOver(ctx, command)
}

// handOver gives an act to its room and waits until it is recorded.
func (s *Server) handOver(ctx context.Context, command rules.Command) (receipt string, wrong *problem) {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), actWithin)
	defer cancel()
	got, err := s.view.Do(ctx, command)
	switch {
	case errors.Is(err, context.DeadlineExceeded):
		return "", &problem{"act", s.words.Say("form.no-answer")}
	case err != nil:
		return "", &problem{"act", phrase.Error(err, s.figures(s.view.Now()))}
	}
	return s.figures(s.view.Now()).tell(got.Sentence), nil
}

// notKept says why an entry was not kept, or that it is not known whether it was.
func (s *Server) notKept(err error) *problem {
	if errors.Is(err, context.DeadlineExceeded) {
		return &problem{"act", s.words.Say("form.no-answer")}
	}
	return &problem{"act", s.sentenceOf(err)}
}

// outdated finds a form that was drawn before somebody else changed the same thing.
func (s *Server) outdated(snap *rules.Snapshot, t typed) *problem {
	switch t.Act {
	case actAcknowledge, actReset, actShelve, actDisable, actRestore:
		if slices.ContainsFunc(slices.Concat(snap.Alarms, snap.Aside), func(a rules.AlarmView) bool { return a.ID == t.Alarm }) {
			return nil
		}
		return &problem{"act", s.words.Say("form.no-alarm")}
	case actDrill, actSounder, actComplain, actBegin, actEnd, actRequire, actRequireChange, actRequireOff, actLimit, actLimitOff:
		return nil
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

// comeBack leads to the form with what was typed and what is wrong. It is an
// address of its own, so that going back never asks to send a form again: the
// browser's page for that question is white.
func (s *Server) comeBack(w http.ResponseWriter, r *http.Request, a attempt) {
	if wantsText(r) {
		sendText(w, http.StatusConflict, a.problem.Sentence)
		return
	}
	s.presses.keep(a)
	s.leadTo(w, r, "again", a.typed.Token)
}

// leadTo answers a form with the address that shows what became of it.
func (s *Server) leadTo(w http.ResponseWriter, r *http.Request, what, token string) {
	if wantsText(r) {
		sendText(w, http.StatusOK, s.presses.receipt(token))
		return
	}
	query := url.Values{what: {token}}
	if lookOf(r) == red {
		query.Set("look", string(red))
	}
	http.Redirect(w, r, r.URL.Path+"?"+query.Encode(), http.StatusSeeOther)
}
