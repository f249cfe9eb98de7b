package people_test

import (
	"context"
	"encoding/json"
	"errors"
	"net/netip"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"
	"go.uber.org/zap"
	"go.uber.org/zap/zaptest/observer"

	"wetside/daemon/history"
	"wetside/daemon/house"
	"wetside/daemon/people"
	peoplepage "wetside/dashboard/people"
	"wetside/dashboard/web"
	"wetside/rules/access"
	"wetside/sensors/clocktest"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// book keeps what it is told, and may be broken.
type book struct {
	mu      sync.Mutex
	entries []history.Entry
	broken  error
}

func (b *book) Record(_ context.Context, e history.Entry) (history.Record, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.broken == nil {
		b.entries = append(b.entries, e)
	}
	return history.Record{}, b.broken
}

func (b *book) set(err error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.broken = err
}

func (b *book) kinds() []string {
	b.mu.Lock()
	defer b.mu.Unlock()
	var kinds []string
	for _, e := range b.entries {
		kinds = append(kinds, e.Kind)
	}
	return kinds
}

const password = "four invented words"

// site is the door of an invented place.
type site struct {
	*people.Roster
	t     *testing.T
	dir   string
	clock *clocktest.Manual
	book  *book
	log   *observer.ObservedLogs
	// demand is the role from which on a code is asked for at the next open.
	demand access.Role
	house  *house.Options // nil for none
}

// cheap makes a test quick; the cost stands in what is kept.
func cheap() people.Cost { return people.Cost{Memory: 64, Time: 1, Lanes: 1} }

func newSite(t *testing.T) *site {
	t.Helper()
	s := &site{t: t, dir: t.TempDir(), clock: clocktest.New(time.Date(2026, 9, 1, 18, 0, 0, 0, time.UTC)), book: &book{}}
	s.open()
	return s
}

// open opens the roster, as a start of the program does.
func (s *site) open() {
	s.t.Helper()
	core, log := observer.New(zap.DebugLevel)
	var err error
	s.log = log
	o := people.Options{Dir: s.dir, Lasting: 12 * time.Hour, Cost: cheap(), Book: s.book, Clock: s.clock,
		SecondStep: s.demand, Log: zap.New(core)}
	if s.house != nil {
		o.House = house.New(*s.house, s.clock)
		s.t.Cleanup(o.House.Close)
	}
	s.Roster, err = people.Open(o)
	require.NoError(s.t, err)
}

// joined makes an account with a password and perhaps a PIN.
func (s *site) joined(name string, role access.Role, pin string) {
	s.t.Helper()
	code, err := s.Invite(s.as("Kim", access.Keeper), access.Person{Name: name, Role: role})
	require.NoError(s.t, err)
	require.NoError(s.t, s.Join(s.t.Context(), peoplepage.Joining{Code: code, Password: password, Again: password, PIN: pin}))
}

func (s *site) as(name string, role access.Role) context.Context {
	return access.With(s.t.Context(), access.Person{Name: name, Role: role})
}

func far() netip.Addr { return netip.MustParseAddr("192.0.2.7") }

func (s *site) signIn(name, secret string) (peoplepage.Login, error) {
	return s.SignIn(s.t.Context(), peoplepage.SignIn{Name: name, Password: secret, From: far()})
}

func TestSomebodyIsInvitedJoinsSignsInActsAndSignsOut(t *testing.T) {
	s := newSite(t)
	s.joined("Ida Example", access.Instructor, "")
	in, err := s.signIn("  ida   EXAMPLE ", password)
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(in.Key), 43, "32 bytes of chance")
	who, known := s.Known(web.Key{Session: in.Key})
	require.True(t, known)
	require.Equal(t, access.Person{Name: "Ida Example", Role: access.Instructor}, who)
	s.SignOut(t.Context(), web.Key{Session: in.Key})
	_, known = s.Known(web.Key{Session: in.Key})
	require.False(t, known)
	require.Equal(t, []string{"person invited", "person joined", "signed in", "signed out"}, s.book.kinds())
	require.Equal(t, "Ida Example", s.book.entries[2].Person)
	require.Equal(t, "instructor", s.book.entries[2].Role)
	require.JSONEq(t, `{"from":"192.0.2.7","with":"password"}`, string(s.book.entries[2].Content))
}

