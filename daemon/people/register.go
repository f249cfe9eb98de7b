package people

import (
	"cmp"
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"wetside/daemon/history/disk"
	"wetside/rules/access"
	"wetside/rules/record"
	"wetside/sensors/quantity/phrase"
)

// register is who may sign in, as the file keeps it. Of every secret it holds only
// what a secret can be checked with.
type register struct {
	Accounts    []account    `json:"accounts"`
	Invitations []invitation `json:"invitations"`
	Tokens      []token      `json:"tokens"`
	House       []houseName  `json:"house,omitempty"`
	// Untold are acts that the record book does not have yet.
	Untold []note `json:"untold"`
}

type account struct {
	ID       string      `json:"id"`
	Name     string      `json:"name"`
	Role     access.Role `json:"role"`
	Password string      `json:"password"` // as [secret.String] writes it; empty until an invitation is taken up
	PIN      string      `json:"pin,omitempty"`
	Since    time.Time   `json:"since"`
	// Sites are those of a centre that its person may see.
	Sites access.Sites `json:"sites,omitempty"`
	// Epoch grows when every session of the account is to end.
	Epoch int `json:"epoch"`
	// SecondStep is nil where the password is enough.
	SecondStep *secondStep `json:"second_step,omitempty"`
}

// invitation lets its bearer choose a password, once: for a new account, or for the
// one that it names.
type invitation struct {
	Code    string       `json:"code"` // as [keyHash] gives it
	Name    string       `json:"name"`
	Role    access.Role  `json:"role"`
	Sites   access.Sites `json:"sites,omitempty"`
	Account string       `json:"account,omitempty"`
	Until   time.Time    `json:"until"`
}

// token lets a script in.
type token struct {
	Key   string    `json:"key"` // as [keyHash] gives it
	Name  string    `json:"name"`
	For   Purpose   `json:"for"`
	Since time.Time `json:"since"`
}

// note is an act on the register, for the record book.
type note struct {
	Kind    string      `json:"kind"`
	At      time.Time   `json:"at"`
	By      string      `json:"by"`
	ByRole  access.Role `json:"by_role,omitempty"`
	Content content     `json:"content"`
}

// content is what a record about people says. It never holds a secret.
type content struct {
	Name  string       `json:"name,omitempty"`
	Role  access.Role  `json:"role,omitempty"`
	For   Purpose      `json:"for,omitempty"`
	From  string       `json:"from,omitempty"`
	With  string       `json:"with,omitempty"`
	Sites access.Sites `json:"sites,omitempty"`
	// Tries is how many failed.
	Tries int `json:"tries,omitempty"`
}

// The kinds of record about people.
const (
	KindInvited      = "person invited"
	KindJoined       = "person joined"
	KindRoleChanged  = "role changed"
	KindSitesChanged = "sites changed"
	KindReset        = "password reset"
	KindRevoked      = "person revoked"
	KindTokenMade    = "token made"
	KindTokenRevoked = "token revoked"
	KindSignedIn     = "signed in"
	KindSignedOut    = "signed out"
	KindSignInFailed = "sign-in failed"

	KindSecondSetUp   = "second step set up"
	KindSecondDropped = "second step removed"
	KindLetInAgain    = "person let in again"
)

// Kinds declares the kinds of record about people. Whoever joins or signs in has no role yet.
func Kinds() []record.Kind {
	var kinds []record.Kind
	for _, name := range []string{KindInvited, KindRoleChanged, KindSitesChanged, KindReset, KindRevoked, KindSecondDropped, KindLetInAgain} {
		kinds = append(kinds, record.Kind{Name: name, Least: access.Keeper})
	}
	for _, name := range []string{KindTokenMade, KindTokenRevoked} {
		kinds = append(kinds, record.Kind{Name: name, Least: access.Manager})
	}
	for _, name := range []string{KindJoined, KindSignedIn, KindSignedOut, KindSignInFailed, KindSecondSetUp} {
		kinds = append(kinds, record.Kind{Name: name, Least: record.Program})
	}
	for i := range kinds {
		kinds[i].Decode, kinds[i].Recalled, kinds[i].Judges = record.JSON[content], record.Never, record.People
	}
	return kinds
}

// Purpose is what a token opens.
type Purpose string

// The purposes of a token.
const (
	ForMetrics  Purpose = "metrics"  // the metrics alone
	ForPrograms Purpose = "programs" // the answers to programs alone: /api/now and the others
	ForReading  Purpose = "reading"  // the pages too, to look at
	ForActing   Purpose = "acting"   // the forms too, as a volunteer
)

// Purposes lists the purposes, the narrowest first.
func Purposes() []Purpose { return []Purpose{ForMetrics, ForPrograms, ForReading, ForActing} }

func (p Purpose) readsOnly() bool { return p != ForActing }

