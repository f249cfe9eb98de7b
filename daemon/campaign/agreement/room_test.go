package agreement_test

import (
	"slices"
	"strings"
	"time"

	"wetside/rules"
	"wetside/rules/breathing"
)

// inRoom is a room with its probes, and what the test has noted of it.
type inRoom struct {
	id string
	// mark stands before the names of the channels and baths, which no two rooms share.
	mark string
	// called stands behind the names of trays where there are several rooms.
	called string
	probes probes
	worst  worst // verdicts on gases
	flows  flows
	mixed  time.Time // when fixing baths were mixed; zero before
}

// roomsOf are the rooms of a place.
func roomsOf(place string) []*inRoom {
	dark := &inRoom{id: room}
	rooms := []*inRoom{dark}
	if place == twoRooms() {
		dark.called = ", Darkroom (invented)"
		rooms = append(rooms, &inRoom{id: "dim", mark: "dim-", called: ", Dim room (invented)"})
	}
	for _, r := range rooms {
		r.probes, r.flows, r.worst = newProbes(), flows{}, worst{verdicts: map[string]breathing.Verdict{}}
	}
	return rooms
}

// twoRooms is the invented place with a second room like the first.
func twoRooms() string {
	at := strings.Index(placeFile, "[[room]]")
	return placeFile + strings.NewReplacer(`id = "dark"`, `id = "dim"`, `"Darkroom `, `"Dim room `, `"wire:`, `"wire:dim-`,
		`id = "`, `id = "dim-`, `channel = "`, `channel = "dim-`).Replace(placeFile[at:])
}

// goes goes to a room: what is asked and done from now on is asked and done there.
func (e *evening) goes(to *inRoom) { e.inRoom = to }

// everywhere does something in each room, and comes back.
func (e *evening) everywhere(does func()) {
	was := e.inRoom
	for _, r := range e.rooms {
		e.goes(r)
		does()
	}
	e.goes(was)
}

// here is where the pages of the room are.
func (e *evening) here() string { return "/rooms/" + e.id }

// wire is the port of one of the room's lines.
func (r *inRoom) wire(line string) string { return "wire:" + r.mark + line }

// snapshot is the board of the room, as its loop shows it.
func (e *evening) snapshot() *rules.Snapshot {
	rooms := e.daemon.Now().Rooms
	return rooms[slices.IndexFunc(rooms, func(s *rules.Snapshot) bool { return s.Room == e.id })]
}