func TestAnInvitationWorksOnceAndNotForever(t *testing.T) {
	s := newSite(t)
	code, err := s.Invite(t.Context(), access.Person{Name: "Ida", Role: access.Volunteer})
	require.NoError(t, err)
	typed := strings.ToLower(strings.ReplaceAll(code, "-", " "))
	who, err := s.Invited(typed)
	require.NoError(t, err)
	require.Equal(t, "Ida", who.Name)
	join := peoplepage.Joining{Code: typed, Password: password, Again: password}
	require.NoError(t, s.Join(t.Context(), join))
	require.ErrorContains(t, s.Join(t.Context(), join), "not known, is used up, or is too old")

	late, err := s.Invite(t.Context(), access.Person{Name: "Late", Role: access.Volunteer})
	require.NoError(t, err)
	s.clock.Advance(73 * time.Hour)
	_, err = s.Invited(late)
	require.ErrorContains(t, err, "too old")
}

// TestWhoLostTheCodeOfAnInvitationGetsAnother: the page offers a new password for somebody who has none yet.
func TestWhoLostTheCodeOfAnInvitationGetsAnother(t *testing.T) {
	s := newSite(t)
	lost, err := s.Invite(t.Context(), access.Person{Name: "Ida", Role: access.Instructor})
	require.NoError(t, err)
	code, err := s.Reset(t.Context(), "ida")
	require.NoError(t, err)
	_, err = s.Invited(lost)
	require.ErrorContains(t, err, "not known, is used up, or is too old")
	require.ErrorContains(t, s.ShowSites(t.Context(), access.Person{Name: "Ida"}), "who has not joined yet is invited again")
	require.NoError(t, s.Join(t.Context(), peoplepage.Joining{Code: code, Password: password, Again: password}))
	require.Equal(t, access.Instructor, s.People()[0].Role)
}

func TestABadPasswordOrPINIsRefusedAndTheInvitationStays(t *testing.T) {
	s := newSite(t)
	code, err := s.Invite(t.Context(), access.Person{Name: "Ida", Role: access.Volunteer})
	require.NoError(t, err)
	for want, j := range map[string]peoplepage.Joining{
		"has 5 characters":   {Password: "short", Again: "short"},
		"contains your name": {Password: "ida was here today", Again: "ida was here today"},
		"passwords differ":   {Password: password, Again: password + "."},
		"is 4 to 8 digits":   {Password: password, Again: password, PIN: "12a4"},
		"too easy to guess":  {Password: password, Again: password, PIN: "4444"},
		"too easy to guess:": {Password: password, Again: password, PIN: "3456"},
	} {
		j.Code = code
		require.ErrorContains(t, s.Join(t.Context(), j), want)
	}
	require.NoError(t, s.Join(t.Context(), peoplepage.Joining{Code: code, Password: password, Again: password, PIN: "2580"}))
}

func TestASessionEndsByTimeRevocationResetAndAtNoRestart(t *testing.T) {
	for name, end := range map[string]func(*site){
		"time":    func(s *site) { s.clock.Advance(12 * time.Hour) },
		"revoked": func(s *site) { require.NoError(t, s.Revoke(s.as("Kim", access.Keeper), "Ida")) },
		"reset": func(s *site) {
			_, err := s.Reset(s.as("Kim", access.Keeper), "Ida")
			require.NoError(t, err)
		},
	} {
		t.Run(name, func(t *testing.T) {
			s := newSite(t)
			s.joined("Ida", access.Volunteer, "")
			in, err := s.signIn("Ida", password)
			require.NoError(t, err)
			s.open()
			_, known := s.Known(web.Key{Session: in.Key})
			require.True(t, known, "a restart signs nobody out")
			end(s)
			_, known = s.Known(web.Key{Session: in.Key})
			require.False(t, known)
			s.open()
			_, known = s.Known(web.Key{Session: in.Key})
			require.False(t, known)
		})
	}
}

func TestAChangeOfRoleHoldsAtOnce(t *testing.T) {
	s := newSite(t)
	s.joined("Ida", access.Manager, "")
	in, err := s.signIn("Ida", password)
	require.NoError(t, err)
	require.NoError(t, s.ChangeRole(s.as("Kim", access.Keeper), access.Person{Name: "Ida", Role: access.Volunteer}))
	who, _ := s.Known(web.Key{Session: in.Key})
	require.Equal(t, access.Volunteer, who.Role)
}

