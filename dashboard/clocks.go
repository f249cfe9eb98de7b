package dashboard

import (
	"context"
	"errors"
	"net/http"
	"strconv"
	"strings"
	"time"

	"wetside/chem"
	"wetside/rules"
	"wetside/rules/clocks"
	"wetside/sensors/quantity/phrase"
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
	Clocks   []clockCard
	Starts   []clockStart
	Undo     bool
	UndoWord string
}

// clockCard is one clock. Left and Over are to the tenth of a second, for a page that counts on by itself.
type clockCard struct {
	Number int
	BathID string
	Bath   string
	State  string // running, paused, done
	Word   string
	Text   string // the time left, or past the end
	Left   string
	Over   string
	// Follows is what the clock goes by: bath, trend, time or nothing; MovedBy the whole
	// seconds by which its end has moved since the start.
	Follows  string
	MovedBy  int
	Notice   string
	Plain    bool
	Up       bool // it only counts up, from nothing
	Doubted  bool // the computer may have slept meanwhile
	Revision int
	// Act is what the clock's own key does, and Button its word.
	Act, Button string
}

// clockStart is a button that starts a clock for a developer.
type clockStart struct {
	Bath, Name, Key string
	Time            string
	Refusal         string
	Revision        int
}

// startKeys are the keys that start a clock, by developer in tray order.
func startKeys() []string { return []string{"S", "D", "F", "G"} }

// clockBoard draws the clocks of a room. When lost is set nothing is told of new times.
func (s *classPages) clockBoard(f figures, site *Site, snap *rules.Snapshot, lost bool) clockBoard {
	b := clockBoard{Room: snap.Room, Epoch: site.Started.Unix()}
	if s.clocks == nil {
		return b
	}
	v := s.clocks.Clocks(snap.Room)
	b.Revision, b.Undo = v.Revision, v.Undoable
	if v.Undoable {
		b.UndoWord = f.undoWord(v.Last)
	}
	names := map[string]string{}
	for _, bath := range snap.Baths {
		names[bath.Bath.ID] = bath.Bath.Name
		if keys := startKeys(); bath.Bath.Role == rules.Developer && len(b.Starts) < len(keys) {
			b.Starts = append(b.Starts, f.clockStart(bath, keys[len(b.Starts)], lost))
		}
	}
	for i := range b.Starts {
		b.Starts[i].Revision = v.Revision
	}
	for _, c := range v.Clocks {
		card := f.clockCard(c)
		card.BathID, card.Bath, card.Revision = c.Bath, names[c.Bath], v.Revision
		b.Clocks = append(b.Clocks, card)
	}
	return b
}

func (f figures) clockStart(b rules.BathView, key string, lost bool) clockStart {
	start := clockStart{Bath: b.Bath.ID, Name: b.Bath.Name, Key: key}
	switch t, ok := b.Recommendation.Time(); {
	case lost:
		start.Refusal = f.words.Say("lost.time")
	case ok:
		start.Time = chem.MinutesSeconds(t)
	default:
		start.Refusal = f.tell(b.Recommendation.Sentence())
	}
	return start
}

func (f figures) clockCard(c clocks.Clock) clockCard {
	card := clockCard{Number: c.Number, Left: tenths(c.Left), Over: tenths(c.Over), Notice: sentenceCase(f.tell(c.Notice)), Plain: c.Following != chem.FollowingBath,
		Follows: followed(c.Following), MovedBy: int(c.Moved.Round(time.Second) / time.Second)}
	card.Text = chem.MinutesSeconds(c.Left.Truncate(time.Second))
	if card.Up = c.Following == chem.CountingUp; card.Up {
		card.Left, card.Text = tenths(-c.Ran), chem.MinutesSeconds(c.Ran.Truncate(time.Second))
	}
	if card.Doubted = c.Slept > 0; card.Doubted {
		card.Notice = f.words.Say("clock.slept", f.tell(rules.Age(c.Slept)))
	}
	switch c.State {
	case chem.ClockRunning:
		card.State, card.Word = "running", f.words.Say("clock.running")
		card.Act, card.Button = string(clocks.Pause), f.words.Say("clock.pause")
	case chem.ClockPaused:
		card.State, card.Word = "paused", f.words.Say("clock.paused")
		card.Act, card.Button = string(clocks.Resume), f.words.Say("clock.resume")
	default:
		card.State, card.Word, card.Text = "done", f.words.Say("clock.done"), "+"+chem.MinutesSeconds(c.Over.Truncate(time.Second))
		card.Act, card.Button = string(clocks.Remove), f.words.Say("clock.remove")
	}
	return card
}

