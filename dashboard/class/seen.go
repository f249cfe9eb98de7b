package class

import (
	"context"
	"net"
	"net/http"
	"net/url"
	"slices"

	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/access"
)

// actSeen says that an alarm was seen, by one press on the board.
const actSeen = "seen"

// seenPost notes that the alarm that the board shows was seen. A press that comes twice, or
// after the alarm went, changes nothing and is no mistake: nobody reads refusals in the dark.
func (s *Pages) seenPost(w http.ResponseWriter, r *http.Request, in web.Visit) {
	id := r.PostForm.Get("alarm")
	asks := slices.ContainsFunc(in.Snap.Alarms, func(a rules.AlarmView) bool { return a.ID == id && !a.Acknowledged })
	if asks {
		who, _ := access.From(r.Context())
		act := rules.AcknowledgeAlarm{Alarm: id, Screen: s.screenName(r)}
		if _, wrong := s.HandOver(r.Context(), rules.Command{Room: in.Snap.Room, Person: who.Name, Act: act}); wrong != nil {
			if web.WantsText(r) {
				web.SendText(w, http.StatusConflict, wrong.Sentence)
				return
			}
			s.Fail(w, r, web.Failure{Status: http.StatusConflict, Sentence: wrong.Sentence})
			return
		}
	}
	if web.WantsText(r) {
		w.WriteHeader(http.StatusNoContent)
		return
	}
	http.Redirect(w, r, "/rooms/"+in.Snap.Room+"/board", http.StatusSeeOther)
}

// screenName is by which screen something was pressed: the name under which it was tested,
// else whether it is that of the computer itself.
func (s *Pages) screenName(r *http.Request) string {
	if name := s.Screen(r).Name; name != "" {
		return name
	}
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if ip := net.ParseIP(host); err == nil && ip != nil && ip.IsLoopback() {
		return "the lab computer"
	}
	return "another device"
}

// seerPost notes who saw an alarm that was answered without a name. Where nobody signs in,
// whoever is named has entered the name.
func (s *Pages) seerPost(w http.ResponseWriter, r *http.Request, in web.Visit) {
	page := web.OwnPath(r.PostForm.Get("next"), "/rooms/"+in.Snap.Room+"/tonight")
	form := s.OnItsPage(w, r, func(ctx context.Context, t web.Typed) (string, *web.Problem) {
		f := s.Figures(in.Site).Reader(t.More)
		act := cards.NameSeer(f, t)
		if f.Problem != nil {
			return "", f.Problem
		}
		who, known := access.From(ctx)
		if !known {
			who.Name = act.Saw
		}
		return s.HandOver(ctx, rules.Command{Room: in.Snap.Room, Person: who.Name, Act: act})
	})
	form.Next = func() *url.URL { return page }
	form.Back = func(wrong *web.Problem) { s.ComeBack(w, r, page.Path, wrong) }
	s.Submit(w, r, form)
}
