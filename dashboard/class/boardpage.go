package class

import (
	"net/http"

	"wetside/dashboard/cards"
	"wetside/dashboard/web"
)

// start is the board where there is one room, else the index of all rooms.
func (s *Pages) start(w http.ResponseWriter, r *http.Request) {
	site := s.View.Now()
	if len(site.Rooms) == 1 {
		s.boardPage(w, r, web.Visit{site, site.Rooms[0]})
		return
	}
	p := s.PageFor("index", web.Red, web.Visit{Site: site})
	p.Stream, p.Refresh = "/events", web.WithoutScript
	p.Body = s.indexRows(site)
	s.Show(w, r, http.StatusOK, p)
}

func (s *Pages) boardPage(w http.ResponseWriter, r *http.Request, in web.Visit) {
	p := s.PageFor("board", web.Red, in)
	p.Stream, p.Refresh = "/rooms/"+in.Snap.Room+"/events", web.WithoutScript
	p.Scripts = []string{"sound.js", "clock.js"}
	p.Body, p.Screen = s.boardNow(in), s.Screen(r)
	s.Show(w, r, http.StatusOK, p)
}

// boardNow is the board of a room with the clocks that run at its trays.
func (s *Pages) boardNow(in web.Visit) board {
	f, lost := s.figures(in.Site), s.Lost(in.Snap)
	b := f.boardOf(in.Snap, in.Site, lost)
	b.Clocks, b.Sound = s.clockBoard(f, in.Site, in.Snap, lost), cards.SoundBoxOf(in.Snap.Room, web.Red)
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
	Times []cards.BathCard
}

func (s *Pages) indexRows(site *web.Site) []indexRow {
	rows := make([]indexRow, 0, len(site.Rooms))
	f := s.figures(site)
	for _, snap := range site.Rooms {
		row := indexRow{board: f.boardOf(snap, site, s.Lost(snap))}
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
func (s *Pages) indexParts(in web.Visit, _ web.Look) ([]web.Part, error) {
	var d web.Drawing
	for _, row := range s.indexRows(in.Site) {
		s.Draw(&d, "part-room", row, "room-"+row.Room)
	}
	return d.Parts, d.Err
}

// boardParts are the live parts of the board of a room.
func (s *Pages) boardParts(in web.Visit, _ web.Look) ([]web.Part, error) {
	b := s.boardNow(in)
	var d web.Drawing
	s.Draw(&d, "part-head", b.Head, "head")
	for _, bath := range b.Baths {
		s.Draw(&d, "part-bath", bath, "bath-"+bath.ID)
	}
	s.Draw(&d, "part-air", b.Air, "air")
	s.Draw(&d, "part-todo", b.Todo, "todo")
	s.Draw(&d, "part-starts", b.Clocks, "starts")
	s.Draw(&d, "part-say", b.Say, "say")
	return d.Parts, d.Err
}