// Label says what a script with such a token does.
func (p Purpose) Label() string {
	return cmp.Or(map[Purpose]string{ForMetrics: "opens the metrics alone",
		ForPrograms: "reads what is meant for programs, under /api/, and changes nothing",
		ForReading:  "reads the pages and changes nothing"}[p], "acts as a volunteer")
}

func parsePurpose(text string) (Purpose, error) {
	if slices.Contains(Purposes(), Purpose(text)) {
		return Purpose(text), nil
	}
	return "", phrase.Errorf("%q is no purpose of a token: expected metrics, programs, reading or acting", text)
}

// By is who changes the register, and when.
type By struct {
	Name string
	Role access.Role
	At   time.Time
}

const (
	longestName   = 60
	invitationFor = 3 * 24 * time.Hour
)

// tidyName gives a name as it is kept, or says what is wrong with it.
func tidyName(text string) (string, error) {
	name := norm.NFC.String(strings.Join(strings.Fields(text), " "))
	switch {
	case name == "":
		return "", phrase.Errorf("a name is missing: write it as the others know it")
	case utf8.RuneCountInString(name) > longestName:
		return "", phrase.Errorf("this name is too long: expected at most %d characters", longestName)
	case !utf8.ValidString(text) || strings.ContainsFunc(name, func(r rune) bool { return !unicode.IsGraphic(r) }):
		return "", phrase.Errorf("this name contains characters that can't be displayed: use letters")
	}
	return name, nil
}

// folded is a name as it is compared.
func folded(name string) string {
	return strings.ToLower(norm.NFKC.String(strings.Join(strings.Fields(name), " ")))
}

func (r *register) note(kind string, by By, c content) {
	r.Untold = append(r.Untold, note{Kind: kind, At: by.At, By: by.Name, ByRole: by.Role, Content: c})
}

// find gives the account of a name; nil when there is none.
func (r *register) find(name string) *account {
	return only(r.Accounts, func(a account) bool { return folded(a.Name) == folded(name) })
}

func (r *register) byID(id string) *account {
	return only(r.Accounts, func(a account) bool { return a.ID == id })
}

// only gives the one of a list that is meant, to be changed there; nil where there is none.
func only[T any](list []T, meant func(T) bool) *T {
	if at := slices.IndexFunc(list, meant); at >= 0 {
		return &list[at]
	}
	return nil
}

// FileName is the name of the file of people in the data folder. It is not part of
// a backup: whoever restores one invites people again, or copies this file by itself.
const FileName = "people.json"

// lockWithin is how long another program may take to change the file.
const lockWithin = 5 * time.Second

// load reads a register; a file that is not there is an empty one.
func load(dir string) (*register, error) {
	r := &register{}
	return r, readJSON(filepath.Join(dir, FileName), r)
}

// readJSON reads a file of ours; one that is not there leaves v as it is.
func readJSON(path string, v any) error {
	data, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err == nil {
		err = json.Unmarshal(data, v)
	}
	if err != nil {
		return phrase.Errorf("the file %s can't be read: restore a copy of it, or move it away and invite people again: %w", path,
			hideContent(err))
	}
	return nil
}

// hideContent keeps what stands in a file out of the error about it.
func hideContent(err error) error {
	if at := new(json.SyntaxError); errors.As(err, &at) {
		return phrase.Errorf("it is not valid JSON from byte %d on", at.Offset)
	}
	if at := new(json.UnmarshalTypeError); errors.As(err, &at) {
		return phrase.Errorf("the value at byte %d is not of the expected kind", at.Offset)
	}
	return err
}

// writeJSON puts a file of ours in the place of the one before: whole, on disk, and
// readable by this user alone.
func writeJSON(path string, v any) error {
	data, err := json.MarshalIndent(v, "", "  ")
	if err != nil {
		return phrase.Errorf("%s can't be written: %w", path, err)
	}
	if err := disk.WriteBytes(path, 0o600, append(data, '\n')); err != nil {
		return phrase.Errorf("%s can't be written: check the disk and who owns the folder: %w", path, err)
	}
	return nil
}

// change reads the register, lets it be changed, and keeps it, one program at a time.
func change(dir string, f func(*register) error) (*register, error) {
	if err := os.MkdirAll(dir, 0o750); err != nil {
		return nil, phrase.Errorf("the data folder can't be made: %w", err)
	}
	lock, err := os.OpenFile(filepath.Join(dir, "people.lock"), os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, phrase.Errorf("the file of people can't be changed: %w", err)
	}
	defer lock.Close() // which gives the lock back
	for end := time.Now().Add(lockWithin); ; time.Sleep(20 * time.Millisecond) {
		taken, err := disk.Lock(lock)
		if err != nil {
			return nil, phrase.Errorf("the file of people can't be locked: %w", err)
		}
		if taken {
			break
		}
		if time.Now().After(end) {
			return nil, phrase.Errorf("another program is changing the file of people: try again")
		}
	}
	r, err := load(dir)
	if err == nil {
		err = f(r)
	}
	if err == nil {
		err = writeJSON(filepath.Join(dir, FileName), r)
	}
	return r, err
}
