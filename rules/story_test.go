package rules_test

import (
	"bufio"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules"
)

// A story tells an evening in text. Each line is a time and what happens or what
// must be true then; the room is the one of room_test.go. Readings come every five
// seconds from what was said last. A time is hours and minutes from midnight of the
// story's date, and may go beyond 24:00.
//
//	date 2026-10-14
//	runs 120m 120m 119m           earlier runs of the fan, from the book
//	17:40 say flow 260            a channel gives good readings of that value
//	17:40 say dev 21 to 19 by 20:00
//	17:50 doubt dev 45 jump       a channel gives a reading that is not believed
//	17:50 mute dev                a channel says nothing
//	17:50 line trays gone         a line's state
//	18:00 fill dev print developer   what the book of the shelf says; also empty, cover, uncover
//	18:00 do Ada "alarm drill" {"what":"x","found":"y"}
//	18:00 refuse Ada "time announced" {"bath":"soup","seconds":9} => no bath
//	18:00 history lost            or: history kept
//	18:00 restart                 the board is lost and brought back from the book
//	18:00 wall 1h                 somebody sets the wall clock
//	18:10 lit air=unacknowledged  exactly these alarms; "lit none"
//	18:10 aside channel:dev=shelved
//	18:10 urgent air              this alarm asks for action now
//	18:10 says air belt           the alarm's words
//	18:10 notice stops by itself  some notice says so; "notice none"
//	18:10 time dev 1:30..1:50     the recommended time
//	18:10 refused dev no batch    no time, and why
//	18:10 air moving
//	18:10 airing 40..60 after     share of old air removed, and which purge; "airing none"
//	18:10 phase open
//	18:10 counted 12..14 of 40..42  minutes without proven flow of minutes with open trays
//	18:10 gas acid within the limit
//	18:10 armed yes
//	18:10 recorded 1 alarm air unacknowledged   so many records of a kind, about, to
type story struct {
	name  string
	date  time.Time
	runs  []time.Duration
	lines []line
}

type line struct {
	number int
	at     time.Duration // from midnight
	verb   string
	rest   string
}

func readStory(t *testing.T, file string) story {
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	s := story{name: filepath.Base(file)}
	scan := bufio.NewScanner(strings.NewReader(string(text)))
	for n := 1; scan.Scan(); n++ {
		fields := strings.Fields(scan.Text())
		if len(fields) == 0 || strings.HasPrefix(fields[0], "#") {
			continue
		}
		switch fields[0] {
		case "date":
			s.date, err = time.ParseInLocation(time.DateOnly, fields[1], zone())
			require.NoError(t, err, "line %d", n)
		case "runs":
			for _, f := range fields[1:] {
				d, err := time.ParseDuration(f)
				require.NoError(t, err, "line %d", n)
				s.runs = append(s.runs, d)
			}
		default:
			require.GreaterOrEqual(t, len(fields), 2, "line %d", n)
			l := line{number: n, at: clockTime(t, fields[0]), verb: fields[1]}
			_, l.rest, _ = strings.Cut(scan.Text(), fields[1])
			l.rest = strings.TrimSpace(l.rest)
			require.True(t, len(s.lines) == 0 || l.at >= s.lines[len(s.lines)-1].at, "line %d: times go forward", n)
			s.lines = append(s.lines, l)
		}
	}
	require.NoError(t, scan.Err())
	require.NotEmpty(t, s.lines)
	return s
}

func clockTime(t *testing.T, text string) time.Duration {
	var h, m, s int
	_, err := fmt.Sscanf(text+":0", "%d:%d:%d", &h, &m, &s)
	require.NoError(t, err, text)
	return time.Duration(h)*time.Hour + time.Duration(m)*time.Minute + time.Duration(s)*time.Second
}

func TestStories(t *testing.T) {
	files, err := filepath.Glob("testdata/*.story")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, file := range files {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".story"), func(t *testing.T) {
			t.Parallel()
			s := readStory(t, file)
			e := newEvening(t, s)
			for _, l := range s.lines {
				e.until(l.at)
				e.line = l
				e.act(l)
			}
		})
	}
}

// TestAStoryCanFail keeps the teller honest: what is not so must not pass.
func TestAStoryCanFail(t *testing.T) {
	for _, wrong := range []string{"lit air=unacknowledged", "notice the sea is warm", "air moving", "phase open", "armed yes",
		"recorded 1 alarm air normal", "time dev 1:00..2:00"} {
		e := newEvening(t, story{date: time.Date(2026, 10, 14, 0, 0, 0, 0, zone())})
		e.until(18 * time.Hour)
		verb, rest, _ := strings.Cut(wrong, " ")
		require.NotEmpty(t, e.wrong(line{verb: verb, rest: rest}), wrong)
	}
}

// act does what a line says, or fails where what it claims is not so.
func (e *evening) act(l line) {
	if deed, ok := e.deeds()[l.verb]; ok {
		deed(l.rest)
		return
	}
	if wrong := e.wrong(l); wrong != "" {
		e.Fatalf("line %d, %s %s: %s\nalarms %s\nnotices %q\nair: %s", l.number, l.verb, l.rest, wrong, e.lit(e.shown.Alarms),
			e.shown.Notices, e.shown.Air.Sentence)
	}
}

func (e *evening) lit(list []rules.AlarmView) string {
	if len(list) == 0 {
		return "none"
	}
	var parts []string
	for _, a := range list {
		parts = append(parts, a.ID+"="+strings.ReplaceAll(a.State, " ", "-"))
	}
	return strings.Join(parts, " ")
}
