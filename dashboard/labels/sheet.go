// Package labels draws labels for bottles and trays on sheets of labels as the trade
// sells them: as PDF, in the largest letters that each label holds.
package labels

import "wetside/sensors/quantity/phrase"

// Sheet is a paper with labels on it. All lengths are in millimetres.
type Sheet struct {
	ID, Paper     string
	Width, Height float64 // of the paper
	Columns, Rows int
	Wide, High    float64 // of one label
	Left, Top     float64 // of the first one
	Across, Down  float64 // from one label to the next
}

// Sheets are the common sizes, by paper and then by size, the largest first. The
// measures are common practice of the trade; a test print on plain paper, held against
// the sheet, shows whether a printer keeps to them.
func Sheets() []Sheet {
	const a4Wide, a4High, letterWide, letterHigh = 210, 297, 215.9, 279.4
	return []Sheet{
		{"a4-4", "A4", a4Wide, a4High, 2, 2, 99.1, 139, 4.65, 9.5, 101.6, 139},
		{"a4-8", "A4", a4Wide, a4High, 2, 4, 99.1, 67.7, 4.65, 13.1, 101.6, 67.7},
		{"a4-14", "A4", a4Wide, a4High, 2, 7, 99.1, 38.1, 4.65, 15.15, 101.6, 38.1},
		{"a4-21", "A4", a4Wide, a4High, 3, 7, 63.5, 38.1, 7.25, 15.15, 66, 38.1},
		{"letter-4", "US letter", letterWide, letterHigh, 2, 2, 101.6, 127, 3.97, 12.7, 106.36, 127},
		{"letter-6", "US letter", letterWide, letterHigh, 2, 3, 101.6, 84.67, 3.97, 12.7, 106.36, 84.67},
		{"letter-10", "US letter", letterWide, letterHigh, 2, 5, 101.6, 50.8, 3.97, 12.7, 106.36, 50.8},
		{"letter-14", "US letter", letterWide, letterHigh, 2, 7, 101.6, 33.87, 3.97, 21.17, 106.36, 33.87},
	}
}

// Count is how many labels a sheet has.
func (s Sheet) Count() int { return s.Columns * s.Rows }

// Find gives the sheet of an identity; the error says which there are.
func Find(id string) (Sheet, error) {
	var known []string
	for _, s := range Sheets() {
		if s.ID == id {
			return s, nil
		}
		known = append(known, s.ID)
	}
	return Sheet{}, phrase.Errorf("there is no sheet of labels %q: choose one of %q", id, known)
}

// place is the upper left corner of the nth label of a sheet, by rows, from 0 on.
func (s Sheet) place(n int) (x, y float64) {
	return s.Left + float64(n%s.Columns)*s.Across, s.Top + float64(n/s.Columns)*s.Down
}
