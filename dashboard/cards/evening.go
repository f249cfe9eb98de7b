package cards

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/session"
)

// The two sounds of a page.
const (
	soundLook = "look" // look at the page when there is a moment
	soundAct  = "act"  // somebody must act now
)

// mostNotices is how many notices stand on the board; the others are on the page of the air.
const mostNotices = 1

// SessionLine says in a few words where the evening stands.
func (f Figures) SessionLine(v rules.SessionView) string {
	title := cmp.Or(web.Clip(v.Title), "Session")
	switch {
	case v.Phase == session.Planned:
		return fmt.Sprintf("%s, %s to %s", title, f.When(v.From), f.TimeOfDay(v.To))
	case !v.Phase.Running():
		return ""
	}
	line := []string{title, f.PhaseWord(v.Phase)}
	if !v.To.IsZero() {
		line = append(line, fmt.Sprintf("until %s", f.TimeOfDay(v.To)))
	}
	if v.People > 0 {
		line = append(line, web.Count(v.People, "%d person", "%d people"))
	}
	return strings.Join(line, " · ")
}

// PhaseWord names the phase of an evening.
func (f Figures) PhaseWord(p session.Phase) string {
	return cmp.Or(map[session.Phase]string{session.Planned: "planned", session.SetUp: "set-up", session.Open: "open",
		session.TakeDown: "take-down", session.Closed: "closed"}[p], "none")
}

// Airing is the purge as long as somebody waits for it.
func (f Figures) Airing(snap *rules.Snapshot) string {
	p := snap.Purge
	if p == nil || p.Done && p.After && !snap.Session.Phase.Running() {
		return ""
	}
	return f.Text(p.Sentence)
}

// BoardNotices are the first of the notices, and how many there are besides.
func (f Figures) BoardNotices(snap *rules.Snapshot) []string {
	list := f.Texts(snap.Notices)
	if snap.Purge != nil {
		purge := f.Text(snap.Purge.Sentence)
		list = slices.DeleteFunc(list, func(n string) bool { return n == purge })
	}
	if n := len(snap.Aside); n > 0 {
		list = slices.Insert(list, 0, fmt.Sprintf("Alarms snoozed or off: %d.", n))
	}
	most := mostNotices
	if f.Airing(snap) != "" {
		most = 0
	}
	if over := len(list) - most; over > 0 {
		list = append(list[:most:most], fmt.Sprintf("%d more on the Air page.", over))
	}
	return list
}

// soundOf says which sound the open alarms ask for until somebody has seen them, and for which.
func soundOf(alarms []rules.AlarmView) (sound, which string) {
	var names []string
	for _, a := range alarms {
		if a.Acknowledged {
			continue
		}
		names = append(names, a.ID+"@"+a.Since.UTC().Format(time.RFC3339))
		if a.Urgent {
			sound = soundAct
		} else if sound == "" {
			sound = soundLook
		}
	}
	return sound, strings.Join(names, " ")
}
