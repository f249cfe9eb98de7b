package dashboard

import (
	"bytes"
	"errors"

	"wetside/rules"
)

// withoutScript is after how many seconds a live page loads again in a browser
// without script.
const withoutScript = 5

// errNoRoom says that a live page's room is no longer configured.
var errNoRoom = errors.New("no such room")

// drawing gathers drawn parts until one fails.
type drawing struct {
	parts []part
	err   error
}

func (s *kit) draw(d *drawing, template string, data any, id string) {
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
