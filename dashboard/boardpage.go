package dashboard

import (
	"net/http"
)

// start is the board where there is one room, else the index of all rooms.
func (s *classPages) start(w http.ResponseWriter, r *http.Request) {
	site := s.View.Now()
	if len(site.Rooms) == 1 {
		s.boardPage(w, r, visit{site, site.Rooms[0]})
		return
	}
	p := s.pageFor("index", red, visit{site: site})
	p.Stream, p.Refresh = "/events", withoutScript
	p.Body = s.indexRows(site)
	s.show(w, r, http.StatusOK, p)
}

func (s *classPages) boardPage(w http.ResponseWriter, r *http.Request, in visit) {
	p := s.pageFor("board", red, in)
	p.Stream, p.Refresh = "/rooms/"+in.snap.Room+"/events", withoutScript
	p.Scripts = []string{"sound.js", "clock.js"}
	p.Body, p.Screen = s.boardNow(in), s.screen(r)
	s.show(w, r, http.StatusOK, p)
}

// boardNow is the board of a room with the clocks that run at its trays.
func (s *classPages) boardNow(in visit) board {
	f, lost := s.figures(in.site), s.lost(in.snap)
	b := f.boardOf(in.snap, in.site, lost)
	b.Clocks, b.Sound = s.clockBoard(f, in.site, in.snap, lost), soundBoxOf(in.snap.Room, red)
	for i := range b.Baths {
		for _, c := range b.Clocks.Clocks {
			if c.BathID == b.Baths[i].ID {
				b.Baths[i].Clocks = append(b.Baths[i].Clocks, c)
			}
		}
	}
	return b
}

// indexRow is one room among several: its board in short.
type indexRow struct {
	board
	// Times are the development times of the room's developers.
	Times []bathCard
}

func (s *classPages) indexRows(site *Site) []indexRow {
	rows := make([]indexRow, 0, len(site.Rooms))
	f := s.figures(site)
	for _, snap := range site.Rooms {
		row := indexRow{board: f.boardOf(snap, site, s.lost(snap))}
		for _, bath := range row.Baths {
			if bath.Developer {
				row.Times = append(row.Times, bath)
			}
		}
		rows = append(rows, row)
	}
	return rows
}

// indexParts are the live parts of the index of all rooms.
func (s *classPages) indexParts(in visit, _ look) ([]part, error) {
	var d drawing
	for _, row := range s.indexRows(in.site) {
		s.draw(&d, "part-room", row, "room-"+row.Room)
	}
	return d.parts, d.err
}

// boardParts are the live parts of the board of a room.
func (s *classPages) boardParts(in visit, _ look) ([]part, error) {
	b := s.boardNow(in)
	var d drawing
	s.draw(&d, "part-head", b.Head, "head")
	for _, bath := range b.Baths {
		s.draw(&d, "part-bath", bath, "bath-"+bath.ID)
	}
	s.draw(&d, "part-air", b.Air, "air")
	s.draw(&d, "part-todo", b.Todo, "todo")
	s.draw(&d, "part-starts", b.Clocks, "starts")
	s.draw(&d, "part-say", b.Say, "say")
	return d.parts, d.err
}
