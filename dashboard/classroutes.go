package dashboard

import (
	"net/http"

	"wetside/rules"
	"wetside/rules/access"
)

// The acts on trays that a form may ask for.
const (
	actFill    = "fill"
	actEmpty   = "empty"
	actCover   = "cover"
	actUncover = "uncover"
)

// classPages are the pages that are looked at in class: the board, the timers, tonight, the baths.
type classPages struct {
	*kit
	shelf  Shelf
	clocks Clocks
	then   Then
	// screen says what is known of the screen that a request comes from.
	screen func(*http.Request) screenState
}

// routes are those of the class.
func (s *classPages) routes() []Route {
	return []Route{
		{Pattern: "GET /{$}", For: Reading(), Answer: http.HandlerFunc(s.start)},
		{Pattern: "GET /events", For: Reading(), Live: s.indexParts},
		{Pattern: "GET /rooms/{room}/board", For: Reading(), Answer: s.inRoom(s.boardPage), Menu: Entry{Under: UnderBoard, At: 1, Name: "board", Red: true}},
		{Pattern: "GET /rooms/{room}/events", For: Reading(), Live: s.boardParts},
		{Pattern: "GET /rooms/{room}/clock", For: Reading(), Answer: s.inRoom(s.clockPage),
			Menu: Entry{Under: UnderTimer, At: 1, Name: "clock", Red: true}.If(s.clocks != nil)},
		{Pattern: "POST /rooms/{room}/clock", For: From(access.Volunteer), Answer: s.inRoom(s.clockPost)},
		{Pattern: "GET /rooms/{room}/clock/events", For: Reading(), Live: s.clockParts},
		{Pattern: "GET /rooms/{room}/tonight", For: Reading(), Answer: s.inRoom(s.tonightPage), Menu: Entry{Under: UnderTonight, At: 1, Name: "tonight"}},
		{Pattern: "GET /rooms/{room}/then", For: Reading(), Answer: s.inRoom(s.thenPage)},
		{Pattern: "GET /rooms/{room}/baths", For: Reading(), Answer: s.inRoom(s.bathsPage), Menu: Entry{Under: UnderChemistry, At: 2, Name: "baths"}},
		s.roomForm("POST /rooms/{room}/baths", append(trayActs(), acknowledge())),
		{Pattern: "POST /rooms/{room}/announce", For: From(access.Volunteer), Answer: s.inRoom(s.announcePost)},
		{Pattern: "GET /api/now", For: Reading(), Answer: http.HandlerFunc(s.apiNow)},
		{Pattern: "GET /healthz", For: Open(), Answer: http.HandlerFunc(s.healthz)},
	}
}

// trayActs are what can be entered of a tray without the shelf.
func trayActs() []Act {
	return []Act{
		{Name: actFill, Kind: rules.FillTray{}.Kind(), On: OnTray, Read: func(f *formReader, t typed) rules.Act { return readFill(f, t) }},
		{Name: actEmpty, Kind: rules.EmptyTray{}.Kind(), On: OnTray, Read: func(f *formReader, t typed) rules.Act {
			return rules.EmptyTray{Bath: t.Bath, Where: readWhere(f, t.Where)}
		}},
		{Name: actCover, Kind: rules.CoverTray{}.Kind(), On: OnTray, Read: func(_ *formReader, t typed) rules.Act {
			return rules.CoverTray{Bath: t.Bath, Covered: true}
		}},
		{Name: actUncover, Kind: rules.CoverTray{}.Kind(), On: OnTray, Read: func(_ *formReader, t typed) rules.Act {
			return rules.CoverTray{Bath: t.Bath}
		}},
	}
}
