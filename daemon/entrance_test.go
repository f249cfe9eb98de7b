package daemon_test

import (
	"bytes"
	"context"
	"crypto/tls"
	"errors"
	"net/http"
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
	"wetside/dashboard/formtest"
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

// overTLS is a browser that trusts the certificate that the program made a moment ago.
func overTLS(t *testing.T, port string) *formtest.Browser {
	return formtest.Over(t, "https://127.0.0.1:"+port, &http.Transport{TLSClientConfig: &tls.Config{InsecureSkipVerify: true}})
}

// TestOnTheNetworkPeopleSignInAndActInTheirRole goes through the whole program: a
// listener beyond this computer, TLS, an invitation, a sign-in, an act and its record.
func TestOnTheNetworkPeopleSignInAndActInTheirRole(t *testing.T) {
	o := options(t)
	var log bytes.Buffer
	core := zapcore.NewCore(zapcore.NewJSONEncoder(zap.NewProductionEncoderConfig()), zapcore.Lock(zapcore.AddSync(&log)), zap.DebugLevel)
	o.Log = zap.New(core)
	o.Config.Listen, o.Config.Access.SignIn = "0.0.0.0:0", true
	code, err := people.NewDesk(o.Config.Data, people.By{Name: "command line", At: time.Now()}).Invite(t.Context(),
		access.Person{Name: "Ida Example", Role: access.Volunteer})
	require.NoError(t, err)
	ctx, end := context.WithCancel(context.Background())
	d, err := daemon.New(t.Context(), o)
	require.NoError(t, err)
	ended := make(chan error, 1)
	go func() { ended <- d.Run(ctx) }()
	require.True(t, strings.HasPrefix(d.URL(), "https://"), d.URL())
	base, err := url.Parse(d.URL())
	require.NoError(t, err)
	v := overTLS(t, base.Port())

	refused := v.Open("/")
	require.Equal(t, http.StatusUnauthorized, refused.Status)
	refused.Says("Sign in")
	const password = "four invented words"
	joining := v.Open("/join").Form(formtest.Having("code")).Fill("code", code).Send()
	joining.Form(formtest.Having("password")).Fill("password", password).Fill("again", password).Send().Says("Password saved.")
	signing := v.Open("/sign-in?next=/rooms/darkroom/baths").Form(formtest.Having("password"))
	signing.Fill("name", "Ida Example").Fill("password", password).Send().Says("Ida Example, volunteer")
	smell := v.Open("/rooms/darkroom/air").Form(formtest.Having("complaint")).Fill("complaint", "smells of fixer").Fill("who",
		"Somebody Else").Send()
	require.Equal(t, http.StatusOK, smell.Status)
	require.Empty(t, smell.Problem())
	require.Equal(t, http.StatusForbidden, v.Open("/people").Status)
	require.Less(t, v.Open("/rooms/darkroom/baths").Form(formtest.To("/sign-out")).Send().Status, http.StatusInternalServerError)
	require.Equal(t, http.StatusUnauthorized, v.Open("/rooms/darkroom/baths").Status)
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
