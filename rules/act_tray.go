package rules

import (
	"maps"

	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// What follows is read from older books alone: trays are filled, emptied and covered in the
// book of the shelf now, see package ledger.

// onlyRead is part of the acts that nobody enters any more.
type onlyRead struct{}

func (onlyRead) check(Room, Board, Command) error {
	return phrase.Errorf("trays are filled, emptied and covered on the Shelf page: enter it there")
}

// TrayKinds lists the kinds of record by which older books say what stands in the trays.
func TrayKinds() []string { return []string{trayFilled{}.Kind(), trayEmptied{}.Kind()} }

type trayFilled struct {
	onlyRead
	Bath        string              `json:"bath"`
	Batch       string              `json:"batch"` // label of the bottle or batch
	What        string              `json:"what"`
	Concentrate float64             `json:"parts_concentrate,omitempty"`
	Water       float64             `json:"parts_water,omitempty"`
	Volume      quantity.Millilitre `json:"volume_ml,omitempty"`
}

func (trayFilled) Kind() string { return "tray filled" }

func (a trayFilled) apply(board Board, d Done, _ sensors.Instant) (Board, error) {
	board.Portions = maps.Clone(board.Portions)
	board.Portions[a.Bath] = Portion{Record: d.Record, Batch: a.Batch, What: a.What, By: d.Command.Person,
		Filled: d.At, Concentrate: a.Concentrate, Water: a.Water, Volume: a.Volume}
	return board, nil
}

func (a trayFilled) sentence(room Room, d Done) phrase.Sentence {
	return d.entered(phrase.Say("%s was filled with %s", room.bathName(a.Bath), a.What))
}

func (a trayFilled) matters() []matter { return []matter{{trayMatter(a.Bath), 1}} }

// trayEmptied says that a tray was emptied and where its content went.
type trayEmptied struct {
	onlyRead
	Bath  string `json:"bath"`
	Where string `json:"where"` // "back to storage", "to waste", "discarded"
}

func (trayEmptied) Kind() string { return "tray emptied" }

func (a trayEmptied) apply(board Board, _ Done, _ sensors.Instant) (Board, error) {
	board.Portions = maps.Clone(board.Portions)
	delete(board.Portions, a.Bath)
	return board, nil
}

func (a trayEmptied) sentence(room Room, d Done) phrase.Sentence {
	return d.entered(phrase.Say("%s was emptied (%s)", room.bathName(a.Bath), a.Where))
}

func (a trayEmptied) matters() []matter { return []matter{{trayMatter(a.Bath), 1}} }

// trayCovered says that a tray got its lid, or lost it.
type trayCovered struct {
	onlyRead
	Bath    string `json:"bath"`
	Covered bool   `json:"covered"`
}

func (trayCovered) Kind() string { return "tray covered" }

// apply puts a lid on a tray or takes it off.
func (a trayCovered) apply(b Board, _ Done, _ sensors.Instant) (Board, error) {
	p, filled := b.Portions[a.Bath]
	if !filled {
		return b, phrase.Errorf("the tray %q is empty: there is nothing to cover", a.Bath)
	}
	b.Portions = maps.Clone(b.Portions)
	p.Covered = a.Covered
	b.Portions[a.Bath] = p
	return b, nil
}

func (a trayCovered) sentence(room Room, d Done) phrase.Sentence {
	if a.Covered {
		return d.entered(phrase.Say("%s was covered", room.bathName(a.Bath)))
	}
	return d.entered(phrase.Say("%s was uncovered", room.bathName(a.Bath)))
}

// matters: a lid counts until its tray is filled or emptied anew.
func (a trayCovered) matters() []matter { return []matter{{trayMatter(a.Bath), 0}} }

func trayMatter(bath string) string { return "tray " + bath }
