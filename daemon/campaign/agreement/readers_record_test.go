package agreement_test

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/audit"
	"wetside/daemon/history"
	"wetside/dashboard/report"
)

// report is the report of the whole evening, as its page makes it.
func (e *evening) report() report.Data {
	d, err := e.daemon.Reports().Report(e.ctx, opening().Add(-24*time.Hour), opening().Add(48*time.Hour))
	require.NoError(e, err)
	return d
}

// reportCommand is the same as `wetside report` makes it while the daemon runs: from the file alone.
func (e *evening) reportCommand() report.Data {
	now := e.clock.Now().Wall
	book, err := history.OpenReader(e.ctx, history.Options{Dir: e.dir + "/data", Clock: e.clock, Zone: time.UTC})
	require.NoError(e, err)
	d, err := audit.Gather(e.ctx, book, audit.Question{From: opening().Add(-24 * time.Hour), To: opening().Add(48 * time.Hour),
		Zone: time.UTC, Now: now, Version: "test"})
	require.NoError(e, err)
	require.NoError(e, book.Close())
	return d
}

// alarms are those of the room in the report.
func (e *evening) alarms() []report.Alarm {
	return slices.DeleteFunc(e.report().Alarms, func(a report.Alarm) bool { return a.Room != e.id })
}

// counted is a length of time that was counted, to a step, as of a moment. Without one it is of now.
type counted struct {
	length, step time.Duration
	asOf         time.Time
	setBack      time.Duration // by how much the clock was set back meanwhile, at most
}

// counted is a count as of a moment of this evening.
func (e *evening) counted(length, step time.Duration, asOf time.Time) counted {
	c := counted{length: length, step: step, asOf: asOf}
	for _, s := range e.stepped {
		c.setBack += max(0, s.before.Sub(s.after))
	}
	return c
}

func (c counted) String() string {
	if c.asOf.IsZero() {
		return fmt.Sprint(c.length)
	}
	return fmt.Sprintf("%s as of %s", c.length, c.asOf.Format("15:04:05"))
}

// sameCount says whether two counts are the same, or one of them was counted earlier and says so.
func sameCount(a, b counted) bool {
	step := max(a.step, b.step)
	if a.asOf.IsZero() || !b.asOf.IsZero() && b.asOf.Before(a.asOf) {
		a, b = b, a
	}
	between := b.asOf.Sub(a.asOf) + a.setBack
	if a.asOf.IsZero() || b.asOf.IsZero() {
		between = 0
	}
	return a.length <= b.length+step && b.length-a.length <= between+step
}

// spoken reads a length of time off a page, such as "13 min" or "1 h 20 min"; false for a dash.
func spoken(text string) (time.Duration, bool) {
	var sum time.Duration
	found := regexp.MustCompile(`(\d+) (h|min|s)\b`).FindAllStringSubmatch(text, -1)
	for _, m := range found {
		n, _ := strconv.Atoi(m[1]) // digits alone
		sum += time.Duration(n) * map[string]time.Duration{"h": time.Hour, "min": time.Minute, "s": time.Second}[m[2]]
	}
	return sum, len(found) > 0
}

// uncovered asks how long trays stood uncovered in each session, and how much of it without proven flow.
func uncovered() question[counted] {
	return question[counted]{asks: "counts of a session", same: sameCount, readers: []reader[counted]{
		{name: "the report", read: func(e *evening) answers[counted] { return e.sessionsOf(e.report()) }},
		{name: "wetside report", read: func(e *evening) answers[counted] { return e.sessionsOf(e.reportCommand()) }},
		{name: "the board", partial: true, read: func(e *evening) answers[counted] {
			s := e.snapshot().Session
			if s.Coverage == nil || !s.Phase.Running() {
				return nil
			}
			begun, at := e.begun(), e.clock.Now().Wall
			return answers[counted]{begun + " uncovered": e.counted(s.Open, time.Second, at),
				begun + " unproven": e.counted(s.Unproven, time.Second, at)}
		}},
		{name: "Air", partial: true, read: func(e *evening) answers[counted] {
			if !e.snapshot().Session.Phase.Running() {
				return nil
			}
			out, page := answers[counted]{}, e.page(e.here()+"/air")
			for _, key := range []string{"uncovered", "unproven"} {
				if length, ok := spoken(page.where("data-figure", key).words()); ok {
					out[e.begun()+" "+key] = e.counted(length, time.Minute, e.clock.Now().Wall)
				}
			}
			return out
		}},
		{name: "Weeks", read: weeks},
	}}
}

// begun names the session that runs: after a clock was set back, one that is over may have a later beginning.
func (e *evening) begun() string {
	return e.snapshot().Session.Counted.Begun.UTC().Format(time.RFC3339)
}

func (e *evening) sessionsOf(d report.Data) answers[counted] {
	out := answers[counted]{}
	for _, s := range d.Sessions {
		begun := s.Begun.UTC().Format(time.RFC3339)
		out[begun+" uncovered"] = e.counted(s.Uncovered, time.Second, s.AsOf)
		out[begun+" unproven"] = e.counted(s.Unproven, time.Second, s.AsOf)
	}
	return out
}

