package class

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"time"

	"wetside/chem"
	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/timers"
)

// Timers are the development timers that run in the rooms. They are no records: a
// program that is started again has none.
type Timers interface {
	// Timers are those of a room as they stood last. It never waits.
	Timers(room string) timers.View
	// PressTimer carries out a press; the error is one sentence for whoever pressed.
	PressTimer(ctx context.Context, room string, p timers.Press) error
}

// timerBoard is the timers of a room as they are shown.
type timerBoard struct {
	Room string
	// Epoch names this start of the program: another one knows nothing of earlier timers.
	Epoch    int64
	Revision int
	Timers   []cards.TimerCard
	Starts   []timerStart
	Undo     bool
	UndoWord string
	// Seen is the alarm that the board asks to be seen; empty while there is none.
	Seen string
	// Paper is that of the sheets from now on, Papers what may be chosen in its place, and Other
	// what one press chooses.
	Paper  string
	Papers []paperChoice
	Other  paperChoice
	Wash   []washLine
	// Line is what follows the developer, on the page of the timers alone.
	Line *wetLine

	running []timers.Timer
}

// timerStart is a button that starts a timer for a developer.
type timerStart struct {
	Bath, Name, Key string
	Time            string
	Refusal         string
	Revision        int
}

// timerBoard draws the timers of a room. When lost is set nothing is told of new times.
func (s *Pages) timerBoard(f figures, site *web.Site, snap *rules.Snapshot, lost bool) timerBoard {
	b := timerBoard{Room: snap.Room, Epoch: site.Started.Unix()}
	if s.Timers == nil {
		return b
	}
	v := s.Timers.Timers(snap.Room)
	b.Revision, b.Undo, b.running = v.Revision, v.Undoable, v.Timers
	f.sheets(&b, snap, v)
	if v.Undoable {
		b.UndoWord = f.undoWord(v.Last)
	}
	names := map[string]string{}
	for _, bath := range snap.Baths {
		names[bath.Bath.ID] = bath.Bath.Name
		if keys := []string{"S", "D", "F", "G"}; bath.Bath.Role == rules.Developer && len(b.Starts) < len(keys) {
			b.Starts = append(b.Starts, f.timerStart(bath, keys[len(b.Starts)], lost))
		}
	}
	for i := range b.Starts {
		b.Starts[i].Revision = v.Revision
	}
	for _, c := range v.Timers {
		card := f.timerCard(c)
		card.Room, card.BathID, card.Bath, card.Revision = snap.Room, c.Bath, names[c.Bath], v.Revision
		f.behind(&card, c, snap)
		b.Timers = append(b.Timers, card)
	}
	return b
}

func (f figures) timerStart(b rules.BathView, key string, lost bool) timerStart {
	start := timerStart{Bath: b.Bath.ID, Name: b.Bath.Name, Key: key}
	switch t, ok := b.Recommendation.Time(); {
	case lost:
		start.Refusal = "No time: wetside does not answer."
	case ok:
		start.Time = chem.MinutesSeconds(t)
	default:
		start.Refusal = f.Text(b.Recommendation.Sentence())
	}
	return start
}

func (f figures) timerCard(c timers.Timer) cards.TimerCard {
	card := cards.TimerCard{Number: c.Number, Left: tenths(c.Left), Over: tenths(c.Over), Notice: web.SentenceCase(f.Text(c.Notice)),
		Plain:   c.Following != chem.FollowingBath,
		Follows: followed(c.Following), MovedBy: int(c.Moved.Round(time.Second) / time.Second), Until: c.Left - c.Over}
	card.Text = chem.MinutesSeconds(c.Left.Truncate(time.Second))
	if card.Up = c.Following == chem.CountingUp; card.Up {
		card.Left, card.Text = tenths(-c.Ran), chem.MinutesSeconds(c.Ran.Truncate(time.Second))
	}
	if card.Doubted = c.Slept > 0; card.Doubted {
		card.Notice = fmt.Sprintf("The computer slept or its clock jumped %s while this timer ran. The print may have been in longer: check it.",
			f.Text(rules.Age(c.Slept)))
	}
	switch c.State {
	case chem.TimerRunning:
		card.State, card.Word = "running", "runs"
		card.Act, card.Button = string(timers.Pause), "Pause"
	case chem.TimerPaused:
		card.State, card.Word = "paused", "paused"
		card.Act, card.Button = string(timers.Resume), "Resume"
	default:
		card.State, card.Word, card.Text = "done", "done", "+"+chem.MinutesSeconds(c.Over.Truncate(time.Second))
		card.Act, card.Button = string(timers.Remove), "Clear"
	}
	return card
}