func TestTheSitesOfACentreComeWithTheInvitationAndChangeAtOnce(t *testing.T) {
	s := newSite(t)
	code, err := s.Invite(t.Context(), access.Person{Name: "Ida", Role: access.Manager, Sites: "building Library"})
	require.NoError(t, err)
	require.NoError(t, s.Join(t.Context(), peoplepage.Joining{Code: code, Password: password, Again: password}))
	in, err := s.signIn("Ida", password)
	require.NoError(t, err)
	who, _ := s.Known(web.Key{Session: in.Key})
	require.Equal(t, access.Sites("building Library"), who.Sites)
	require.NoError(t, s.ShowSites(s.as("Kim", access.Keeper), access.Person{Name: "Ida", Sites: "site Annex"}))
	who, _ = s.Known(web.Key{Session: in.Key})
	require.Equal(t, access.Sites("site Annex"), who.Sites)
	last := s.book.entries[len(s.book.entries)-1]
	require.Equal(t, people.KindSitesChanged, last.Kind)
	require.JSONEq(t, `{"name":"Ida","sites":"site Annex"}`, string(last.Content))
	require.Error(t, s.ShowSites(t.Context(), access.Person{Name: "Nobody"}))
	s.joined("Bo", access.Manager, "")
	in, err = s.signIn("Bo", password)
	require.NoError(t, err)
	who, _ = s.Known(web.Key{Session: in.Key})
	require.Empty(t, who.Sites, "who was promised none sees none")
}

func TestTheLastKeeperStays(t *testing.T) {
	s := newSite(t)
	s.joined("Kim", access.Keeper, "")
	require.ErrorContains(t, s.Revoke(t.Context(), "Kim"), "last keeper")
	require.ErrorContains(t, s.ChangeRole(t.Context(), access.Person{Name: "Kim", Role: access.Manager}), "last keeper")
	s.joined("Kai", access.Keeper, "")
	require.NoError(t, s.Revoke(t.Context(), "Kim"))
}

func TestAPINCountsOnTheLabComputerAlone(t *testing.T) {
	s := newSite(t)
	s.joined("Ida", access.Volunteer, "2580")
	require.Equal(t, []string{"Ida"}, s.Quick())
	_, err := s.SignIn(t.Context(), peoplepage.SignIn{Name: "Ida", PIN: "2580", From: far()})
	require.ErrorContains(t, err, "on the lab computer alone")
	in, err := s.SignIn(t.Context(), peoplepage.SignIn{Name: "Ida", PIN: "2580", Here: true, From: netip.MustParseAddr("127.0.0.1")})
	require.NoError(t, err)
	_, known := s.Known(web.Key{Session: in.Key, Here: true})
	require.True(t, known)
	_, known = s.Known(web.Key{Session: in.Key})
	require.False(t, known, "a session that a PIN began is of no use elsewhere")
}

func TestGuessingHasToWaitLongerAndLonger(t *testing.T) {
	s := newSite(t)
	s.joined("Ida", access.Volunteer, "")
	for range 5 {
		_, err := s.signIn("Ida", "wrong")
		require.ErrorContains(t, err, "do not belong together")
	}
	for _, wait := range []time.Duration{time.Second, 2 * time.Second, 4 * time.Second, 8 * time.Second} {
		s.clock.Advance(wait - time.Millisecond)
		_, err := s.signIn("Ida", password)
		require.ErrorContains(t, err, "too many tries failed", "not even the right one is looked at")
		s.clock.Advance(time.Millisecond)
		_, err = s.signIn("Ida", "wrong")
		require.ErrorContains(t, err, "do not belong together")
	}
	s.clock.Advance(16 * time.Second)
	_, err := s.signIn("Ida", password)
	require.NoError(t, err)
	_, err = s.signIn("Ida", "wrong")
	require.ErrorContains(t, err, "do not belong together", "the account begins anew, its address has tries left")
}

func TestGuessingFromAfarLocksNobodyOutOfTheLabComputer(t *testing.T) {
	s := newSite(t)
	s.joined("Ida", access.Volunteer, "")
	for range 20 {
		_, err := s.signIn("Ida", "wrong")
		require.Error(t, err)
	}
	_, err := s.SignIn(t.Context(), peoplepage.SignIn{Name: "Ida", Password: password, Here: true, From: netip.MustParseAddr("::1")})
	require.NoError(t, err)
}

// A proxy on the lab computer has the address of the lab computer.
func TestGuessingThroughAProxyLocksNobodyOutOfTheLabComputer(t *testing.T) {
	s := newSite(t)
	s.joined("Ida", access.Volunteer, "")
	here := netip.MustParseAddr("127.0.0.1")
	for i := range 40 {
		_, err := s.SignIn(t.Context(), peoplepage.SignIn{Name: "Ida" + strings.Repeat("x", i%2), Password: "wrong", From: here})
		require.Error(t, err)
	}
	_, err := s.SignIn(t.Context(), peoplepage.SignIn{Name: "Ida", Password: password, Here: true, From: here})
	require.NoError(t, err)
}

