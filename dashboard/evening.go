package dashboard

import (
	"slices"
	"strings"
	"time"

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

// sessionLine says in a few words where the evening stands.
func (f figures) sessionLine(v rules.SessionView) string {
	title := clip(v.Title)
	if title == "" {
		title = f.words.Say("session.untitled")
	}
	switch {
	case v.Phase == session.Planned:
		return f.words.Say("session.planned", title, f.when(v.From), f.clock(v.To))
	case !v.Phase.Running():
		return ""
	}
	line := []string{title, f.phaseWord(v.Phase)}
	if !v.To.IsZero() {
		line = append(line, f.words.Say("session.until", f.clock(v.To)))
	}
	if v.People > 0 {
		line = append(line, f.words.Say("session.people", v.People))
	}
	return strings.Join(line, " · ")
}

func (f figures) phaseWord(p session.Phase) string {
	switch p {
	case session.Planned:
		return f.words.Say("phase.planned")
	case session.SetUp:
		return f.words.Say("phase.set-up")
	case session.Open:
		return f.words.Say("phase.open")
	case session.TakeDown:
		return f.words.Say("phase.take-down")
	case session.Closed:
		return f.words.Say("phase.closed")
	}
	return f.words.Say("phase.none")
}

// airing is the purge as long as somebody waits for it.
func (f figures) airing(snap *rules.Snapshot) string {
	p := snap.Purge
	if p == nil || p.Done && p.After && !snap.Session.Phase.Running() {
		return ""
	}
	return f.tell(p.Sentence)
}

// boardNotices are the first of the notices, and how many there are besides.
func (f figures) boardNotices(snap *rules.Snapshot) []string {
	list := f.tellAll(snap.Notices)
	if snap.Purge != nil {
		purge := f.tell(snap.Purge.Sentence)
		list = slices.DeleteFunc(list, func(n string) bool { return n == purge })
	}
	if n := len(snap.Aside); n > 0 {
		list = slices.Insert(list, 0, f.words.Say("board.aside", n))
	}
	most := mostNotices
	if f.airing(snap) != "" {
		most = 0
	}
	if over := len(list) - most; over > 0 {
		list = append(list[:most:most], f.words.Say("board.notices", over))
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
