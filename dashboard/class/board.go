package class

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"time"

	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/rules"
)

// board is one room as the red page shows it. Every field is text or a flag: a
// value that is not good and recent has no way into it.
type board struct {
	Room  string
	Head  boardHead
	Baths []boardBath
	Air   boardAir
	Todo  cards.Todo
	// Say is what is read aloud when it changes.
	Say        string
	Developers int
	Timers     timerBoard
	Sound      cards.SoundBox
}

// boardBath is a tray with its evening and the timers that run at it.
type boardBath struct {
	Card    cards.BathCard
	Picture *trayPicture
	// Running is the development timer that needs an eye first, Sheets are the others of this bath.
	Running *cards.TimerCard
	Sheets  []cards.TimerCard
	// Line is what follows the developer, beside the first of them.
	Line *wetLine
	// Wash is what is in the wash, beside the first developer.
	Wash []washLine
}

// Same says that a tray is drawn as another one was.
func (b *boardBath) Same(as any) bool {
	other, is := as.(*boardBath)
	return is && b.Card == other.Card && reflect.DeepEqual(b.Picture, other.Picture) && reflect.DeepEqual(b.Running, other.Running) &&
		slices.Equal(b.Sheets, other.Sheets) && reflect.DeepEqual(b.Line, other.Line) && slices.Equal(b.Wash, other.Wash)
}

type boardAir struct {
	cards.AirCard
	Strip *airStrip
}

type boardHead struct {
	Name      string
	Simulated bool
	Clock     string
	// Age of the newest good reading in words.
	Age  string
	Lost bool
	// Session is where the evening stands, empty when none is planned for today or under way.
	Session string
}

// boardOf turns a snapshot into text. When lost is set, the room's loop has not
// spoken lately, and nothing it said is shown as if it held.
func (f figures) boardOf(snap *rules.Snapshot, site *web.Site, lost bool) board {
	b := board{Room: snap.Room, Head: boardHead{Name: snap.Name, Simulated: site.Simulated, Clock: f.TimeOfDay(f.Now.Wall), Lost: lost}}
	b.Head.Age = f.newest(snap, lost)
	b.Baths = make([]boardBath, 0, len(snap.Baths))
	for _, bath := range snap.Baths {
		card := f.BathCard(bath, lost)
		if card.Developer {
			b.Developers++
		}
		b.Baths = append(b.Baths, boardBath{Card: card})
	}
	b.Air = boardAir{AirCard: f.AirCard(snap.Air, lost)}
	if !lost {
		b.Head.Session = f.SessionLine(snap.Session)
		b.Air.Airing, b.Air.Notices = f.Airing(snap), f.BoardNotices(snap)
	}
	b.Todo = f.Todo(snap, lost)
	b.say()
	return b
}

// say keeps what a screen reader is told in step with the panel and the air.
func (b *board) say() {
	b.Say = strings.TrimSpace(b.Todo.Word + " " + b.Todo.Text + " " + fmt.Sprintf("Air: %s.", b.Air.Word))
}

// worthAge is how old the newest reading must be for the board to say so: silent trays say
// since when in their own place.
const worthAge = 10 * time.Second

func (f figures) newest(snap *rules.Snapshot, lost bool) string {
	switch {
	case lost:
		return fmt.Sprintf("Last contact %s ago", f.Text(rules.Age(f.Now.Since(snap.At))))
	case snap.Newest < 0:
		return "No good reading"
	}
	age := snap.Newest + max(0, f.Now.Since(snap.At))
	if age < worthAge {
		return ""
	}
	return fmt.Sprintf("Newest reading: %s ago", f.Text(rules.Age(age)))
}
