package web

import (
	"sync"
	"time"

	"wetside/rules"
)

// lostAfter is how old the newest state of a room may be before it proves nothing.
const lostAfter = 4 * time.Second

// sightings remembers when each room's newest snapshot was first seen, on the
// computer's own clock: a room whose loop has died keeps its last snapshot for
// ever, and nothing in that snapshot tells.
type sightings struct {
	mu    sync.Mutex
	rooms map[string]sighting
}

type sighting struct {
	snap *rules.Snapshot
	at   time.Time
}

// note looks at the newest snapshots.
func (s *sightings) note(site *Site) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, snap := range site.Rooms {
		if s.rooms[snap.Room].snap != snap {
			s.rooms[snap.Room] = sighting{snap, time.Now()}
		}
	}
}

// lost says whether a snapshot has stood for so long that it proves nothing.
func (s *sightings) lost(snap *rules.Snapshot) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	seen, known := s.rooms[snap.Room]
	return known && seen.snap == snap && time.Since(seen.at) > lostAfter
}
