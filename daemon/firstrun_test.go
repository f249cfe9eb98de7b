package daemon_test

import (
	"context"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/daemon"
	"wetside/daemon/config"
	"wetside/rules"
	"wetside/sensors"
	"wetside/sensors/serialport"
	"wetside/sensors/simroom"
)

// newcomer is somebody with a browser at a program that has no configuration yet.
type newcomer struct {
	*testing.T
	client http.Client
	base   string
}

func (n *newcomer) page(path string) string {
	n.Helper()
	answer, err := n.client.Get(n.base + path)
	require.NoError(n, err)
	return readAll(n, answer)
}

func (n *newcomer) sends(form url.Values) string {
	n.Helper()
	token := regexp.MustCompile(`name="token" value="([A-Z2-7]+)"/><input type="hidden" name="act" value="` + form.Get("act") + `"`).FindStringSubmatch(n.page("/first-run"))
	require.NotNil(n, token, "the page has a form to %s", form.Get("act"))
	form.Set("token", token[1])
	answer, err := n.client.PostForm(n.base+"/first-run", form)
	require.NoError(n, err)
	return readAll(n, answer)
}

func readAll(t testing.TB, answer *http.Response) string {
	defer answer.Body.Close()
	var text []byte
	buffer := make([]byte, 32<<10)
	for {
		k, err := answer.Body.Read(buffer)
		text = append(text, buffer[:k]...)
		if err != nil {
			return string(text)
		}
	}
}

func TestAFirstConfigurationIsMadeFromWhatRealPortsSay(t *testing.T) {
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	dir := t.TempDir()
	sim, err := simroom.Start(ctx, simroom.Options{Clock: sensors.NewSystemClock(1), Dir: filepath.Join(dir, "ports"), Seed: 3})
	require.NoError(t, err)
	defer sim.Stop()
	port, duct, file := sim.Path("trays"), sim.Path("duct"), filepath.Join(dir, "site.toml")
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	finished := make(chan error, 1)
	go func() {
		finished <- daemon.FirstRun(ctx, daemon.FirstRunOptions{Listen: "127.0.0.1:8420", Data: filepath.Join(dir, "data"), File: file, Version: "test",
			Clock: sensors.NewSystemClock(1), Opener: serialport.New(), Ports: func() []string { return []string{port, duct} }, Log: zap.NewNop(), Listener: listener})
	}()
	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	n := &newcomer{t, http.Client{Jar: jar}, "http://" + listener.Addr().String()}

	require.Contains(t, n.page("/"), "There is no configuration yet")
	elsewhere, err := http.NewRequestWithContext(ctx, http.MethodGet, n.base+"/first-run", nil)
	require.NoError(t, err)
	elsewhere.Host = "pointed-here.example.org"
	refusal, err := n.client.Do(elsewhere)
	require.NoError(t, err)
	require.Contains(t, readAll(t, refusal), "not known under the name")
	require.Equal(t, http.StatusMisdirectedRequest, refusal.StatusCode)
	require.Contains(t, n.sends(url.Values{"act": {"listen"}, "port": {"/dev/elsewhere"}}), "is not there any more")
	text := n.sends(url.Values{"act": {"listen"}, "port": {port}})
	require.Contains(t, text, "A line of dialect text")
	question := url.Values{"act": {"ask"}, "port": {duct}, "baud": {"9600"}, "format": {"8N1"}, "modbus-unit": {"1"}, "table": {"input"},
		"register": {"30001"}, "type": {"u16"}, "words": {"high-first"}, "scale": {"0,01"}, "unit": {"m/s"}}
	require.Contains(t, n.sends(question), "count registers from 1")
	question.Set("register", "-1")
	require.Contains(t, n.sends(question), "is not a whole number from 0 to 65535")
	question.Set("register", "0")
	text = n.sends(question)
	require.Contains(t, text, "Register 1:input:0 answers")
	form := url.Values{"act": {"write"}, "room": {"Dunkelkammer"}, "volume": {"30"}}
	for i, m := range regexp.MustCompile(`name="kind-(\d+)"`).FindAllStringSubmatch(text, -1) {
		form.Set("name-"+m[1], "Tray "+m[1])
		form.Set("kind-"+m[1], map[bool]string{true: string(sensors.BathTemperature)}[i < 2])
		form.Set("role-"+m[1], []string{"developer", "fixer", ""}[min(i, 2)])
	}
	last := regexp.MustCompile(`name="kind-(\d+)"`).FindAllStringSubmatch(text, -1)
	form.Set("kind-"+last[len(last)-1][1], string(sensors.DuctVelocity))
	form.Set("duct", "20 cm")
	refused := n.sends(form)
	require.Contains(t, refused, `can&#39;t be read. Give a number with its unit`)
	require.Contains(t, refused, `value="Dunkelkammer"`, "what was typed is given back")
	require.NoFileExists(t, file)
	form.Set("volume", "30 m3")
	form.Set("reading", "furlongs")
	require.Contains(t, n.sends(form), "How figures are written here: choose one.")
	form.Set("reading", "comma")
	require.Contains(t, n.sends(form), "site.toml is written")
	require.NoError(t, <-finished)

	c, err := config.Load(file)
	require.NoError(t, err)
	require.True(t, c.Units.DecimalComma)
	require.Equal(t, "Dunkelkammer", c.Rooms[0].Name)
	require.Len(t, c.Rooms[0].Channels, 3)
	require.Len(t, c.Rooms[0].Lines, 2)
	require.Equal(t, []string{"1:input:0"}, c.Rooms[0].Lines[1].Addresses())
	require.Equal(t, rules.Developer, c.Rooms[0].Baths[0].Role)
	require.Equal(t, port, c.Rooms[0].Lines[0].Settings.Path)
	info, err := os.Stat(file)
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o640), info.Mode().Perm())
}

func TestThePageOfTheFirstStartIsNotShownOnTheNetwork(t *testing.T) {
	err := daemon.FirstRun(t.Context(), daemon.FirstRunOptions{Listen: "0.0.0.0:8420", File: filepath.Join(t.TempDir(), "site.toml"), Clock: sensors.NewSystemClock(1), Log: zap.NewNop()})
	require.ErrorContains(t, err, "listen on 127.0.0.1")
}
