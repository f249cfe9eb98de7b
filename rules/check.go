package rules

import (
	"slices"
	"strings"
	"unicode/utf8"

	"wetside/rules/truth"
	"wetside/sensors/quantity/phrase"
)

// longestWord is how many characters a name or a note may have.
const longestWord = 200

// Check says whether an act can be taken as things stand. The error is one
// sentence that says what is wrong and what to do.
func Check(room Room, board Board, c Command) error {
	if err := checkWord(phrase.Say("name"), c.Person, true); err != nil {
		return err
	}
	switch act := c.Act.(type) {
	case truth.Act:
		return checkProbe(board, act, c)
	case ConfirmClock:
		return checkClock(act, c)
	case FillTray:
		return checkFill(room, board, act)
	case EmptyTray:
		if err := checkFilled(room, board, act.Bath); err != nil {
			return err
		}
		if p, _ := board.portion(act.Bath); p.Known != nil {
			return phrase.Errorf("that tray was filled from the shelf: enter there where its content goes, so that its history goes with it")
		}
		return checkWord(phrase.Say("place"), act.Where, true)
	case AnnounceTime:
		return checkAnnounce(room, act)
	case CoverTray:
		return checkCover(room, board, act)
	case alarmAct:
		return checkAlarmAct(room, board, c)
	case CommissionAir:
		return checkCommission(room, c, act)
	case TestAirChanges:
		return act.check(room)
	case RequireAir:
		return checkRequire(room, board, c, act)
	case LimitGas:
		return checkLimit(room, board, c, act)
	case StartSession:
		if err := checkWord(phrase.Say("title"), act.Title, false); err != nil {
			return err
		}
		_, err := board.Memory.Session.Start(act.Phase, act.by(c.Person), c.At)
		return err
	case EndSession:
		if err := checkWord(phrase.Say("note"), act.Note, false); err != nil {
			return err
		}
		_, err := board.Memory.Session.End(act.Phase, c.Person, c.At)
		return err
	}
	return checkNote(c.Act)
}

// checkNote checks the acts that change nothing on the board.
func checkNote(act Act) error {
	switch act := act.(type) {
	case ReportComplaint:
		return checkWord(phrase.Say("description of what is wrong with the air"), act.What, true)
	case RecordDrill:
		if err := checkWord(phrase.Say("description of what was practised"), act.What, true); err != nil {
			return err
		}
		return checkWord(phrase.Say("result of the drill"), act.Found, true)
	case TestSounder:
		return checkWord(phrase.Say("place of the sounder"), act.Where, true)
	}
	return phrase.Errorf("a %T can't be taken in this room", act)
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

func checkCover(room Room, board Board, act CoverTray) error {
	if err := checkFilled(room, board, act.Bath); err != nil {
		return err
	}
	if p, _ := board.portion(act.Bath); board.covered(act.Bath, p) == act.Covered {
		return phrase.Errorf("that is how the tray is entered already: nothing to change")
	}
	return nil
}

func checkFill(room Room, board Board, act FillTray) error {
	bath, err := room.bath(act.Bath)
	if err != nil {
		return err
	}
	if p, filled := board.portion(act.Bath); filled {
		return phrase.Errorf("%s already holds %s, filled by %s: enter first that it was emptied", bath.Name, p.What, p.By)
	}
	if err := checkWord(phrase.Say("description of what it is"), act.What, true); err != nil {
		return err
	}
	if err := checkWord(phrase.Say("batch label"), act.Batch, false); err != nil {
		return err
	}
	switch {
	case act.Concentrate < 0 || act.Water < 0 || act.Volume < 0:
		return phrase.Errorf("parts and volume are zero or more")
	case act.Concentrate == 0 && act.Water > 0:
		return phrase.Errorf("a dilution needs parts of concentrate as well as parts of water: write both, or leave both empty")
	case act.Volume > 1e6:
		return phrase.Errorf("that is more than a thousand litres: look at the unit of the volume")
	}
	return nil
}

func checkWord(what phrase.Sentence, text string, required bool) error {
	text = strings.TrimSpace(text)
	switch {
	case required && text == "":
		return phrase.Errorf("the %s is missing: fill it in", what)
	case !utf8.ValidString(text):
		return phrase.Errorf("the %s has characters that are not text", what)
	case utf8.RuneCountInString(text) > longestWord:
		return phrase.Errorf("the %s is too long: at most %d characters", what, longestWord)
	}
	return nil
}

func (r Room) bath(id string) (Bath, error) {
	at := slices.IndexFunc(r.Baths, func(b Bath) bool { return b.ID == id })
	if at < 0 {
		return Bath{}, phrase.Errorf("this room has no bath %q: choose one from the page", id)
	}
	return r.Baths[at], nil
}
