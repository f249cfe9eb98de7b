package record

import (
	"fmt"
	"time"
)

// imported says of each line which of its values came from a file and not from the
// probe; nothing where none did.
func (d drawHistory) imported(lines []pastLine) (told []string) {
	for _, l := range lines {
		var from, to time.Time
		for _, p := range l.Points {
			if !p.Imported {
				continue
			}
			if from.IsZero() {
				from = p.At
			}
			to = p.At
		}
		if !from.IsZero() {
			told = append(told, fmt.Sprintf("Hollow line: imported from a file, not measured by a probe of this room: %s, from %s to %s.", l.Name,
				d.Moment(from), d.Moment(to)))
		}
	}
	return told
}