// weeks reads the cells of the page of weeks: hours and whole minutes.
func weeks(e *evening) answers[counted] {
	out := answers[counted]{}
	for _, cell := range e.page("/weeks").all("data-begun") {
		var parts = map[string]time.Duration{}
		for _, part := range cell.all("data-part") {
			// such as "2 h 41 min", or "< 1 min"
			written := strings.NewReplacer("< ", "", " h ", "h", " min", "m").Replace(part.first("b").words())
			length, err := time.ParseDuration(written)
			require.NoError(e, err)
			parts[part.attrs["data-part"]] = length
		}
		begun, step, asOf := cell.attrs["data-begun"], time.Duration(len(parts))*time.Minute, e.asOf(cell.words())
		out[begun+" uncovered"] = e.counted(parts["moving"]+parts["stopped"]+parts["unknown"], step, asOf)
		out[begun+" unproven"] = e.counted(parts["stopped"]+parts["unknown"], step, asOf)
	}
	return out
}

// asOf reads as of when a page says that its figures are; the moment of asking where it does not say.
func (e *evening) asOf(text string) time.Time {
	now := e.clock.Now().Wall
	said := regexp.MustCompile(`as of (\d\d):(\d\d)`).FindStringSubmatch(text)
	if said == nil {
		return now
	}
	hour, _ := strconv.Atoi(said[1]) // digits alone
	minute, _ := strconv.Atoi(said[2])
	return time.Date(now.Year(), now.Month(), now.Day(), hour, minute, 0, 0, time.UTC)
}

// alarmsRaised asks how often each alarm came, and how many were answered or went by.
func alarmsRaised() question[int] {
	return question[int]{asks: "how often an alarm came", same: equal[int], readers: []reader[int]{
		{name: "the report", read: func(e *evening) answers[int] {
			out := answers[int]{}
			for _, a := range e.alarms() {
				out[a.ID]++
			}
			return out
		}},
		{name: "the page of alarm figures", read: func(e *evening) answers[int] {
			out := answers[int]{}
			for _, n := range e.page(e.here() + "/alarms/figures").all("data-alarm") {
				out[n.attrs["data-alarm"]] = int(shown(n.first("b").words()).value)
			}
			return out
		}},
	}}
}

// sessionsHeld asks how many sessions there were.
func sessionsHeld() question[int] {
	return question[int]{asks: "how many sessions there were", same: equal[int], readers: []reader[int]{
		{name: "the report", read: func(e *evening) answers[int] {
			sessions := slices.DeleteFunc(e.report().Sessions, func(s report.Session) bool { return s.Room != e.id })
			return answers[int]{"sessions": len(sessions)}
		}},
		{name: "the page of alarm figures", read: func(e *evening) answers[int] {
			text := e.page(e.here()+"/alarms/figures").where("data-figure", "raised").words()
			said := regexp.MustCompile(`in (\d+) session`).FindStringSubmatch(text)
			require.NotNil(e, said, text)
			n, err := strconv.Atoi(said[1])
			require.NoError(e, err)
			return answers[int]{"sessions": n}
		}},
	}}
}

// wait is how long an alarm waited for somebody, to a minute or two seconds as people read it.
func wait() question[counted] {
	return question[counted]{asks: "how long an alarm waited", same: sameCount, readers: []reader[counted]{
		{name: "the report", read: func(e *evening) answers[counted] {
			out := answers[counted]{}
			for _, a := range e.alarms() {
				if !a.Answered.IsZero() {
					out["middle"] = counted{length: a.Answered.Sub(a.Raised), step: time.Minute}
				}
			}
			return out
		}},
		{name: "the page of alarm figures", read: func(e *evening) answers[counted] {
			if length, ok := spoken(e.page(e.here()+"/alarms/figures").where("data-figure", "waited").first("b").words()); ok {
				return answers[counted]{"middle": {length: length, step: time.Minute}}
			}
			return nil
		}},
	}}
}

// unknownFlow asks for how long nobody knew the flow while trays stood uncovered. It is
// asked of sessions in which a tray stood uncovered from the beginning to the end.
func unknownFlow() question[counted] {
	return question[counted]{asks: "time without a known flow", same: sameCount, readers: []reader[counted]{
		{name: "the sessions of the report", read: func(e *evening) answers[counted] {
			out := answers[counted]{}
			for _, s := range e.report().Sessions {
				if s.Room != e.id {
					continue
				}
				out[fmt.Sprint(s.Number)] = counted{length: s.Unknown(), step: time.Second}
			}
			return out
		}},
		{name: "the coverage of the report", read: func(e *evening) answers[counted] {
			out := answers[counted]{}
			for _, c := range e.report().Coverage {
				if c.Channel == e.mark+flowChannel {
					out[fmt.Sprint(c.Session)] = counted{length: c.Missing, step: time.Second}
				}
			}
			return out
		}},
		{name: "the gaps of the report", read: func(e *evening) answers[counted] {
			out, d := answers[counted]{}, e.report()
			for _, s := range d.Sessions {
				if s.Room != e.id {
					continue
				}
				out[fmt.Sprint(s.Number)] = counted{step: time.Second}
			}
			for _, g := range d.Gaps {
				if c := out[fmt.Sprint(g.Session)]; g.Channel == e.mark+flowChannel {
					c.length += g.To.Sub(g.From)
					out[fmt.Sprint(g.Session)] = c
				}
			}
			return out
		}},
	}}
}

const flowChannel = "duct-velocity"