// followed names what a timer goes by for the script of its page.
func followed(by chem.Following) string {
	return cmp.Or(map[chem.Following]string{chem.FollowingBath: "bath", chem.FollowingTrend: "trend", chem.CountingUp: "nothing"}[by], "time")
}

func (f figures) undoWord(a timers.Act) string {
	return cmp.Or(map[timers.Act]string{timers.Start: "Undo the start", timers.Pause: "Undo the pause",
		timers.Resume: "Undo the resume", timers.Choose: "Undo the paper", timers.Again: "Undo the bath", timers.Next: "Undo the bath"}[a],
		"Bring it back")
}

func tenths(d time.Duration) string { return strconv.FormatFloat(d.Seconds(), 'f', 1, 64) }

type timerBody struct {
	Head    boardHead
	Timers  timerBoard
	Todo    cards.Todo
	Problem string
	Sound   cards.SoundBox
}

func (s *Pages) timerPage(w http.ResponseWriter, r *http.Request, in web.Visit) {
	s.showTimers(w, r, in, "")
}

func (s *Pages) showTimers(w http.ResponseWriter, r *http.Request, in web.Visit, problem string) {
	p := s.RedPage(r, web.Head{Name: "timer", Title: "Timer"}, in)
	p.Styles = []string{"board.css", "timer.css"}
	p.Scripts = []string{"keys.js", "sound.js", "timer.js"}
	p.Stream, p.Refresh = "/rooms/"+in.Snap.Room+"/timer/events", web.WithoutScript
	b := s.timersNow(in)
	p.Body = timerBody{b.Head, b.Timers, b.Todo, problem, cards.SoundBoxOf(in.Snap.Room, web.Red)}
	p.Screen = s.Screen(r)
	status := http.StatusOK
	if problem != "" {
		status = http.StatusConflict
	}
	s.Show(w, r, status, p)
}

func (s *Pages) timerParts(d *web.Drawing, in web.Visit, _ web.Look) {
	b := s.timersNow(in)
	d.Part("part-head", b.Head, "head")
	d.Part("part-timers", b.Timers, "timers")
	d.Part("part-alarm-line", b.Todo, "todo")
}

// timersNow are the timers of a room; where none takes its place, with what follows the developer.
func (s *Pages) timersNow(in web.Visit) board {
	f, lost := s.figures(in.Site), s.Lost(in.Snap)
	b := f.boardOf(in.Snap, in.Site, lost)
	if b.Timers = s.timerBoard(f, in.Site, in.Snap, lost); len(b.Timers.Timers) == 0 && !lost {
		b.Timers.Line = f.wetLine(in.Snap, nil)
	}
	b.overrun()
	return b
}

// pressWithin is how long a press may take to be carried out.
const pressWithin = 10 * time.Second

// timerPost carries out one press. A page with script asks for plain text and
// stays where it is; any other goes back to the timers.
func (s *Pages) timerPost(w http.ResponseWriter, r *http.Request, in web.Visit) {
	press, err := readPress(r)
	if err != nil {
		s.Fail(w, r, web.Failure{Status: http.StatusBadRequest, Sentence: web.Incomplete})
		return
	}
	ctx, cancel := context.WithTimeout(r.Context(), pressWithin)
	defer cancel()
	err = s.Timers.PressTimer(ctx, in.Snap.Room, press)
	switch {
	case err == nil && web.WantsText(r):
		w.WriteHeader(http.StatusNoContent)
	case err == nil:
		http.Redirect(w, r, r.URL.Path, http.StatusSeeOther)
	case web.WantsText(r):
		web.SendText(w, http.StatusConflict, s.figures(in.Site).ErrorText(err))
	default:
		s.showTimers(w, r, in, s.figures(in.Site).ErrorText(err))
	}
}

func readPress(r *http.Request) (timers.Press, error) {
	p := timers.Press{Act: timers.Act(r.PostForm.Get("act")), Bath: r.PostForm.Get("bath")}
	var wrong error
	number := func(name string) int {
		text := r.PostForm.Get(name)
		if text == "" {
			return 0
		}
		n, err := strconv.Atoi(text)
		wrong = errors.Join(wrong, err)
		return n
	}
	p.Number, p.Seen = number("number"), number("version")
	paper := number("paper")
	if paper < 0 || paper > int(chem.FibreDoubleWeight) {
		return p, errors.New("no such paper")
	}
	p.Paper = chem.Paper(paper)
	return p, wrong
}
