package rules

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"wetside/rules/alarm"
	"wetside/sensors"
)

// longestWord is how many characters a name or a note may have.
const longestWord = 200

// Check says whether an act can be taken as things stand. The error is one
// sentence that says what is wrong and what to do.
func Check(room Room, board Board, c Command) error {
	if err := checkWord("name", c.Person, true); err != nil {
		return err
	}
	switch act := c.Act.(type) {
	case FillTray:
		return checkFill(room, board, act)
	case EmptyTray:
		if _, err := room.bath(act.Bath); err != nil {
			return err
		}
		switch p, filled := board.portion(act.Bath); {
		case filled && p.Known != nil:
			return errors.New("that tray was filled from the shelf: enter there where its content goes, so that its history goes with it")
		case !filled:
			return errors.New("that tray is not entered as filled: fill it first, or leave it as it is")
		}
		return checkWord("place", act.Where, true)
	case AnnounceTime:
		return checkAnnounce(room, act)
	case AcknowledgeAlarm:
		if err := checkWord("note of what was done", act.Done, false); err != nil {
			return err
		}
		_, _, err := board.Memory.Alarms.Acknowledge(act.Alarm, alarm.By{Person: c.Person, Note: act.Done}, sensors.Instant{})
		return err
	}
	return fmt.Errorf("a %T can't be taken in this room", c.Act)
}

func checkFill(room Room, board Board, act FillTray) error {
	bath, err := room.bath(act.Bath)
	if err != nil {
		return err
	}
	if p, filled := board.portion(act.Bath); filled {
		return fmt.Errorf("%s already holds %s, filled by %s: enter first that it was emptied", bath.Name, p.What, p.By)
	}
	if err := checkWord("description of what it is", act.What, true); err != nil {
		return err
	}
	if err := checkWord("batch label", act.Batch, false); err != nil {
		return err
	}
	switch {
	case act.Concentrate < 0 || act.Water < 0 || act.Volume < 0:
		return errors.New("parts and volume are zero or more")
	case act.Concentrate == 0 && act.Water > 0:
		return errors.New("a dilution needs parts of concentrate as well as parts of water: write both, or leave both empty")
	case act.Volume > 1e6:
		return errors.New("that is more than a thousand litres: look at the unit of the volume")
	}
	return nil
}

func checkWord(what, text string, required bool) error {
	text = strings.TrimSpace(text)
	switch {
	case required && text == "":
		return fmt.Errorf("the %s is missing: fill it in", what)
	case !utf8.ValidString(text):
		return fmt.Errorf("the %s has characters that are not text", what)
	case utf8.RuneCountInString(text) > longestWord:
		return fmt.Errorf("the %s is too long: at most %d characters", what, longestWord)
	}
	return nil
}

func (r Room) bath(id string) (Bath, error) {
	at := slices.IndexFunc(r.Baths, func(b Bath) bool { return b.ID == id })
	if at < 0 {
		return Bath{}, fmt.Errorf("this room has no bath %q: choose one from the page", id)
	}
	return r.Baths[at], nil
}

// Done is an act that is on record.
type Done struct {
	Command Command
	Record  uint64
	At      time.Time // UTC
}

// Sentence says in words what was recorded.
func (d Done) Sentence(room Room) string {
	switch act := d.Command.Act.(type) {
	case FillTray:
		b, _ := room.bath(act.Bath)
		return fmt.Sprintf("Record %d: %s was filled with %s by %s.", d.Record, b.Name, act.What, d.Command.Person)
	case EmptyTray:
		b, _ := room.bath(act.Bath)
		return fmt.Sprintf("Record %d: %s was emptied (%s) by %s.", d.Record, b.Name, act.Where, d.Command.Person)
	case AnnounceTime:
		b, _ := room.bath(act.Bath)
		return announcedSentence(d, act, b)
	case AcknowledgeAlarm:
		return fmt.Sprintf("Record %d: the alarm was acknowledged by %s.", d.Record, d.Command.Person)
	}
	return fmt.Sprintf("Record %d: %s.", d.Record, d.Command.Act.Kind())
}

// Apply gives the board after an act that is on record. The board passed in is not changed.
func Apply(board Board, d Done, now sensors.Instant) (Board, error) {
	switch act := d.Command.Act.(type) {
	case FillTray:
		board.Portions = maps.Clone(board.Portions)
		board.Portions[act.Bath] = Portion{Record: d.Record, Batch: act.Batch, What: act.What, By: d.Command.Person,
			Filled: d.At, Concentrate: act.Concentrate, Water: act.Water, Volume: act.Volume}
	case EmptyTray:
		board.Portions = maps.Clone(board.Portions)
		delete(board.Portions, act.Bath)
	case AnnounceTime:
		board = board.told(d, act)
	case AcknowledgeAlarm:
		set, _, err := board.Memory.Alarms.Acknowledge(act.Alarm, alarm.By{Person: d.Command.Person, Note: act.Done}, now)
		if err != nil {
			return board, err
		}
		board.Memory.Alarms = set
	}
	return board, nil
}

// Recorded is a record of the book as the rules need it to bring a board back.
type Recorded struct {
	Kind    string
	Number  uint64
	Person  string
	At      time.Time
	Content json.RawMessage
}

// RecalledKinds lists the kinds of record from which a board is brought back.
func RecalledKinds() []string {
	return []string{FillTray{}.Kind(), EmptyTray{}.Kind(), AnnounceTime{}.Kind(), AcknowledgeAlarm{}.Kind(), AlarmChange}
}

// Recall brings one record back onto the board; records come in the order of their
// numbers. A record that no longer makes sense is passed over: it stays in the book.
func Recall(board Board, r Recorded) Board {
	if r.Kind == AlarmChange {
		var e Event
		if json.Unmarshal(r.Content, &e) == nil && e.Alarm != nil {
			board.Memory.Alarms = board.Memory.Alarms.Restore(*e.Alarm)
		}
		return board
	}
	act, err := decodeAct(r)
	if err != nil {
		return board
	}
	now := sensors.Instant{Wall: r.At}
	after, err := Apply(board, Done{Command{Person: r.Person, Act: act}, r.Number, r.At}, now)
	if err != nil {
		return board
	}
	return after
}

func decodeAct(r Recorded) (Act, error) {
	switch r.Kind {
	case FillTray{}.Kind():
		return unmarshalAct[FillTray](r.Content)
	case EmptyTray{}.Kind():
		return unmarshalAct[EmptyTray](r.Content)
	case AnnounceTime{}.Kind():
		return unmarshalAct[AnnounceTime](r.Content)
	case AcknowledgeAlarm{}.Kind():
		return unmarshalAct[AcknowledgeAlarm](r.Content)
	}
	return nil, fmt.Errorf("unknown kind of record %q", r.Kind)
}

func unmarshalAct[A Act](content json.RawMessage) (Act, error) {
	var act A
	err := json.Unmarshal(content, &act)
	return act, err
}
