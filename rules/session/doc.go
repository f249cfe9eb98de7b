// Package session frames an evening in a room: planned, set-up, open, take-down,
// closed. A session comes from the weekly calendar, from a form, or is noticed from
// what happens: the fan runs before a planned hour, trays are filled. While it lasts
// it counts how long trays stood uncovered, how much of that without proven flow,
// and for how much of it the flow was known at all.
//
// It is pure: evidence and the time go in, the session comes out.
package session
