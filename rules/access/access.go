// Package access says who a person is and how much they may do. A role covers
// every role below it.
package access

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"slices"
	"strings"

	"wetside/sensors/quantity/phrase"
)

// Role is how much somebody may do.
type Role string

// The roles, from the one that may least.
const (
	// Reader is a script that may read the pages and change nothing.
	Reader Role = "reader"
	// Volunteer keeps the trays of an evening.
	Volunteer Role = "volunteer"
	// Instructor answers for a class.
	Instructor Role = "instructor"
	// Manager answers for the place: its duties, its reports, alarms out of service.
	Manager Role = "manager"
	// Keeper answers for the program and for who may use it.
	Keeper Role = "keeper"
)

func (r Role) Said() phrase.Sentence { return phrase.Plain(string(r)) }

// Roles are those that a person can have, from the one that may least.
func Roles() []Role { return []Role{Volunteer, Instructor, Manager, Keeper} }

// ParseRole reads the role of a person.
func ParseRole(text string) (Role, error) {
	if slices.Contains(Roles(), Role(text)) {
		return Role(text), nil
	}
	return "", phrase.Errorf("%q is not a role: expected volunteer, instructor, manager or keeper", text)
}

// Covers says whether whoever has this role may do what asks for at least another.
// A role that is not known covers nothing and is covered by nothing.
func (r Role) Covers(least Role) bool { return least.rank() > 0 && r.rank() >= least.rank() }

func (r Role) rank() int {
	return 1 + slices.Index([]Role{Reader, Volunteer, Instructor, Manager, Keeper}, r)
}

// Person is somebody who signed in, or a script with a token.
type Person struct {
	Name string
	Role Role
	// Sites are those of a centre that the person may see.
	Sites Sites
}

type key struct{}

// With carries the person who asks along with what they ask for.
func With(ctx context.Context, p Person) context.Context { return context.WithValue(ctx, key{}, p) }

// From gives the person who asks; ok is false where nobody signs in.
func From(ctx context.Context) (p Person, ok bool) {
	p, ok = ctx.Value(key{}).(Person)
	return p, ok
}

// RoleOf is the role of whoever asks; empty where nobody signs in.
func RoleOf(ctx context.Context) Role {
	who, _ := From(ctx)
	return who.Role
}

// Allow is nil where whoever asks may do what is for at least a role. Where nobody
// signs in, everybody on this computer may.
func Allow(ctx context.Context, least Role) error {
	if who, signedIn := From(ctx); signedIn && !who.Role.Covers(least) {
		return phrase.Errorf("this is for the role %s or one above it: ask somebody who has it", least)
	}
	return nil
}

// Form stands for one form as it was sent: a digest of its token and one of its content.
// It is kept with the record that the form led to, so that the same form sent again, also
// after a restart, leads to no second record.
type Form string

// FormOf is the form with a token and a content.
func FormOf(token, content string) Form { return Form(digest(token) + "-" + digest(content)) }

// Of says whether the form was sent with a token.
func (f Form) Of(token string) bool { return strings.HasPrefix(string(f), digest(token)+"-") }

func digest(text string) string {
	sum := sha256.Sum256([]byte(text))
	return hex.EncodeToString(sum[:16])
}

type formKey struct{}

// WithForm carries the form along with what it asks for.
func WithForm(ctx context.Context, f Form) context.Context {
	return context.WithValue(ctx, formKey{}, f)
}

// FormFrom gives the form by which something was asked for; empty where it came by none.
func FormFrom(ctx context.Context) Form {
	f, _ := ctx.Value(formKey{}).(Form)
	return f
}
