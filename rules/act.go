package rules

import (
	"strings"
	"time"
	"unicode/utf8"

	"wetside/rules/truth"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// Act is something a person did that changes what is known of a room. Each act
// becomes one record in the record book before anything is shown of it.
type Act interface {
	// Kind names the record, such as "time announced".
	Kind() string
}

// roomAct is everything that an act of a room must say; each is in one file.
type roomAct interface {
	Act
	// check says whether the act can be taken as things are. The error is one sentence
	// that says what is wrong and what to do.
	check(room Room, board Board, c Command) error
	// apply gives the board after the act. The board passed in is not changed.
	apply(board Board, d Done, now sensors.Instant) (Board, error)
	// sentence says what was recorded.
	sentence(room Room, d Done) phrase.Sentence
}

// inRoom gives what an act does in a room; false for what is no act of a room.
func inRoom(act Act) (roomAct, bool) {
	switch act := act.(type) {
	case roomAct:
		return act, true
	case truth.Act:
		return ofProbe{act}, true
	case alarmAct:
		return ofAlarm{act}, true
	}
	return nil, false
}

// nameless is an act that may come without the name of a person.
type nameless interface{ unnamed() bool }

// kept is part of the acts that change nothing on the board: they are only kept.
type kept struct{}

func (kept) apply(board Board, _ Done, _ sensors.Instant) (Board, error) { return board, nil }

// Command is an act of a person in a room.
type Command struct {
	Room   string
	Person string
	Act    Act
	// At is when the room was asked; its loop sets it.
	At sensors.Instant
}

// Receipt says that an act is recorded for good, and under which number.
type Receipt struct {
	Number uint64
	// Sentence says in words what was recorded.
	Sentence phrase.Sentence
}

// Done is an act that is on record.
type Done struct {
	Command Command
	Record  uint64
	At      time.Time // UTC
}

// Sentence says in words what was recorded.
func (d Done) Sentence(room Room) phrase.Sentence {
	act, ok := inRoom(d.Command.Act)
	if !ok {
		return d.entered(phrase.Plain(d.Command.Act.Kind()))
	}
	return act.sentence(room, d)
}

// entered is the sentence of a record, with who entered it.
func (d Done) entered(what phrase.Sentence) phrase.Sentence {
	if d.Command.Person == "" {
		return phrase.Say("%s.", what)
	}
	return phrase.Say("%s by %s.", what, d.Command.Person)
}

// Check says whether an act can be taken as things are. The error is one
// sentence that says what is wrong and what to do.
func Check(room Room, board Board, c Command) error {
	pressed, may := c.Act.(nameless)
	if err := checkWord(phrase.Say("name"), c.Person, !may || !pressed.unnamed()); err != nil {
		return err
	}
	act, ok := inRoom(c.Act)
	if !ok {
		return phrase.Errorf("a %T can't be taken in this room", c.Act)
	}
	return act.check(room, board, c)
}

// Apply gives the board after an act that is on record. The board passed in is not changed.
func Apply(board Board, d Done, now sensors.Instant) (Board, error) {
	act, ok := inRoom(d.Command.Act)
	if !ok {
		return board, phrase.Errorf("a %T can't be taken in this room", d.Command.Act)
	}
	return act.apply(board, d, now)
}

// longestWord is how many characters a name or a note may have.
const longestWord = 200

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