func TestGuessingFromOneAddressLocksNobodyOutOfAnother(t *testing.T) {
	s := newSite(t)
	s.joined("Ida", access.Volunteer, "")
	from := func(address, given string) error {
		_, err := s.SignIn(t.Context(), peoplepage.SignIn{Name: "Ida", Password: given, From: netip.MustParseAddr(address)})
		return err
	}
	for range 20 {
		require.Error(t, from("198.51.100.7", "wrong"))
	}
	require.ErrorContains(t, from("198.51.100.7", password), "too many tries failed")
	require.NoError(t, from("192.0.2.9", password))
}

func TestOneAddressGuessingManyNamesHasToWaitToo(t *testing.T) {
	s := newSite(t)
	for i := range 21 {
		_, err := s.signIn("Nobody "+strings.Repeat("x", i), "wrong")
		require.Error(t, err)
	}
	_, err := s.signIn("Somebody else", "wrong")
	require.ErrorContains(t, err, "too many tries failed")
}

func TestFailedTriesAreRecordedTogetherAndAnUnknownNameNever(t *testing.T) {
	s := newSite(t)
	s.joined("Ida", access.Volunteer, "")
	for range 3 {
		_, err := s.signIn("Ida", "wrong guess")
		require.Error(t, err)
	}
	_, err := s.signIn("my secret word typed into the wrong field", "")
	require.Error(t, err)
	s.clock.Advance(2 * time.Minute)
	_, err = s.signIn("Ida", password)
	require.NoError(t, err)
	failed := slices.DeleteFunc(slices.Clone(s.book.entries), func(e history.Entry) bool { return e.Kind != people.KindSignInFailed })
	require.Len(t, failed, 2)
	require.Equal(t, "Ida", failed[0].Person)
	require.JSONEq(t, `{"from":"192.0.2.7","tries":3}`, string(failed[0].Content))
	require.Empty(t, failed[1].Person)
}

func TestTokensOpenWhatTheyAreForAndNothingElse(t *testing.T) {
	s := newSite(t)
	desk := people.NewDesk(s.dir, people.By{Name: "command line", At: s.clock.Now().Wall})
	keys := map[people.Purpose]string{}
	for _, purpose := range people.Purposes() {
		var err error
		keys[purpose], err = desk.MakeToken(t.Context(), "script for "+string(purpose), purpose)
		require.NoError(t, err)
	}
	s.open()
	for purpose, want := range map[people.Purpose]access.Role{people.ForMetrics: "", people.ForPrograms: "",
		people.ForReading: access.Reader, people.ForActing: access.Volunteer} {
		who, known := s.Known(web.Key{Token: keys[purpose]})
		require.Equal(t, want, who.Role)
		require.Equal(t, want != "", known)
		require.Equal(t, purpose == people.ForMetrics, s.Measures(keys[purpose]))
		require.Equal(t, purpose == people.ForPrograms, s.ReadsPrograms(keys[purpose]))
	}
	require.NoError(t, s.Revoke(t.Context(), "script for reading"))
	_, known := s.Known(web.Key{Token: keys[people.ForReading]})
	require.False(t, known)
	_, known = s.Known(web.Key{Token: "guessed"})
	require.False(t, known)
	require.False(t, s.Measures(""))
}

// TestAPageMakesTokensThatChangeNothing also takes away nothing but tokens: a manager must not
// take a keeper's account away on the page of programs.
func TestAPageMakesTokensThatChangeNothing(t *testing.T) {
	s := newSite(t)
	s.open()
	for _, scope := range s.Scopes() {
		key, err := s.MakeToken(t.Context(), "program for "+scope.Name, scope.Name)
		require.NoError(t, err)
		who, _ := s.Known(web.Key{Token: key})
		require.False(t, who.Role.Covers(access.Volunteer), scope.Name)
	}
	require.Len(t, s.Scopes(), 3)
	_, err := s.MakeToken(t.Context(), "program that acts", string(people.ForActing))
	require.ErrorContains(t, err, "on the command line")
	_, err = s.Invite(t.Context(), access.Person{Name: "Nora", Role: access.Volunteer})
	require.NoError(t, err)
	require.Error(t, s.RevokeToken(t.Context(), "Nora"))
	require.NoError(t, s.RevokeToken(t.Context(), "program for metrics"))
	require.Len(t, s.People(), 3)
}

