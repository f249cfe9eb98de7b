package dashboard

import (
	"bytes"
	"errors"
	"net/http"

	"wetside/rules"
)

// withoutScript is after how many seconds a live page loads again in a browser
// without script.
const withoutScript = 5

// errNoRoom says that a live page's room is no longer configured.
var errNoRoom = errors.New("no such room")

// start is the board where there is one room, else the index of all rooms.
func (s *Server) start(w http.ResponseWriter, r *http.Request) {
	site := s.view.Now()
	if len(site.Rooms) == 1 {
		s.boardPage(w, r, visit{site, site.Rooms[0]})
		return
	}
	p := s.pageFor("index", red, visit{site: site})
	p.Stream, p.Refresh = "/events", withoutScript
	p.Body = s.indexRows(site)
	s.show(w, r, http.StatusOK, p)
}

func (s *Server) boardPage(w http.ResponseWriter, r *http.Request, in visit) {
	p := s.pageFor("board", red, in)
	p.Stream, p.Refresh = "/rooms/"+in.snap.Room+"/events", withoutScript
	p.Scripts = []string{"sound.js", "clock.js"}
	p.Body, p.Screen = s.boardNow(in), s.screenState(r)
	s.show(w, r, http.StatusOK, p)
}

// boardNow is the board of a room with the clocks that run at its trays.
func (s *Server) boardNow(in visit) board {
	f, lost := s.figures(in.site), s.hub.sightings.lost(in.snap)
	b := f.boardOf(in.snap, in.site, lost)
	b.Clocks, b.Sound = s.clockBoard(f, in.site, in.snap, lost), s.soundBox(in.snap.Room, red)
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

func (s *Server) indexRows(site *Site) []indexRow {
	rows := make([]indexRow, 0, len(site.Rooms))
	f := s.figures(site)
	for _, snap := range site.Rooms {
		row := indexRow{board: f.boardOf(snap, site, s.hub.sightings.lost(snap))}
		for _, bath := range row.Baths {
			if bath.Developer {
				row.Times = append(row.Times, bath)
			}
		}
		rows = append(rows, row)
	}
	return rows
}

// streamParts draws the parts of a live page, in the very templates that the page itself uses.
func (s *Server) streamParts(t topic) ([]part, error) {
	site := s.view.Now()
	if t.page == indexTopic {
		var d drawing
		for _, row := range s.indexRows(site) {
			s.draw(&d, "part-room", row, "room-"+row.Room)
		}
		return d.parts, d.err
	}
	snap := roomOf(site, t.room)
	if snap == nil {
		return nil, errNoRoom
	}
	if t.page == probesTopic {
		return s.probesParts(visit{site, snap}, t.look)
	}
	if t.page == clockTopic {
		return s.clockParts(visit{site, snap})
	}
	if t.page == airTopic {
		return s.airParts(visit{site, snap})
	}
	if t.page == alarmsTopic {
		return s.alarmParts(visit{site, snap})
	}
	b := s.boardNow(visit{site, snap})
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

// drawing gathers drawn parts until one fails.
type drawing struct {
	parts []part
	err   error
}

func (s *Server) draw(d *drawing, template string, data any, id string) {
	var out bytes.Buffer
	if d.err == nil {
		d.err = s.templates.ExecuteTemplate(&out, template, data)
	}
	d.parts = append(d.parts, part{id, out.String()})
}

func roomOf(site *Site, id string) *rules.Snapshot {
	for _, snap := range site.Rooms {
		if snap.Room == id {
			return snap
		}
	}
	return nil
}
