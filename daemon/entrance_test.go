package daemon_test

import (
	"bytes"
	"context"
	"crypto/tls"
	"errors"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/zap"
	"go.uber.org/zap/zapcore"

	"wetside/daemon"
	"wetside/daemon/history"
	"wetside/daemon/people"
	"wetside/rules/access"
)

func TestNothingIsShownOnTheNetworkWhereNobodySignsIn(t *testing.T) {
	for _, listen := range []string{":8420", "0.0.0.0:8420", "[::]:8420", "192.0.2.1:8420", "darkroom.example.org:8420"} {
		o := options(t)
		o.Config.Listen = listen
		_, err := daemon.New(t.Context(), o)
		require.ErrorContains(t, err, "write sign-in = true under [access]", listen)
		_, err = os.Stat(o.Config.Data)
		require.True(t, errors.Is(err, os.ErrNotExist), "nothing was made before the refusal")
	}
}

// visitor is a browser without script.
type visitor struct {
	t    *testing.T
	base string
	http.Client
}

func newVisitor(t *testing.T, base string) *visitor {
	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	// The certificate was made by the program itself a moment ago.
	transport := &http.Transport{TLSClientConfig: &tls.Config{InsecureSkipVerify: true}}
	t.Cleanup(transport.CloseIdleConnections)
	return &visitor{t, base, http.Client{Jar: jar, Transport: transport, Timeout: 20 * time.Second}}
}

func (v *visitor) page(r *http.Response, err error) (int, string) {
	v.t.Helper()
	require.NoError(v.t, err)
	defer r.Body.Close()
	text, err := io.ReadAll(r.Body)
	require.NoError(v.t, err)
	return r.StatusCode, string(text)
}

func (v *visitor) get(path string) (int, string) { return v.page(v.Get(v.base + path)) }

func (v *visitor) post(path string, form url.Values) (int, string) {
	return v.page(v.PostForm(v.base+path, form))
}

// TestOnTheNetworkPeopleSignInAndActInTheirRole goes through the whole program: a
// listener beyond this computer, TLS, an invitation, a sign-in, an act and its record.
func TestOnTheNetworkPeopleSignInAndActInTheirRole(t *testing.T) {
	o := options(t)
	var log bytes.Buffer
	core := zapcore.NewCore(zapcore.NewJSONEncoder(zap.NewProductionEncoderConfig()), zapcore.Lock(zapcore.AddSync(&log)), zap.DebugLevel)
	o.Log = zap.New(core)
	o.Config.Listen, o.Config.Access.SignIn = "0.0.0.0:0", true
	code, err := people.Desk{Dir: o.Config.Data, By: people.By{Name: "command line", At: time.Now()}}.Invite(access.Person{Name: "Ida Example", Role: access.Volunteer})
	require.NoError(t, err)
	ctx, end := context.WithCancel(context.Background())
	d, err := daemon.New(t.Context(), o)
	require.NoError(t, err)
	ended := make(chan error, 1)
	go func() { ended <- d.Run(ctx) }()
	require.True(t, strings.HasPrefix(d.URL(), "https://"), d.URL())
	base, err := url.Parse(d.URL())
	require.NoError(t, err)
	v := newVisitor(t, "https://127.0.0.1:"+base.Port())

	status, text := v.get("/")
	require.Equal(t, http.StatusUnauthorized, status)
	require.Contains(t, text, "Sign in")
	const password = "four invented words"
	_, text = v.post("/join", url.Values{"code": {code}, "password": {password}, "again": {password}})
	require.Contains(t, text, "Password saved.")
	status, text = v.post("/sign-in", url.Values{"name": {"Ida Example"}, "password": {password}, "next": {"/rooms/darkroom/baths"}})
	require.Equal(t, http.StatusOK, status)
	require.Contains(t, text, "Ida Example, volunteer")
	status, text = v.post("/rooms/darkroom/air", url.Values{"act": {"complain"}, "complaint": {"smells of fixer"}, "who": {"Somebody Else"}, "token": {"ABCDEFGHIJKLMNOPQRSTUVWXYZ"}})
	require.Equal(t, http.StatusOK, status, text)
	status, _ = v.get("/people")
	require.Equal(t, http.StatusForbidden, status)
	status, text = v.post("/sign-out", nil)
	require.Equal(t, http.StatusOK, status, text)
	status, _ = v.get("/rooms/darkroom/baths")
	require.Equal(t, http.StatusUnauthorized, status)
	end()
	require.NoError(t, <-ended)

	requireRecorded(t, o, []string{people.KindInvited, people.KindJoined, people.KindSignedIn, "complaint", people.KindSignedOut})
	for _, secret := range []string{code, password, strings.ReplaceAll(code, "-", "")} {
		require.NotContains(t, log.String(), secret)
		requireNowhere(t, o.Config.Data, secret)
	}
}

// requireRecorded requires acts of the door and the room in the record book, in
// order, the ones of Ida in her role.
func requireRecorded(t *testing.T, o daemon.Options, want []string) {
	t.Helper()
	reader, err := history.OpenReader(t.Context(), history.Options{Dir: o.Config.Data})
	require.NoError(t, err)
	defer reader.Close()
	records, err := reader.Records(t.Context(), history.Query{Kinds: want})
	require.NoError(t, err)
	var kinds []string
	for _, r := range records {
		kinds = append(kinds, r.Kind)
		if r.Kind != people.KindInvited {
			require.Equal(t, "Ida Example", r.Person, r.Kind)
			require.Equal(t, "volunteer", r.Role, r.Kind)
		}
	}
	require.Equal(t, want, kinds)
}

// requireNowhere requires that no file of the data folder holds a secret.
func requireNowhere(t *testing.T, dir, secret string) {
	t.Helper()
	files, err := os.ReadDir(dir)
	require.NoError(t, err)
	for _, f := range files {
		if f.IsDir() {
			continue
		}
		text, err := os.ReadFile(filepath.Join(dir, f.Name()))
		require.NoError(t, err)
		require.False(t, bytes.Contains(text, []byte(secret)), "a secret stands in %s", f.Name())
	}
}