func TestTheCommandLineIsTakenOverByADaemonThatRuns(t *testing.T) {
	s := newSite(t)
	ctx, stop := context.WithCancel(t.Context())
	var running sync.WaitGroup
	running.Go(func() { s.Run(ctx) })
	defer running.Wait()
	defer stop()
	desk := people.NewDesk(s.dir, people.By{Name: "command line", At: s.clock.Now().Wall})
	code, err := desk.Invite(t.Context(), access.Person{Name: "Kim", Role: access.Keeper})
	require.NoError(t, err)
	require.Eventually(t, func() bool {
		s.clock.Advance(2 * time.Second)
		_, err := s.Invited(code)
		return err == nil && slices.Contains(s.book.kinds(), people.KindInvited)
	}, 5*time.Second, 5*time.Millisecond)
	list, err := desk.List()
	require.NoError(t, err)
	require.Len(t, list, 1)
	require.Equal(t, "command line", s.book.entries[0].Person)
}

func TestWhatTheBookCouldNotTakeIsRecordedLaterAndOnce(t *testing.T) {
	s := newSite(t)
	s.book.set(errors.New("the disk is full"))
	s.joined("Ida", access.Volunteer, "")
	in, err := s.signIn("Ida", password)
	require.NoError(t, err, "a full disk of the history keeps nobody out")
	require.Empty(t, s.book.kinds())
	s.open()
	s.book.set(nil)
	s.SignOut(t.Context(), web.Key{Session: in.Key})
	require.Subset(t, s.book.kinds(), []string{people.KindInvited, people.KindJoined, people.KindSignedOut},
		"the file kept them over a restart")
	before := len(s.book.kinds())
	s.SignOut(t.Context(), web.Key{Session: in.Key})
	require.Len(t, s.book.kinds(), before)
}

// TestNoSecretIsInAnyFileRecordOrLog looks for every secret that was in play.
func TestNoSecretIsInAnyFileRecordOrLog(t *testing.T) {
	s := newSite(t)
	code, err := s.Invite(s.as("Kim", access.Keeper), access.Person{Name: "Ida", Role: access.Volunteer})
	require.NoError(t, err)
	require.NoError(t, s.Join(t.Context(), peoplepage.Joining{Code: code, Password: password, Again: password, PIN: "25809631"}))
	in, err := s.signIn("Ida", password)
	require.NoError(t, err)
	_, err = s.signIn("Ida", "a wrong invented guess")
	require.Error(t, err)
	require.NotContains(t, err.Error(), "invented")
	reset, err := s.Reset(t.Context(), "Ida")
	require.NoError(t, err)
	token, err := people.NewDesk(s.dir, people.By{}).MakeToken(t.Context(), "script", people.ForActing)
	require.NoError(t, err)
	s.clock.Advance(time.Hour)
	s.open()
	s.SignOut(t.Context(), web.Key{})

	var told strings.Builder
	records, err := json.Marshal(s.book.entries)
	require.NoError(t, err)
	told.Write(records)
	for _, e := range s.log.All() {
		line, err := json.Marshal(e.ContextMap())
		require.NoError(t, err)
		told.WriteString(e.Message + string(line))
	}
	files, err := os.ReadDir(s.dir)
	require.NoError(t, err)
	for _, f := range files {
		text, err := os.ReadFile(filepath.Join(s.dir, f.Name()))
		require.NoError(t, err)
		told.Write(text)
		info, err := f.Info()
		require.NoError(t, err)
		require.Zero(t, info.Mode().Perm()&0o077, "%s can be read by others", f.Name())
	}
	for _, secret := range []string{password, "25809631", in.Key, code, reset, token, strings.ReplaceAll(code, "-", ""),
		strings.ReplaceAll(reset, "-", ""), "wrong invented guess"} {
		require.NotContains(t, told.String(), secret)
	}
	require.NotContains(t, string(records), "argon2id", "no hash leaves the file")
}

func TestADamagedFileIsToldWithoutWhatStandsInIt(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, people.FileName), []byte(`{"accounts":[{"name":"Ida","password":"$argon2id$abc"`),
		0o600))
	_, err := people.Open(people.Options{Dir: dir, Cost: cheap(), Book: &book{}, Clock: clocktest.New(time.Now()), Log: zap.NewNop()})
	require.ErrorContains(t, err, "can't be read: restore a copy of it")
	require.NotContains(t, err.Error(), "argon2id")
}
