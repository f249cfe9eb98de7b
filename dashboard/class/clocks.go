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
	"wetside/rules/clocks"
)

// Clocks are the development clocks that run in the rooms. They are no records: a
// program that is started again has none.
type Clocks interface {
	// Clocks are those of a room as they stood last. It never waits.
	Clocks(room string) clocks.View
	// PressClock carries out a press; the error is one sentence for whoever pressed.
	PressClock(ctx context.Context, room string, p clocks.Press) error
}

// clockBoard is the clocks of a room as they are shown.
type clockBoard struct {
	Room string
	// Epoch names this start of the program: another one knows nothing of earlier clocks.
	Epoch    int64
	Revision int
	Clocks   []cards.ClockCard
	Starts   []clockStart
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
	// Line is what follows the developer, on the page of the clocks alone.
	Line *wetLine

	running []clocks.Clock
}

// clockStart is a button that starts a clock for a developer.
type clockStart struct {
	Bath, Name, Key string
	Time            string
	Refusal         string
	Revision        int
}

// clockBoard draws the clocks of a room. When lost is set nothing is told of new times.
func (s *Pages) clockBoard(f figures, site *web.Site, snap *rules.Snapshot, lost bool) clockBoard {
	b := clockBoard{Room: snap.Room, Epoch: site.Started.Unix()}
	if s.Clocks == nil {
		return b
	}
	v := s.Clocks.Clocks(snap.Room)
	b.Revision, b.Undo, b.running = v.Revision, v.Undoable, v.Clocks
	f.sheets(&b, snap, v)
	if v.Undoable {
		b.UndoWord = f.undoWord(v.Last)
	}
	names := map[string]string{}
	for _, bath := range snap.Baths {
		names[bath.Bath.ID] = bath.Bath.Name
		if keys := []string{"S", "D", "F", "G"}; bath.Bath.Role == rules.Developer && len(b.Starts) < len(keys) {
			b.Starts = append(b.Starts, f.clockStart(bath, keys[len(b.Starts)], lost))
		}
	}
	for i := range b.Starts {
		b.Starts[i].Revision = v.Revision
	}
	for _, c := range v.Clocks {
		card := f.clockCard(c)
		card.Room, card.BathID, card.Bath, card.Revision = snap.Room, c.Bath, names[c.Bath], v.Revision
		f.behind(&card, c, snap)
		b.Clocks = append(b.Clocks, card)
	}
	return b
}

func (f figures) clockStart(b rules.BathView, key string, lost bool) clockStart {
	start := clockStart{Bath: b.Bath.ID, Name: b.Bath.Name, Key: key}
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

func (f figures) clockCard(c clocks.Clock) cards.ClockCard {
	card := cards.ClockCard{Number: c.Number, Left: tenths(c.Left), Over: tenths(c.Over), Notice: web.SentenceCase(f.Text(c.Notice)),
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
	case chem.ClockRunning:
		card.State, card.Word = "running", "runs"
		card.Act, card.Button = string(clocks.Pause), "Pause"
	case chem.ClockPaused:
		card.State, card.Word = "paused", "paused"
		card.Act, card.Button = string(clocks.Resume), "Resume"
	default:
		card.State, card.Word, card.Text = "done", "done", "+"+chem.MinutesSeconds(c.Over.Truncate(time.Second))
		card.Act, card.Button = string(clocks.Remove), "Clear"
	}
	return card
}

// followed names what a clock goes by for the script of its page.
func followed(by chem.Following) string {
	return cmp.Or(map[chem.Following]string{chem.FollowingBath: "bath", chem.FollowingTrend: "trend", chem.CountingUp: "nothing"}[by], "time")
}

func (f figures) undoWord(a clocks.Act) string {
	return cmp.Or(map[clocks.Act]string{clocks.Start: "Undo the start", clocks.Pause: "Undo the pause",
		clocks.Resume: "Undo the resume", clocks.Choose: "Undo the paper", clocks.Again: "Undo the bath", clocks.Next: "Undo the bath"}[a],
		"Bring it back")
}

func tenths(d time.Duration) string { return strconv.FormatFloat(d.Seconds(), 'f', 1, 64) }

type clockBody struct {
	Head    boardHead
	Clocks  clockBoard
	Todo    cards.Todo
	Problem string
	Sound   cards.SoundBox
}

func (s *Pages) clockPage(w http.ResponseWriter, r *http.Request, in web.Visit) {
	s.showClocks(w, r, in, "")
}

func (s *Pages) showClocks(w http.ResponseWriter, r *http.Request, in web.Visit, problem string) {
	p := s.RedPage(r, web.Head{Name: "clock", Title: "Timer"}, in)
	p.Styles = []string{"board.css", "clock.css"}
	p.Scripts = []string{"keys.js", "sound.js", "clock.js"}
	p.Stream, p.Refresh = "/rooms/"+in.Snap.Room+"/clock/events", web.WithoutScript
	b := s.clocksNow(in)
	p.Body = clockBody{b.Head, b.Clocks, b.Todo, problem, cards.SoundBoxOf(in.Snap.Room, web.Red)}
	p.Screen = s.Screen(r)
	status := http.StatusOK
	if problem != "" {
		status = http.StatusConflict
	}
	s.Show(w, r, status, p)
}

func (s *Pages) clockParts(d *web.Drawing, in web.Visit, _ web.Look) {
	b := s.clocksNow(in)
	d.Part("part-head", b.Head, "head")
	d.Part("part-clocks", b.Clocks, "clocks")
	d.Part("part-alarm-line", b.Todo, "todo")
}

// clocksNow are the clocks of a room; where none takes its place, with what follows the developer.
func (s *Pages) clocksNow(in web.Visit) board {
	f, lost := s.figures(in.Site), s.Lost(in.Snap)
	b := f.boardOf(in.Snap, in.Site, lost)
	if b.Clocks = s.clockBoard(f, in.Site, in.Snap, lost); len(b.Clocks.Clocks) == 0 && !lost {
		b.Clocks.Line = f.wetLine(in.Snap, nil)
	}
	b.overrun()
	return b
}

// pressWithin is how long a press may take to be carried out.
const pressWithin = 10 * time.Second

// clockPost carries out one press. A page with script asks for plain text and
// stays where it is; any other goes back to the clocks.
func (s *Pages) clockPost(w http.ResponseWriter, r *http.Request, in web.Visit) {
	press, err := readPress(r)
	if err != nil {
		s.Fail(w, r, web.Failure{Status: http.StatusBadRequest, Sentence: web.Incomplete})
		return
	}
	ctx, cancel := context.WithTimeout(r.Context(), pressWithin)
	defer cancel()
	err = s.Clocks.PressClock(ctx, in.Snap.Room, press)
	switch {
	case err == nil && web.WantsText(r):
		w.WriteHeader(http.StatusNoContent)
	case err == nil:
		http.Redirect(w, r, r.URL.Path, http.StatusSeeOther)
	case web.WantsText(r):
		web.SendText(w, http.StatusConflict, s.figures(in.Site).ErrorText(err))
	default:
		s.showClocks(w, r, in, s.figures(in.Site).ErrorText(err))
	}
}

func readPress(r *http.Request) (clocks.Press, error) {
	p := clocks.Press{Act: clocks.Act(r.PostForm.Get("act")), Bath: r.PostForm.Get("bath")}
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
