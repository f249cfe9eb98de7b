package class

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"

	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/rules/timers"
)

// start is the board where there is one room, else the index of all rooms.
func (s *Pages) start(w http.ResponseWriter, r *http.Request) {
	site := s.View.Now()
	if len(site.Rooms) == 1 {
		s.boardPage(w, r, web.VisitOf(r, site, site.Rooms[0]))
		return
	}
	p := s.PageFor(web.Head{Name: "index", Title: "Rooms"}, web.Red, web.VisitOf(r, site, nil))
	p.Stream, p.Refresh = "/events", web.WithoutScript
	p.Body = s.indexRows(site)
	s.Show(w, r, http.StatusOK, p)
}

func (s *Pages) boardPage(w http.ResponseWriter, r *http.Request, in web.Visit) {
	p := s.RedPage(r, web.Head{Name: "board", Title: "Board"}, in)
	p.Stream, p.Refresh = "/rooms/"+in.Snap.Room+"/events", web.WithoutScript
	p.Scripts = []string{"keys.js", "sound.js", "timer.js"}
	s.Evenings.await(r.Context(), in.Snap)
	b := s.boardNow(in)
	b.Sound = cards.SoundBoxOf(in.Snap.Room, web.Red)
	p.Body, p.Screen = b, s.Screen(r)
	s.Show(w, r, http.StatusOK, p)
}

// boardNow is the board of a room with the timers that run at its trays.
func (s *Pages) boardNow(in web.Visit) board {
	f, lost := s.figures(in.Site), s.Lost(in.Snap)
	b := f.boardOf(in.Snap, in.Site, lost)
	b.Timers = s.timerBoard(f, in.Site, in.Snap, lost)
	b.Timers.Seen = b.Todo.Asks
	b.overrun()
	past, behind := s.Evenings.of(in.Snap), true
	for i := range b.Baths {
		bath := &b.Baths[i]
		bath.place(b.Timers.Timers)
		if lost {
			continue
		}
		bath.Picture = f.trayPicture(in.Snap.Baths[i], past)
		if bath.Card.Developer && behind { // beside the first one alone
			bath.Line, behind = f.wetLine(in.Snap, b.Timers.running), false
			bath.Wash, b.Timers.Wash = b.Timers.Wash, nil
		}
	}
	if !lost {
		b.Air.Strip = f.airStrip(in.Snap.Air, past)
	}
	return b
}

// overrun asks for the sheet that is longest past its time, where otherwise nothing is to be done.
func (b *board) overrun() {
	var late timers.Timer
	for _, c := range b.Timers.running {
		if c.Over > late.Over {
			late = c
		}
	}
	if b.Todo.Idle && late.Over > 0 {
		b.Todo.Text, b.Todo.Limit, b.Todo.Late = fmt.Sprintf("Sheet %d is past its time: move it on.", late.Number), "", true
		b.say()
	}
}

// place puts the timers of a bath on its card: first the one that is longest past its end or
// ends next; one that is paused or only counts up waits behind the others.
func (b *boardBath) place(timers []cards.TimerCard) {
	var mine []cards.TimerCard
	for _, timer := range timers {
		if timer.BathID == b.Card.ID {
			mine = append(mine, timer)
		}
	}
	if len(mine) == 0 {
		return
	}
	slices.SortStableFunc(mine, func(a, b cards.TimerCard) int {
		return cmp.Or(cmp.Compare(waits(a), waits(b)), cmp.Compare(a.Until, b.Until))
	})
	b.Running, b.Sheets = &mine[0], mine[1:]
}

// waits ranks the timers of a bath by how soon somebody must look at them.
func waits(c cards.TimerCard) int {
	switch {
	case c.Up:
		return 2
	case c.State == "paused":
		return 1
	}
	return 0
}

// indexRow is one room among several: its board in short.
type indexRow struct {
	board
	// Times are the development times of the room's developers.
	Times []cards.BathCard
}

func (s *Pages) indexRows(site *web.Site) []indexRow {
	rows := make([]indexRow, 0, len(site.Rooms))
	f := s.figures(site)
	for _, snap := range site.Rooms {
		row := indexRow{board: f.boardOf(snap, site, s.Lost(snap))}
		for _, bath := range row.Baths {
			if bath.Card.Developer {
				row.Times = append(row.Times, bath.Card)
			}
		}
		rows = append(rows, row)
	}
	return rows
}

func (s *Pages) indexParts(d *web.Drawing, in web.Visit, _ web.Look) {
	for _, row := range s.indexRows(in.Site) {
		d.Part("part-room", row, "room-"+row.Room)
	}
}

func (s *Pages) boardParts(d *web.Drawing, in web.Visit, _ web.Look) {
	b := s.boardNow(in)
	d.Part("part-head", b.Head, "head")
	for i := range b.Baths { // by its place: a copy of each for each drawing would go to the collector
		d.Part("part-bath", &b.Baths[i], "bath-"+b.Baths[i].Card.ID)
	}
	d.Part("part-air", b.Air, "air")
	d.Part("part-todo", b.Todo, "todo")
	d.Part("part-starts", b.Timers, "starts")
	d.Part("part-say", b.Say, "say")
}
