package config_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/configs"
	"wetside/daemon/config"
	"wetside/daemon/notify"
)

func TestWhoIsToldOutsideIsRead(t *testing.T) {
	secret := filepath.Join(t.TempDir(), "secret")
	require.NoError(t, os.WriteFile(secret, []byte("abc\n"), 0o600))
	parse := func(text string) (config.Config, error) {
		return config.Parse("site.toml", append([]byte(text), configs.Demo...))
	}
	const server = "[mail]\nserver = \"mail.example.org\"\nfrom = \"darkroom@example.org\"\n"
	c, err := parse(server + fmt.Sprintf("user = \"darkroom\"\npassword-file = %q\n[[notify]]\nname = \"Ada\"\nmail = "+
		"\"ada@example.org\"\nfrom = \"07:00\"\nto = \"22:30\"\n"+
		"digest = \"08:00\"\nafter = \"5m\"\n[[notify]]\nname = \"phone\"\npush = \"https://push.example.org/x\"\npush-token-file = "+
		"%q\nabout = [\"alarms\"]\n", secret, secret))
	require.NoError(t, err)
	require.Equal(t, notify.Server{Host: "mail.example.org", Port: 587, Security: notify.StartTLS, User: "darkroom", Password: "abc",
		From: "darkroom@example.org"}, c.Mail)
	eight := 8 * time.Hour
	require.Equal(t, []notify.Person{
		{Name: "Ada", Mail: "ada@example.org", About: notify.Kinds(), After: 5 * time.Minute, Hours: notify.Hours{From: 7 * time.Hour,
			To: 22*time.Hour + 30*time.Minute}, Digest: &eight},
		{Name: "phone", Push: notify.Push{URL: "https://push.example.org/x", Token: "abc"}, About: []notify.Kind{notify.Alarms},
			After: 10 * time.Minute},
	}, c.Notify)
	for text, want := range map[string]string{
		"[mail]\n": "mail.server: is missing",
		"[mail]\nserver = \"x\"\nfrom = \"nobody\"\n":                         `"nobody" is not an e-mail address`,
		server + "security = \"hope\"\n":                                      `"hope" is not usable: expected starttls, tls or none`,
		server + "security = \"none\"\n":                                      "none is only for a mail server on this computer",
		server + "user = \"x\"\n":                                             "mail.password-file: is missing",
		server + "authority = \"none.pem\"\n":                                 "mail.authority: can't be read",
		"[[notify]]\nname = \"Ada\"\n":                                        "expected either mail =",
		"[[notify]]\nname = \"Ada\"\nmail = \"ada@example.org\"\n":            "there is no mail server: write a [mail] table",
		"[[notify]]\nname = \"Ada\"\npush = \"ftp://x\"\n":                    `"ftp://x" is not an address`,
		"[[notify]]\nname = \"A\"\npush = \"http://x\"\nabout = [\"love\"]\n": `no messages about "love"`,
		"[[notify]]\nname = \"A\"\npush = \"http://x\"\nto = \"25:00\"\n":     "is not a time of the day",
		"[[notify]]\nname = \"A\"\npush = \"http://x\"\n" +
			"[[notify]]\nname = \"A\"\npush = \"http://x\"\n": `the person to notify "A" is described twice`,
	} {
		_, err := parse(text)
		require.ErrorContains(t, err, want, text)
	}
}
