package web

import (
	"net/http"
	"strings"

	"wetside/rules"
	"wetside/rules/access"
)

// Route is one address of the dashboard. All that the program knows of the address is
// declared here, and every list is derived from the routes: who may use what, the menu,
// the acts of forms, and what is drawn anew as things change.
type Route struct {
	// Pattern is as in package net/http: "GET /rooms/{room}/air".
	Pattern string
	// For says who may use the route. A route that says nothing stops the start.
	For Admission
	// Answer answers a request; nil for a stream.
	Answer http.Handler
	// Acts are those that the form of the route may bring and that become a record.
	Acts []Act
	// Menu says where the page stands in the menu; a page without an entry is in none.
	Menu Entry
	// Live draws the parts of a page that this route streams.
	Live func(d *Drawing, in Visit, l Look)
	// Calm is set for a stream that changes once a second and not with every reading.
	Calm bool
}

// Admission says who may use a route. The zero value admits nobody.
type Admission struct {
	open, measures, reading, programs bool
	least                             access.Role
}

// Open admits anybody, before any sign-in.
func Open() Admission { return Admission{open: true} }

// Measuring admits the tokens for the metrics alone.
func Measuring() Admission { return Admission{measures: true} }

// Reading admits whoever signed in, and anybody where the place lets pages be read by all.
func Reading() Admission { return Admission{reading: true} }

// Programs admits whoever may read pages, and the tokens for programs.
func Programs() Admission { return Admission{reading: true, programs: true} }

// From admits a role and those above.
func From(least access.Role) Admission { return Admission{least: least} }

// showsTo says whether the menu leads there for somebody of a role, or for whoever has not signed in.
func (a Admission) showsTo(role access.Role) bool {
	return a.least == "" || role == "" || role.Covers(a.least)
}

// decided is false for a route that says nothing of who may use it.
func (a Admission) decided() bool { return a != Admission{} }

// Act is what a form may do: its name in the form, and the kind of record that it becomes.
// Who may enter the record may send the form.
type Act struct {
	Name, Kind string
	// Read makes the act of what was typed; nil where the page of the form has a reader of its own.
	Read func(f *FormReader, t Typed) rules.Act
	// Undo is the act of the same route that takes this one back; empty where none does.
	Undo string
	// OnAlarm is set for an act on an alarm, which must still be open.
	OnAlarm bool
}

// Reads is an act of a room: its name in the form, and what makes it of what was typed.
func Reads[A rules.Act](name string, read func(f *FormReader, t Typed) A) Act {
	var empty A
	return Act{Name: name, Kind: empty.Kind(), Read: func(f *FormReader, t Typed) rules.Act { return read(f, t) }}
}

// ReadsOnAlarm is an act on an alarm that is open; undo names the act that takes it back, if one does.
func ReadsOnAlarm[A rules.Act](name, undo string, read func(f *FormReader, t Typed) A) Act {
	act := Reads(name, read)
	act.OnAlarm, act.Undo = true, undo
	return act
}

// Entry is the place of a page in the menu.
type Entry struct {
	Under Heading
	// At is the place under the heading, from 1 on.
	At int
	// Name is the name of the page, Text what the menu calls it.
	Name, Text string
	// Red is set for a page that is always red and need not be asked to be, in the menu or not.
	Red bool
}

// Heading is a word in the row of the menu.
type Heading int

// The row of the menu: what is looked at in class, then the rest by the work that it belongs to.
const (
	NoHeading Heading = iota
	UnderBoard
	UnderTimer
	UnderTonight
	UnderChemistry
	UnderAir
	UnderRecord
	UnderTechnics
)

// text is what the menu says.
func (h Heading) text() string {
	return [...]string{"", "Board", "Timer", "Tonight", "Chemistry", "Air", "Record", "Equipment"}[h]
}

// If leaves an entry out where the place does not have what the page shows.
func (e Entry) If(there bool) Entry {
	if !there {
		return Entry{}
	}
	return e
}

// path is the address of a route; behind the address of its room for a page of a room.
func (r Route) path() (path string, ofRoom bool) {
	_, path, _ = strings.Cut(r.Pattern, " ")
	inRoom, ofRoom := strings.CutPrefix(path, "/rooms/{room}/")
	if ofRoom {
		return inRoom, true
	}
	return path, false
}
