package record

import (
	"fmt"
	"time"
)

// imported says which values of a line came from a file and not from the probe;
// nothing where none did.
func (d drawHistory) imported(l pastLine) string {
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
	if from.IsZero() {
		return ""
	}
	return fmt.Sprintf("Hollow line: imported from a file, not measured by a probe of this room: %s, from %s to %s.", l.Name, d.Moment(from),
		d.Moment(to))
}
