package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/configs"
)

// said is what a command line printed and how it ended.
type said struct {
	out, errs string
	code      int
}

func say(t *testing.T, args ...string) said {
	var out, errs bytes.Buffer
	code := execute(t.Context(), args, &out, &errs)
	return said{out.String(), errs.String(), code}
}

func TestExitCodesTellDoneFromFailedFromUnusable(t *testing.T) {
	bad := filepath.Join(t.TempDir(), "bad.toml")
	require.NoError(t, os.WriteFile(bad, []byte("[[room]]\nid = \"a\"\nvolume = \"0 m3\"\ncolour = \"red\"\n"), 0o644))
	listening := func(address string) string {
		file := filepath.Join(t.TempDir(), "site.toml")
		text := strings.Replace(string(configs.OneRoom), `listen = "127.0.0.1:8420"`, `listen = "`+address+`"`, 1)
		require.NoError(t, os.WriteFile(file, []byte(text), 0o644))
		return file
	}
	open, nowhere := listening("0.0.0.0:8420"), listening("127.0.0.1:84200")
	for _, c := range []struct {
		name string
		args []string
		code int
		want string // in what is printed
	}{
		{"version", []string{"version"}, exitDone, "wetside "},
		{"help", []string{"--help"}, exitDone, "keeps watch in a shared black-and-white darkroom"},
		{"help of a sub-command has examples", []string{"run", "--help"}, exitDone, "wetside run --config configs/one-room.toml"},
		{"help as a command", []string{"help", "run"}, exitDone, "wetside run --config configs/one-room.toml"},
		{"help as a command, of everything", []string{"help"}, exitDone, "keeps watch in a shared black-and-white darkroom"},
		{"a good configuration", []string{"check", "../../configs/one-room.toml"}, exitDone, "is in order"},
		{"what air it asks for", []string{"check", "../../configs/one-room.toml"}, exitDone, "at least 5.08 L/s·m², flow for the floor area, by"},
		{"a bad one, all at once", []string{"check", bad}, exitUnusable, "bad.toml:3:1: room.volume: expected a room volume of more than zero"},
		{"an address that run refuses", []string{"check", open}, exitUnusable, "only where people sign in"},
		{"a port that there is not", []string{"check", nowhere}, exitUnusable, "is not an address"},
		{"a bad one, the other mistake", []string{"check", bad}, exitUnusable, "bad.toml:4:1: room.colour: unknown key"},
		{"no such file", []string{"run", "--config", "none.toml"}, exitUnusable, "the configuration can't be read"},
		{"no arguments", nil, exitUnusable, "expected one of"},
		{"an unknown command", []string{"dance"}, exitUnusable, "wetside --help"},
		{"a speed that can't be", []string{"demo", "--speed", "0.5"}, exitUnusable, "expected 1 to 600"},
		{"an address that is none", []string{"demo", "--listen", "here"}, exitUnusable, "expected host:port"},
		{"trouble that is not known", []string{"demo", "--trouble", "2m dance"}, exitUnusable, "--trouble"},
		{"less than nothing to make", []string{"mix", "--parts", "1+9", "--make", "-1L"}, exitUnusable,
			`--make: "-1L" is negative: a liquid volume is zero or more`},
		{"nothing to make", []string{"mix", "--parts", "1+9", "--make", "0L"}, exitUnusable, "the volume must be more than zero"},
		{"parts below nothing", []string{"mix", "--parts", "-1+9", "--make", "1L"}, exitUnusable,
			"write parts of concentrate + parts of water, such as 1+9"},
		{"less than nothing poured", []string{"mix", "--parts", "1+9", "--poured", "-5mL", "--water", "1L"}, exitUnusable,
			`--poured: "-5mL" is negative`},
		{"a flag without its value", []string{"mix", "--parts", "1+9", "--make"}, exitUnusable, "--make needs a value after it"},
		{"a bath of ice", []string{"time", "--at", "20C=7:45", "--temp", "-5C"}, exitUnusable,
			`--temp: -5.0 °C is not that of a bath: write it between 0C and 100C, such as 20C`},
		{"a point of ice", []string{"time", "--at", "-5C=7:45", "--temp", "20C"}, exitUnusable,
			"−5 °C is not a bath temperature: it must be between 0 and 100 °C"},
		{"an accuracy below nothing", []string{"time", "--at", "20C=7:45", "--temp", "20C", "--accuracy", "-1"}, exitUnusable,
			"it must be between 0 and 10 kelvin"},
		{"an accuracy in words", []string{"time", "--at", "20C=7:45", "--temp", "20C", "--accuracy", "good"}, exitUnusable,
			`"good" is not a number: write it like 0.5`},
		{"nothing to verify", []string{"verify", "--data", t.TempDir()}, exitFailed, "there is no history to verify"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := say(t, c.args...)
			require.Equal(t, c.code, s.code, "%s%s", s.out, s.errs)
			require.Contains(t, s.out+s.errs, c.want)
		})
	}
}

