package people_test

import (
	"errors"
	"net/netip"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/people"
	peoplepage "wetside/dashboard/people"
	"wetside/dashboard/web"
	"wetside/rules/access"
)

// app is a phone that shows codes.
type app struct {
	*site
	key string
}

func (a app) code() string {
	a.t.Helper()
	code, err := people.AppCode(a.key, a.clock.Now().Wall)
	require.NoError(a.t, err)
	return code
}

func (s *site) types(ticket, code string) (peoplepage.Login, error) {
	return s.SecondStep(s.t.Context(), peoplepage.CodeTry{Ticket: ticket, Code: code, From: far()})
}

// setsUp is somebody who sets up an app by the password, and the codes for a lost phone.
func (s *site) setsUp(name string) (a app, recovery []string) {
	s.t.Helper()
	in, err := s.SignIn(s.t.Context(), peoplepage.SignIn{Name: name, Password: password, From: far(), NewApp: true})
	require.NoError(s.t, err)
	require.Empty(s.t, in.Key, "no session before the code")
	require.NotNil(s.t, in.New)
	a = app{s, in.New.Key}
	in, err = s.types(in.Ticket, a.code())
	require.NoError(s.t, err)
	require.Len(s.t, in.Recovery, 10)
	require.NotEmpty(s.t, in.Key)
	s.clock.Advance(time.Minute)
	return a, in.Recovery
}

func TestWhoeverSetUpAnAppGivesACodeAfterThePassword(t *testing.T) {
	s := newSite(t)
	s.joined("Ida", access.Manager, "")
	phone, _ := s.setsUp("Ida")
	s.open()
	in, err := s.signIn("Ida", password)
	require.NoError(t, err)
	require.Empty(t, in.Key)
	require.Nil(t, in.New, "nobody who knows the password alone sets up another app")
	again, err := s.types(in.Ticket, "000000")
	require.ErrorContains(t, err, "that code is not valid")
	require.Equal(t, in.Ticket, again.Ticket, "it can be typed again")
	in, err = s.types(in.Ticket, phone.code())
	require.NoError(t, err)
	who, known := s.Known(web.Key{Session: in.Key})
	require.True(t, known)
	require.Equal(t, access.Manager, who.Role)
	require.Equal(t, []string{"person invited", "person joined", "second step set up", "signed in", "signed in"}, s.book.kinds())
	require.JSONEq(t, `{"from":"192.0.2.7","with":"password and code"}`, string(s.book.entries[4].Content))
}

func TestACodeOpensOneSessionAlone(t *testing.T) {
	s := newSite(t)
	s.joined("Ida", access.Manager, "")
	phone, _ := s.setsUp("Ida")
	for _, restart := range []bool{false, true} {
		code := phone.code()
		in, err := s.signIn("Ida", password)
		require.NoError(t, err)
		_, err = s.types(in.Ticket, code)
		require.NoError(t, err)
		_, err = s.types(in.Ticket, phone.code())
		require.ErrorContains(t, err, "sign in again from the start", "nor does the ticket open two")
		if restart {
			s.open()
		}
		in, err = s.signIn("Ida", password)
		require.NoError(t, err)
		_, err = s.types(in.Ticket, code)
		require.ErrorContains(t, err, "that code is not valid")
		s.clock.Advance(time.Minute)
	}
}

func TestARecoveryCodeSignsInOnce(t *testing.T) {
	s := newSite(t)
	s.joined("Ida", access.Manager, "")
	_, recovery := s.setsUp("Ida")
	kept, err := os.ReadFile(filepath.Join(s.dir, people.FileName))
	require.NoError(t, err)
	for _, code := range recovery {
		require.NotContains(t, string(kept), code)
	}
	for _, wrong := range []bool{false, true} {
		in, err := s.signIn("Ida", password)
		require.NoError(t, err)
		in, err = s.types(in.Ticket, recovery[2])
		require.Equal(t, wrong, err != nil)
		if !wrong {
			now, own := s.SecondStepOf(web.Key{Session: in.Key})
			require.True(t, own)
			require.Equal(t, 9, now.Left)
			require.JSONEq(t, `{"from":"192.0.2.7","with":"password and recovery code"}`, string(s.book.entries[len(s.book.entries)-1].Content))
		}
	}
}

func TestAnotherAppIsSetUpByACodeOfTheOneBefore(t *testing.T) {
	s := newSite(t)
	s.joined("Ida", access.Manager, "")
	before, recovery := s.setsUp("Ida")
	in, err := s.SignIn(t.Context(), peoplepage.SignIn{Name: "Ida", Password: password, From: far(), NewApp: true})
	require.NoError(t, err)
	require.Nil(t, in.New)
	in, err = s.types(in.Ticket, before.code())
	require.NoError(t, err)
	require.NotNil(t, in.New)
	require.Empty(t, in.Key)
	after := app{s, in.New.Key}
	in, err = s.types(in.Ticket, after.code())
	require.NoError(t, err)
	require.NotEmpty(t, in.Key)
	s.clock.Advance(time.Minute)
	in, err = s.signIn("Ida", password)
	require.NoError(t, err)
	for _, old := range []string{before.code(), recovery[0]} {
		_, err = s.types(in.Ticket, old)
		require.ErrorContains(t, err, "is not valid")
	}
	_, err = s.types(in.Ticket, after.code())
	require.NoError(t, err)
}