// followed names what a clock goes by for the script of its page.
func followed(by chem.Following) string {
	switch by {
	case chem.FollowingBath:
		return "bath"
	case chem.FollowingTrend:
		return "trend"
	case chem.CountingUp:
		return "nothing"
	}
	return "time"
}

func (f figures) undoWord(a clocks.Act) string {
	switch a {
	case clocks.Start:
		return f.words.Say("clock.undo-start")
	case clocks.Pause:
		return f.words.Say("clock.undo-pause")
	case clocks.Resume:
		return f.words.Say("clock.undo-resume")
	}
	return f.words.Say("clock.undo-remove")
}

func tenths(d time.Duration) string { return strconv.FormatFloat(d.Seconds(), 'f', 1, 64) }

// sentenceCase begins a clause with a capital and ends it with a full stop.
func sentenceCase(clause string) string {
	if clause == "" {
		return ""
	}
	return strings.TrimSuffix(phrase.Capital(clause), ".") + "."
}

// clockBody is the page of the clocks.
type clockBody struct {
	Head    boardHead
	Clocks  clockBoard
	Todo    todo
	Problem string
	Sound   soundBox
}

func (s *classPages) clockPage(w http.ResponseWriter, r *http.Request, in visit) {
	s.showClocks(w, r, in, "")
}

func (s *classPages) showClocks(w http.ResponseWriter, r *http.Request, in visit, problem string) {
	p := s.pageFor("clock", red, in)
	p.Styles = []string{"board.css", "clock.css"}
	p.Scripts = []string{"sound.js", "clock.js"}
	p.Stream, p.Refresh = "/rooms/"+in.snap.Room+"/clock/events", withoutScript
	f, lost := s.figures(in.site), s.lost(in.snap)
	b := f.boardOf(in.snap, in.site, lost)
	p.Body = clockBody{b.Head, s.clockBoard(f, in.site, in.snap, lost), b.Todo, problem, soundBoxOf(in.snap.Room, red)}
	p.Screen = s.screen(r)
	status := http.StatusOK
	if problem != "" {
		status = http.StatusConflict
	}
	s.show(w, r, status, p)
}

// clockParts draws the live parts of the page of the clocks.
func (s *classPages) clockParts(in visit, _ look) ([]part, error) {
	f, lost := s.figures(in.site), s.lost(in.snap)
	b := f.boardOf(in.snap, in.site, lost)
	var d drawing
	s.draw(&d, "part-head", b.Head, "head")
	s.draw(&d, "part-clocks", s.clockBoard(f, in.site, in.snap, lost), "clocks")
	s.draw(&d, "part-alarm-line", b.Todo, "todo")
	return d.parts, d.err
}

// clockPost carries out one press. A page with script asks for plain text and
// stays where it is; any other goes back to the clocks.
func (s *classPages) clockPost(w http.ResponseWriter, r *http.Request, in visit) {
	if s.clocks == nil {
		s.fail(w, r, failure{http.StatusNotFound, s.words.Say("error.not-found")})
		return
	}
	press, err := readPress(r)
	if err != nil {
		s.fail(w, r, failure{http.StatusBadRequest, s.words.Say("form.incomplete")})
		return
	}
	ctx, cancel := context.WithTimeout(r.Context(), actWithin)
	defer cancel()
	err = s.clocks.PressClock(ctx, in.snap.Room, press)
	switch {
	case err == nil && wantsText(r):
		w.WriteHeader(http.StatusNoContent)
	case err == nil:
		http.Redirect(w, r, r.URL.Path, http.StatusSeeOther)
	case wantsText(r):
		sendText(w, http.StatusConflict, s.figures(in.site).sentenceOf(err))
	default:
		s.showClocks(w, r, in, s.figures(in.site).sentenceOf(err))
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
	return p, wrong
}

// wantsText says whether a script asks, which stays on its page.
func wantsText(r *http.Request) bool { return r.Header.Get("Accept") == "text/plain" }

func sendText(w http.ResponseWriter, status int, text string) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.WriteHeader(status)
	_, _ = w.Write([]byte(text)) // the reader went away: nobody to tell
}