func TestEverySubCommandHasHelpWithExamples(t *testing.T) {
	for _, command := range []string{"run", "demo", "check", "selfcheck", "install", "uninstall", "verify", "report", "export", "backup",
		"restore", "centre serve", "centre add-site", "centre close-site", "centre grant", "mix", "time", "version", "air changes",
		"air purge", "air average", "air mixture", "air decay", "air velocity"} {
		s := say(t, append(strings.Fields(command), "--help")...)
		require.Equal(t, exitDone, s.code, s.errs)
		require.Contains(t, s.out, "wetside "+command, command)
		require.Contains(t, s.out, "Examples:", command)
	}
}

func TestEveryTextOfTheHelpIsThatOfACommand(t *testing.T) {
	for _, line := range strings.Split(helpText, "\n") {
		if command, is := strings.CutPrefix(line, "# wetside "); is {
			s := say(t, append(strings.Fields(command), "--help")...)
			require.Equal(t, exitDone, s.code, s.errs)
			require.Contains(t, s.out, "\n    wetside "+command, "an example of %s", command)
		}
	}
}

// demo starts the demo as a person would, and gives its address and how to end it.
func demo(t *testing.T, args ...string) (url string, end func() int) {
	free, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	address := free.Addr().String()
	require.NoError(t, free.Close())
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan int, 1)
	go func() {
		ended <- execute(ctx, append([]string{"demo", "--empty", "--class", "--listen", address}, args...), io.Discard, os.Stderr)
	}()
	end = func() int { cancel(); return <-ended }
	return "http://" + address, end
}

// get is a page's status and text; 0 while nobody answers.
func get(t *testing.T, url string) (int, string) {
	answer, err := http.Get(url)
	if err != nil {
		return 0, ""
	}
	defer answer.Body.Close()
	body, err := io.ReadAll(answer.Body)
	require.NoError(t, err)
	return answer.StatusCode, string(body)
}

func TestTheDemoShowsALiveRoomAndEndsQuickly(t *testing.T) {
	data := t.TempDir()
	url, end := demo(t, "--data", data, "--speed", "5")
	var now struct {
		Simulated bool
		Rooms     []struct {
			Baths []struct {
				Temperature    *float64 `json:"temperature_celsius"`
				Recommendation struct{ Seconds *float64 }
			}
		}
	}
	require.Eventually(t, func() bool {
		code, body := get(t, url+"/api/now")
		return code == http.StatusOK && json.Unmarshal([]byte(body), &now) == nil &&
			now.Rooms[0].Baths[0].Temperature != nil && now.Rooms[0].Baths[0].Recommendation.Seconds != nil
	}, 20*time.Second, 50*time.Millisecond)
	require.True(t, now.Simulated)
	code, body := get(t, url+"/healthz")
	require.Equal(t, http.StatusOK, code, body)
	for _, page := range []string{"/", "/rooms/practice/board", "/rooms/practice/baths", "/rooms/practice/probes",
		"/rooms/practice/history", "/nothing-here"} {
		_, body := get(t, url+page)
		require.Contains(t, strings.ToLower(body), "simulated", page)
	}
	_, metrics := get(t, url+"/metrics")
	require.Contains(t, metrics, "wetside_simulated 1")

	began := time.Now()
	require.Equal(t, exitDone, end())
	require.Less(t, time.Since(began), 2*time.Second, "a terminate signal ends everything within two seconds")
	require.Equal(t, exitDone, say(t, "verify", "--data", data).code)
}
