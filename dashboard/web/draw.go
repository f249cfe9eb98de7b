package web

import (
	"bytes"
	"errors"

	"wetside/rules"
)

// WithoutScript is after how many seconds a live page loads again in a browser
// without script.
const WithoutScript = 5

// errNoRoom says that a live page's room is no longer configured.
var errNoRoom = errors.New("no such room")

// Drawing gathers drawn parts until one fails.
type Drawing struct {
	Parts []Part
	Err   error
}

// Draw adds a part to a drawing, by the template that the page itself uses.
func (s *Kit) Draw(d *Drawing, template string, data any, id string) {
	var out bytes.Buffer
	if d.Err == nil {
		d.Err = s.templates.ExecuteTemplate(&out, template, data)
	}
	d.Parts = append(d.Parts, Part{id, out.String()})
}

func roomOf(site *Site, id string) *rules.Snapshot {
	for _, snap := range site.Rooms {
		if snap.Room == id {
			return snap
		}
	}
	return nil
}
