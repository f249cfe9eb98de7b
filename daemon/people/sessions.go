package people

import (
	"maps"
	"path/filepath"
	"slices"
	"time"

	"go.uber.org/zap"

	"wetside/dashboard/web"
	"wetside/rules/access"
)

// sessionsName is the file of sessions in the data folder.
const sessionsName = "sessions.json"

// mostSessions is how many sessions one account may have; the one that ends first
// gives way to a new one.
const mostSessions = 20

// session is one browser that signed in.
type session struct {
	Key     string    `json:"key"` // as [keyHash] gives it
	Account string    `json:"account"`
	Epoch   int       `json:"epoch"`
	Until   time.Time `json:"until"`
	// Here is set for a session that a PIN began: it counts on this computer alone.
	Here bool `json:"here,omitempty"`
	// Code is set for a session that began with a second step.
	Code bool `json:"code,omitempty"`
}

// sessions are those that last, by key.
type sessions map[string]session

func loadSessions(dir string) (sessions, error) {
	var list []session
	err := readJSON(filepath.Join(dir, sessionsName), &list)
	all := sessions{}
	for _, s := range list {
		all[s.Key] = s
	}
	return all, err
}

// add begins a session and gives the key that the browser keeps.
func (all sessions) add(s session) (key string) {
	mine := slices.DeleteFunc(slices.Collect(maps.Values(all)), func(other session) bool { return other.Account != s.Account })
	slices.SortFunc(mine, func(a, b session) int { return a.Until.Compare(b.Until) })
	for ; len(mine) >= mostSessions; mine = mine[1:] {
		delete(all, mine[0].Key)
	}
	key, s.Key = newKey()
	all[s.Key] = s
	return key
}

// dropEnded takes out what is over, and says whether anything was.
func (all sessions) dropEnded(now time.Time) bool {
	before := len(all)
	maps.DeleteFunc(all, func(_ string, s session) bool { return !now.Before(s.Until) })
	return len(all) < before
}

// keepSessions writes the sessions down. A session that can't be written holds until
// the next start: with a full disk people must still get at the alarms.
func (r *Roster) keepSessions() {
	list := slices.AppendSeq([]session{}, maps.Values(r.sessions))
	slices.SortFunc(list, func(a, b session) int { return a.Until.Compare(b.Until) })
	if err := writeJSON(filepath.Join(r.options.Dir, sessionsName), list); err != nil {
		r.options.Log.Warn("sessions are not kept over a restart", zap.Error(err))
	}
}

// Known gives the person of a session or a token; see [people.Accounts].
func (r *Roster) Known(k web.Key) (access.Person, bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if k.Token != "" {
		return r.byToken(k.Token)
	}
	if g := r.guestOf(k); g != nil {
		return access.Person{Name: g.name, Role: g.Role, Sites: g.Sites}, true
	}
	s, a := r.holder(k)
	if a == nil {
		return access.Person{}, false
	}
	return access.Person{Name: a.Name, Role: r.roleIn(s, *a), Sites: a.Sites}, true
}

// holder gives a session that lasts, and its account.
func (r *Roster) holder(k web.Key) (session, *account) {
	if k.Session == "" {
		return session{}, nil
	}
	s, known := r.sessions[keyHash(k.Session)]
	a := r.register.byID(s.Account)
	if !known || a == nil || a.Epoch != s.Epoch || s.Here && !k.Here || !r.options.Clock.Now().Wall.Before(s.Until) {
		return session{}, nil
	}
	return s, a
}

func (r *Roster) byToken(key string) (access.Person, bool) {
	t := r.token(key)
	role, lets := map[Purpose]access.Role{ForReading: access.Reader, ForActing: access.Volunteer}[t.For]
	return access.Person{Name: t.Name, Role: role}, lets
}

// token is the one of a key; the empty one, which opens nothing, where there is none.
func (r *Roster) token(key string) token {
	kept := keyHash(key)
	if t := only(r.register.Tokens, func(t token) bool { return t.Key == kept }); t != nil {
		return *t
	}
	return token{}
}

func (r *Roster) opens(key string, what Purpose) bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.token(key).For == what
}

// ReadsPrograms says whether a token is one for the answers to programs; see [people.Accounts].
func (r *Roster) ReadsPrograms(key string) bool { return r.opens(key, ForPrograms) }

// Measures says whether a token is one for the metrics; see [people.Accounts].
func (r *Roster) Measures(key string) bool { return r.opens(key, ForMetrics) }
