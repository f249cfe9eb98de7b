package viewtest

import (
	"wetside/dashboard"
	"wetside/rules/access"
)

// Door is an invented door. Whoever shows the name of a role as session or token
// is let in with that role.
type Door struct{}

var _ dashboard.Door = (*Door)(nil)

// MeterToken is the one token that opens the metrics.
const MeterToken = "meter"

// NewDoor is a door behind which nobody is signed in yet.
func NewDoor() *Door { return &Door{} }

// Known gives Ida in the role that is shown, or a script that reads.
func (d *Door) Known(k dashboard.Key) (access.Person, bool) {
	if k.Token == string(access.Reader) {
		return access.Person{Name: "Invented script", Role: access.Reader}, true
	}
	role, err := access.ParseRole(k.Session + k.Token)
	return access.Person{Name: "Ida", Role: role}, err == nil
}

// Measures knows one token.
func (d *Door) Measures(token string) bool { return token == MeterToken }