func TestWhereARoleNeedsACodeItIsSetUpAtTheNextSignIn(t *testing.T) {
	s := newSite(t)
	s.joined("Kim", access.Keeper, "2580")
	s.joined("Vera", access.Volunteer, "")
	before, err := s.signIn("Kim", password)
	require.NoError(t, err)
	s.demand = access.Keeper
	s.open()
	who, known := s.Known(web.Key{Session: before.Key})
	require.True(t, known)
	require.Equal(t, access.Instructor, who.Role, "who signed in without a code keeps nothing until the next sign-in")

	in, err := s.signIn("Kim", password)
	require.NoError(t, err)
	require.Empty(t, in.Key)
	phone := app{s, in.New.Key}
	_, err = s.types(in.Ticket, "123456")
	require.ErrorContains(t, err, "is not valid")
	in, err = s.types(in.Ticket, phone.code())
	require.NoError(t, err)
	who, _ = s.Known(web.Key{Session: in.Key})
	require.Equal(t, access.Keeper, who.Role)
	in, err = s.SignIn(t.Context(), peoplepage.SignIn{Name: "Kim", PIN: "2580", Here: true, From: netip.MustParseAddr("127.0.0.1")})
	require.NoError(t, err)
	who, _ = s.Known(web.Key{Session: in.Key, Here: true})
	require.Equal(t, access.Instructor, who.Role, "a PIN is no way around the code")
	in, err = s.signIn("Vera", password)
	require.NoError(t, err)
	require.NotEmpty(t, in.Key, "a volunteer is asked for nothing more")
}

func TestGuessingCodesHasToWaitLongerAndLonger(t *testing.T) {
	s := newSite(t)
	s.joined("Ida", access.Manager, "")
	phone, _ := s.setsUp("Ida")
	in, err := s.signIn("Ida", password)
	require.NoError(t, err)
	for range 5 {
		_, err = s.types(in.Ticket, "000000")
		require.ErrorContains(t, err, "is not valid")
	}
	in, err = s.signIn("Ida", password)
	require.NoError(t, err, "the password is not what was guessed")
	_, err = s.types(in.Ticket, phone.code())
	require.ErrorContains(t, err, "too many codes were wrong", "a right password does not begin the count anew")
	s.clock.Advance(time.Second)
	_, err = s.types(in.Ticket, phone.code())
	require.NoError(t, err)
}

func TestATicketIsOfNoUseLaterNorOnceTheAccountWasChanged(t *testing.T) {
	for name, change := range map[string]func(*site){
		"later":   func(s *site) { s.clock.Advance(10 * time.Minute) },
		"revoked": func(s *site) { require.NoError(t, s.Revoke(s.as("Kim", access.Keeper), "Ida")) },
		"reset": func(s *site) {
			_, err := s.Reset(s.as("Kim", access.Keeper), "Ida")
			require.NoError(t, err)
		},
	} {
		t.Run(name, func(t *testing.T) {
			s := newSite(t)
			s.joined("Ida", access.Manager, "")
			phone, _ := s.setsUp("Ida")
			in, err := s.signIn("Ida", password)
			require.NoError(t, err)
			change(s)
			out, err := s.types(in.Ticket, phone.code())
			require.ErrorContains(t, err, "sign in again from the start")
			require.Empty(t, out.Ticket)
		})
	}
	_, err := newSite(t).types("made up", "000000")
	require.Error(t, err)
}

func TestALostPhoneIsTakenOffByAKeeperOrOnTheCommandLine(t *testing.T) {
	for name, drop := range map[string]func(*site) error{
		"keeper": func(s *site) error { return s.DropSecondStep(s.as("Kim", access.Keeper), "Ida") },
		"command line": func(s *site) error {
			defer s.open()
			return people.NewDesk(s.dir, people.By{Name: "command line", At: s.clock.Now().Wall}).DropSecondStep(t.Context(), "Ida")
		},
	} {
		t.Run(name, func(t *testing.T) {
			s := newSite(t)
			s.joined("Ida", access.Manager, "")
			require.ErrorContains(t, drop(s), "signs in without a code")
			phone, _ := s.setsUp("Ida")
			in, err := s.signIn("Ida", password)
			require.NoError(t, err)
			in, err = s.types(in.Ticket, phone.code())
			require.NoError(t, err)
			require.NoError(t, drop(s))
			_, known := s.Known(web.Key{Session: in.Key})
			require.False(t, known)
			in, err = s.signIn("Ida", password)
			require.NoError(t, err)
			require.NotEmpty(t, in.Key)
		})
	}
}

// With a full disk people must still get at the alarms.
func TestACodeCountsOnceAlsoWhereNothingCanBeWritten(t *testing.T) {
	s := newSite(t)
	s.joined("Ida", access.Manager, "")
	phone, _ := s.setsUp("Ida")
	tickets := make([]string, 2)
	for i := range tickets {
		in, err := s.signIn("Ida", password)
		require.NoError(t, err)
		tickets[i] = in.Ticket
	}
	lock := filepath.Join(s.dir, "people.lock")
	require.NoError(t, errors.Join(os.Remove(lock), os.Mkdir(lock, 0o700))) // so that the file can't be changed
	_, err := s.types(tickets[0], phone.code())
	require.NoError(t, err)
	_, err = s.types(tickets[1], phone.code())
	require.ErrorContains(t, err, "is not valid")
}
