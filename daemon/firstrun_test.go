package daemon_test

import (
	"context"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/daemon"
	"wetside/daemon/config"
	"wetside/dashboard/formtest"
	"wetside/rules"
	"wetside/sensors"
	"wetside/sensors/serialport"
	"wetside/sensors/simroom"
)

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
		finished <- daemon.FirstRun(ctx, daemon.FirstRunOptions{Listen: "127.0.0.1:8420", Data: filepath.Join(dir, "data"), File: file,
			Version: "test",
			Clock:   sensors.NewSystemClock(1), Opener: serialport.New(), Ports: func() []string { return []string{port, duct} },
			Log: zap.NewNop(), Listener: listener})
	}()
	b := formtest.At(t, "http://"+listener.Addr().String())
	first := func(which ...formtest.Which) *formtest.Form { return b.Open("/first-run").Form(which...) }

	b.Open("/").Says("There is no configuration yet")
	elsewhere, err := http.NewRequestWithContext(ctx, http.MethodGet, "http://"+listener.Addr().String()+"/first-run", nil)
	require.NoError(t, err)
	elsewhere.Host = "pointed-here.example.org"
	refusal, err := http.DefaultClient.Do(elsewhere)
	require.NoError(t, err)
	require.NoError(t, refusal.Body.Close())
	require.Equal(t, http.StatusMisdirectedRequest, refusal.StatusCode)
	gone := first(formtest.Having("act", "listen"), formtest.Having("port",
		port)).Forge("a port may be unplugged while its button is on the screen", "port", "/dev/elsewhere")
	require.Contains(t, gone.Send().Problem(), "is not there any more")
	first(formtest.Having("act", "listen"), formtest.Having("port", port)).Send().Says("There are text lines at 9600 baud on ")
	question := func(register string) *formtest.Page {
		return first(formtest.Having("act", "ask")).Fill("port", duct).Fill("baud", "9600").Fill("format", "8N1").Fill("modbus-unit",
			"1").Fill("table", "input").
			Fill("register", register).Fill("type", "u16").Fill("words", "high-first").Fill("scale", "0,01").Fill("unit", "m/s").Send()
	}
	require.Contains(t, question("30001").Problem(), "count registers from 1")
	require.Contains(t, question("-1").Problem(), "is not a whole number from 0 to 65535")
	text := question("0").Says("Register 1:input:0 answers")
	form := text.Form(formtest.Having("act", "write")).Fill("room", "Dunkelkammer")
	form.Send().Says("Please fill in: Volume of the room")
	form.Fill("volume", "30")
	last := ""
	for i, m := range regexp.MustCompile(`name="kind-(\d+)"`).FindAllStringSubmatch(text.Source, -1) {
		last = m[1]
		form.Fill("name-"+last, "Tray "+last).Fill("kind-"+last, map[bool]string{true: string(sensors.BathTemperature)}[i < 2])
		if i < 2 {
			form.Fill("role-"+last, []string{"developer", "fixer"}[i])
		}
	}
	refused := form.Fill("kind-"+last, string(sensors.DuctVelocity)).Fill("duct", "20 cm").Send()
	require.Contains(t, refused.Problem(), "can't be read. Give a number with its unit")
	require.NoFileExists(t, file)
	needed := refused.Form(formtest.Having("act", "write")).Fill("volume", "30 m3").Fill("duct", "").Send()
	require.Contains(t, needed.Problem(), "Please fill in: Diameter of the exhaust duct")
	form = refused.Form(formtest.Having("act", "write"))
	require.Equal(t, "Dunkelkammer", form.Values().Get("room"), "what was typed is given back")
	form.Fill("volume", "30 m3").Fill("reading", "comma").Send().Says("site.toml has been written")
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

// TestAPlaceWithoutAProbeCanBegin: it mixes and keeps its books before anybody has bought a thermometer.
func TestAPlaceWithoutAProbeCanBegin(t *testing.T) {
	file := filepath.Join(t.TempDir(), "site.toml")
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	finished := make(chan error, 1)
	go func() {
		finished <- daemon.FirstRun(t.Context(), daemon.FirstRunOptions{Listen: "127.0.0.1:8420", Data: "data", File: file,
			Clock: sensors.NewSystemClock(1), Ports: func() []string { return nil }, Log: zap.NewNop(), Listener: listener})
	}()
	page := formtest.At(t, "http://"+listener.Addr().String()).Open("/first-run").Says("No serial port found")
	page.Form(formtest.Having("act", "write")).Fill("room", "Cellar").Fill("volume", "30 m3").Send().Says("site.toml has been written")
	require.NoError(t, <-finished)
	c, err := config.Load(file)
	require.NoError(t, err)
	require.Empty(t, c.Rooms[0].Lines)
	require.Len(t, c.Rooms[0].Baths, 3)
}

func TestThePageOfTheFirstStartIsNotShownOnTheNetwork(t *testing.T) {
	err := daemon.FirstRun(t.Context(), daemon.FirstRunOptions{Listen: "0.0.0.0:8420", File: filepath.Join(t.TempDir(), "site.toml"),
		Clock: sensors.NewSystemClock(1), Log: zap.NewNop()})
	require.ErrorContains(t, err, "listen on 127.0.0.1")
}
