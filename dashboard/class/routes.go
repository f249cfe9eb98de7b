// Package class has the pages that are looked at in class: the board, the timers, tonight,
// the baths, and a look back.
package class

import (
	"net/http"

	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/access"
)

// ShelfReader lets a page read the book of chemistry.
type ShelfReader interface {
	// Book is the book as it is now: later entries don't change what a page reads, and the page
	// must not change it.
	Book() *cards.ShelfBook
}

// Health says whether the program does its work.
type Health interface {
	// Health is nil while every loop turns and history can be written; else the
	// error is one sentence that says what is wrong and what to do.
	Health() error
}

// Pages are the pages that are looked at in class: the board, the timers, tonight, the baths.
type Pages struct {
	*web.Kit
	Health Health
	Shelf  ShelfReader
	Timers Timers
	Then   Then
	// Screen says what is known of the screen that a request comes from.
	Screen func(*http.Request) web.ScreenState
	// Evenings are the past that the boards draw.
	Evenings *Evenings
}

// Routes are those of the class.
func (s *Pages) Routes() []web.Route {
	return []web.Route{
		{Pattern: "GET /{$}", For: web.Reading(), Answer: http.HandlerFunc(s.start), Menu: web.Entry{Name: "index", Red: true}},
		{Pattern: "GET /events", For: web.Reading(), Live: s.indexParts},
		{Pattern: "GET /rooms/{room}/board", For: web.Reading(), Answer: s.InRoom(s.boardPage),
			Menu: web.Entry{Under: web.UnderBoard, At: 1, Name: "board", Text: "Board", Red: true}},
		{Pattern: "GET /rooms/{room}/events", For: web.Reading(), Live: s.boardParts},
		{Pattern: "POST /rooms/{room}/seen", For: web.From(access.Volunteer), Answer: s.InRoom(s.seenPost),
			Acts: []web.Act{{Name: actSeen, Kind: rules.AcknowledgeAlarm{}.Kind()}}},
		{Pattern: "POST /rooms/{room}/seer", For: web.From(access.Volunteer), Answer: s.InRoom(s.seerPost),
			Acts: []web.Act{{Name: cards.ActNameSeer, Kind: rules.NameSeer{}.Kind()}}},
		{Pattern: "GET /rooms/{room}/timer", For: web.Reading(), Answer: s.InRoom(s.timerPage),
			Menu: web.Entry{Under: web.UnderTimer, At: 1, Name: "timer", Text: "Timer", Red: true}.If(s.Timers != nil)},
		{Pattern: "POST /rooms/{room}/timer", For: web.From(access.Volunteer),
			Answer: s.Having(s.Timers != nil, s.InRoom(s.timerPost).ServeHTTP)},
		{Pattern: "GET /rooms/{room}/timer/events", For: web.Reading(), Live: s.timerParts},
		{Pattern: "GET /rooms/{room}/tonight", For: web.Reading(), Answer: s.InRoom(s.tonightPage),
			Menu: web.Entry{Under: web.UnderTonight, At: 1, Name: "tonight", Text: "Tonight"}},
		{Pattern: "GET /rooms/{room}/then", For: web.Reading(), Answer: s.Having(s.Then != nil, s.InRoom(s.thenPage).ServeHTTP)},
		{Pattern: "GET /rooms/{room}/baths", For: web.Reading(), Answer: s.InRoom(s.bathsPage),
			Menu: web.Entry{Under: web.UnderChemistry, At: 2, Name: "baths", Text: "Baths"}},
		s.RoomForm("POST /rooms/{room}/baths", []web.Act{cards.Acknowledge()}),
		{Pattern: "POST /rooms/{room}/announce", For: web.From(access.Volunteer), Answer: s.InRoom(s.announcePost)},
		{Pattern: "GET /api/now", For: web.Programs(), Answer: http.HandlerFunc(s.apiNow)},
		{Pattern: "GET /healthz", For: web.Open(), Answer: http.HandlerFunc(s.healthz)},
	}
}

type figures struct{ cards.Figures }

func (s *Pages) figures(site *web.Site) figures {
	return figures{cards.Figures{Figures: s.Figures(site)}}
}

// shelfContext is what is said and read of the book of chemistry.
type shelfContext struct{ cards.BookCards }

func (s *Pages) book(f figures) shelfContext {
	return shelfContext{cards.BookCards{Figures: f.Figures, Book: s.Shelf.Book()}}
}
