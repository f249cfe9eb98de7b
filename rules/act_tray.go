package rules

import (
	"maps"

	"wetside/rules/access"
	"wetside/rules/record"
	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// FillTray says that a tray was filled, with what and by whom.
type FillTray struct {
	Bath        string              `json:"bath"`
	Batch       string              `json:"batch"` // label of the bottle or batch
	What        string              `json:"what"`
	Concentrate float64             `json:"parts_concentrate,omitempty"`
	Water       float64             `json:"parts_water,omitempty"`
	Volume      quantity.Millilitre `json:"volume_ml,omitempty"`
}

// Kind names the record.
func (FillTray) Kind() string { return "tray filled" }

// Least lets whoever helps in an evening enter it.
func (FillTray) Least() access.Role { return access.Volunteer }

func (FillTray) recalled() record.Recalled { return record.Always }
func (FillTray) judges() record.Subject    { return record.Trays }

func (a FillTray) check(room Room, board Board, _ Command) error {
	bath, err := room.bath(a.Bath)
	if err != nil {
		return err
	}
	if p, filled := board.portion(a.Bath); filled {
		return phrase.Errorf("%s already holds %s, filled by %s: enter first that it was emptied", bath.Name, p.What, p.By)
	}
	if err := checkWord(phrase.Say("description of what it is"), a.What, true); err != nil {
		return err
	}
	if err := checkWord(phrase.Say("batch label"), a.Batch, false); err != nil {
		return err
	}
	switch {
	case a.Concentrate < 0 || a.Water < 0 || a.Volume < 0:
		return phrase.Errorf("parts and volume are zero or more")
	case a.Concentrate == 0 && a.Water > 0:
		return phrase.Errorf("a dilution needs parts of concentrate as well as parts of water: write both, or leave both empty")
	case a.Volume > 1e6:
		return phrase.Errorf("that is more than a thousand litres: look at the unit of the volume")
	}
	return nil
}

func (a FillTray) apply(board Board, d Done, _ sensors.Instant) (Board, error) {
	board.Portions = maps.Clone(board.Portions)
	board.Portions[a.Bath] = Portion{Record: d.Record, Batch: a.Batch, What: a.What, By: d.Command.Person,
		Filled: d.At, Concentrate: a.Concentrate, Water: a.Water, Volume: a.Volume}
	return board, nil
}

func (a FillTray) sentence(room Room, d Done) phrase.Sentence {
	return d.entered(phrase.Say("%s was filled with %s", room.bathName(a.Bath), a.What))
}

// EmptyTray says that a tray was emptied and where its content went.
type EmptyTray struct {
	Bath  string `json:"bath"`
	Where string `json:"where"` // "back to storage", "to waste", "discarded"
}

// Kind names the record.
func (EmptyTray) Kind() string { return "tray emptied" }

// Least lets whoever helps in an evening enter it.
func (EmptyTray) Least() access.Role { return access.Volunteer }

func (EmptyTray) recalled() record.Recalled { return record.Always }
func (EmptyTray) judges() record.Subject    { return record.Trays }

func (a EmptyTray) check(room Room, board Board, _ Command) error {
	if err := checkFilled(room, board, a.Bath); err != nil {
		return err
	}
	if p, _ := board.portion(a.Bath); p.Known != nil {
		return phrase.Errorf("that tray was filled from the shelf: enter there where its content goes, so that its history goes with it")
	}
	return checkWord(phrase.Say("place"), a.Where, true)
}

func (a EmptyTray) apply(board Board, _ Done, _ sensors.Instant) (Board, error) {
	board.Portions = maps.Clone(board.Portions)
	delete(board.Portions, a.Bath)
	return board, nil
}

func (a EmptyTray) sentence(room Room, d Done) phrase.Sentence {
	return d.entered(phrase.Say("%s was emptied (%s)", room.bathName(a.Bath), a.Where))
}

// CoverTray says that a tray got its lid, or lost it. Covered trays give little to
// the air and are not counted as open.
type CoverTray struct {
	Bath    string `json:"bath"`
	Covered bool   `json:"covered"`
}

// Kind names the record.
func (CoverTray) Kind() string { return "tray covered" }

// Least lets whoever helps in an evening enter it.
func (CoverTray) Least() access.Role { return access.Volunteer }

func (CoverTray) recalled() record.Recalled { return record.Always }
func (CoverTray) judges() record.Subject    { return record.Trays }

func (a CoverTray) check(room Room, board Board, _ Command) error {
	if err := checkFilled(room, board, a.Bath); err != nil {
		return err
	}
	if p, _ := board.portion(a.Bath); board.covered(a.Bath, p) == a.Covered {
		return phrase.Errorf("that is how the tray is entered already: nothing to change")
	}
	return nil
}

// apply puts a lid on a tray or takes it off.
func (a CoverTray) apply(b Board, _ Done, _ sensors.Instant) (Board, error) {
	p, filled := b.portion(a.Bath)
	if !filled {
		return b, phrase.Errorf("the tray %q holds nothing that could be covered", a.Bath)
	}
	lids := map[string]uint64{}
	maps.Copy(lids, b.Lids)
	if lids[a.Bath] = 0; a.Covered {
		lids[a.Bath] = p.Record
	}
	b.Lids = lids
	return b, nil
}

func (a CoverTray) sentence(room Room, d Done) phrase.Sentence {
	if a.Covered {
		return d.entered(phrase.Say("%s was covered", room.bathName(a.Bath)))
	}
	return d.entered(phrase.Say("%s was uncovered", room.bathName(a.Bath)))
}

func checkFilled(room Room, board Board, bath string) error {
	if _, err := room.bath(bath); err != nil {
		return err
	}
	if _, filled := board.portion(bath); !filled {
		return phrase.Errorf("that tray is not entered as filled: fill it first, or leave it as it is")
	}
	return nil
}

// covered says whether the portion that stands in a tray now has its lid on. Of a
// tray that was filled from the shelf, its book knows.
func (b Board) covered(bath string, p Portion) bool {
	if p.Known != nil {
		return p.Covered
	}
	return p.Record != 0 && b.Lids[bath] == p.Record
}
