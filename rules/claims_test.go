package rules_test

import (
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"wetside/rules"
	"wetside/sensors/quantity/phrase"
)

// wrong says what is not as a line claims; empty when it is so.
func (e *evening) wrong(l line) string {
	claims := map[string]func(string) string{
		"lit":      func(rest string) string { return same(rest, e.lit(e.shown.Alarms)) },
		"aside":    func(rest string) string { return same(rest, e.lit(e.shown.Aside)) },
		"air":      func(rest string) string { return same(rest, string(e.shown.Air.State)) },
		"phase":    func(rest string) string { return same(rest, string(e.shown.Session.Phase)) },
		"armed":    func(rest string) string { return same(rest, map[bool]string{true: "yes", false: "no"}[e.shown.Armed]) },
		"notice":   e.notice,
		"urgent":   e.urgent,
		"says":     e.says,
		"time":     e.time,
		"refused":  e.refused,
		"refuse":   e.refuse,
		"airing":   e.airing,
		"counted":  e.counted,
		"gas":      e.gas,
		"recorded": e.recorded,
	}
	claim, known := claims[l.verb]
	if !known {
		return "no such verb"
	}
	return claim(l.rest)
}

func same(want, got string) string {
	if sorted(want) == sorted(got) {
		return ""
	}
	return "it is " + got
}

func sorted(words string) string {
	return strings.Join(slices.Sorted(slices.Values(strings.Fields(words))), " ")
}

func (e *evening) notice(rest string) string {
	if rest == "none" && len(e.shown.Notices) == 0 {
		return ""
	}
	if slices.ContainsFunc(e.shown.Notices, func(n phrase.Sentence) bool { return strings.Contains(n.String(), rest) }) {
		return ""
	}
	return "no such notice"
}

func (e *evening) alarm(id string) (rules.AlarmView, bool) {
	at := slices.IndexFunc(e.shown.Alarms, func(a rules.AlarmView) bool { return a.ID == id })
	if at < 0 {
		return rules.AlarmView{}, false
	}
	return e.shown.Alarms[at], true
}

func (e *evening) urgent(rest string) string {
	if a, ok := e.alarm(rest); !ok || !a.Urgent {
		return "it is not"
	}
	return ""
}

func (e *evening) says(rest string) string {
	id, words, _ := strings.Cut(rest, " ")
	a, ok := e.alarm(id)
	if all := a.Text.String() + ". " + a.Act.String(); !ok || !strings.Contains(all, words) || strings.Contains(all, "STOP") {
		return "it says " + all
	}
	return ""
}

func (e *evening) bath(id string) rules.BathView {
	for _, b := range e.shown.Baths {
		if b.Bath.ID == id {
			return b
		}
	}
	e.Fatalf("line %d: no bath %q", e.line.number, id)
	return rules.BathView{}
}

func (e *evening) time(rest string) string {
	id, span, _ := strings.Cut(rest, " ")
	t, ok := e.bath(id).Recommendation.Time()
	var m1, s1, m2, s2 int
	if n, _ := fmt.Sscanf(span, "%d:%d..%d:%d", &m1, &s1, &m2, &s2); n != 4 {
		return "write a time as 1:30..1:50"
	}
	low, high := time.Duration(m1*60+s1)*time.Second, time.Duration(m2*60+s2)*time.Second
	if !ok || t < low || t > high {
		return fmt.Sprintf("it is %s %s", t, e.bath(id).Recommendation.Refusal())
	}
	return ""
}

func (e *evening) refused(rest string) string {
	id, why, _ := strings.Cut(rest, " ")
	r := e.bath(id).Recommendation
	if t, ok := r.Time(); ok || !strings.Contains(r.Refusal().String(), why) {
		return fmt.Sprintf("it is %s %q", t, r.Refusal())
	}
	return ""
}

func (e *evening) refuse(rest string) string {
	act, why, _ := strings.Cut(rest, " => ")
	err := rules.Check(e.room, e.board, e.command(act))
	if err == nil || !strings.Contains(err.Error(), why) {
		return fmt.Sprintf("it is taken as %v", err)
	}
	return ""
}

// span reads "40..60".
func span(text string) (low, high float64, ok bool) {
	a, b, found := strings.Cut(text, "..")
	low, errLow := strconv.ParseFloat(a, 64)
	high, errHigh := strconv.ParseFloat(b, 64)
	return low, high, found && errLow == nil && errHigh == nil
}

func within(text string, value float64) bool {
	low, high, ok := span(text)
	return ok && value >= low && value <= high
}

func (e *evening) airing(rest string) string {
	p := e.shown.Purge
	if rest == "none" || p == nil {
		return same(rest, map[bool]string{true: "none", false: "under way"}[p == nil])
	}
	share, which, _ := strings.Cut(rest, " ")
	if !within(share, float64(p.Removed)) || p.After != (which == "after") || p.Done != (p.Removed >= 99) {
		return fmt.Sprintf("it is %.2f after=%v done=%v: %s", float64(p.Removed), p.After, p.Done, p.Sentence)
	}
	return ""
}

func (e *evening) counted(rest string) string {
	unproven, open, _ := strings.Cut(rest, " of ")
	if s := e.shown.Session; !within(unproven, s.Unproven.Minutes()) || !within(open, s.Open.Minutes()) {
		return fmt.Sprintf("it is %.1f of %.1f", s.Unproven.Minutes(), s.Open.Minutes())
	}
	return ""
}

func (e *evening) gas(rest string) string {
	id, words, _ := strings.Cut(rest, " ")
	for _, b := range e.shown.Breathing {
		told := []phrase.Sentence{b.Now, b.Sentence, b.Outlook}
		for _, f := range b.Findings {
			told = append(told, f.Sentence)
		}
		text := phrase.Join(" | ", told...).String()
		if string(b.Channel) == id {
			if strings.Contains(text, words) {
				return ""
			}
			return text
		}
	}
	return "no such gas"
}

func (e *evening) recorded(rest string) string {
	var want int
	number, what, _ := strings.Cut(rest, " ")
	if _, err := fmt.Sscan(number, &want); err != nil {
		return "write how many"
	}
	found, all := 0, []string{}
	for _, r := range e.book {
		var event struct{ Subject, To string }
		if json.Unmarshal(r.Content, &event) != nil {
			continue
		}
		words := strings.TrimSpace(r.Kind + " " + event.Subject + " " + event.To)
		all = append(all, words)
		if strings.HasPrefix(words, what) {
			found++
		}
	}
	if found != want {
		return fmt.Sprintf("%d of it in %q", found, all)
	}
	return ""
}
