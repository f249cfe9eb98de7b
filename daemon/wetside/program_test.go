package main

import (
	"bufio"
	"bytes"
	"crypto/rand"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"wetside/dashboard/formtest"
)

// asProgram is set for a copy of the test program that is to be wetside itself.
const asProgram = "WETSIDE_TEST_AS_PROGRAM"

func TestMain(m *testing.M) {
	if os.Getenv(asProgram) != "" {
		if err := beforeProgram(); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(exitFailed)
		}
		main()
	}
	goleak.VerifyTestMain(m)
}

// program is a running copy of wetside.
type program struct {
	*exec.Cmd
	url     string
	started time.Time
	ready   time.Duration // from the start to the word that the dashboard is there
	errs    *bytes.Buffer
	rest    sync.WaitGroup
}

// wetside prepares a command line of the real program.
func wetside(args ...string) *program {
	p := &program{Cmd: exec.Command(os.Args[0], args...), errs: &bytes.Buffer{}}
	p.Env = append(os.Environ(), asProgram+"=1")
	p.Stderr = p.errs
	return p
}

// serve starts a program that serves a dashboard and waits for its address.
func (p *program) serve(t require.TestingT) {
	out, err := p.StdoutPipe()
	require.NoError(t, err)
	p.started = time.Now()
	require.NoError(t, p.Start())
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		if _, address, ok := strings.Cut(lines.Text(), "Dashboard: "); ok {
			p.url, p.ready = address, time.Since(p.started)
			break
		}
	}
	p.rest.Go(func() { _, _ = io.Copy(io.Discard, out) }) // until it ends
	if p.url == "" {
		_ = p.Process.Kill()
		_ = p.end()
		require.Fail(t, "the program did not start", p.errs.String())
	}
}

// end waits for the program, which has been told or brought to end.
func (p *program) end() error {
	p.rest.Wait()
	return p.Wait()
}

// complain posts what a form would, without its page, which a program that is being killed may not give;
// without an error it was acknowledged.
func complain(c *http.Client, address, what string) error {
	form := formtest.Forged("act", "complain", "who", "invented volunteer", "complaint", what, "token", rand.Text())
	request, err := http.NewRequest(http.MethodPost, address+"/rooms/practice/alarms", strings.NewReader(form.Encode()))
	if err != nil {
		return err
	}
	request.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	request.Header.Set("Accept", "text/plain")
	answer, err := c.Do(request)
	if err != nil {
		return err
	}
	body, err := io.ReadAll(answer.Body)
	_ = answer.Body.Close()
	if err == nil && answer.StatusCode != http.StatusOK {
		err = fmt.Errorf("%s: %s", answer.Status, body)
	}
	return err
}

// shown is what /api/now says of the first tray of the simulated room.
type shown struct {
	At    time.Time
	Rooms []struct {
		Baths []struct {
			Temperature *float64 `json:"temperature_celsius"`
		}
	}
}

func (s shown) live() bool { return len(s.Rooms) > 0 && s.Rooms[0].Baths[0].Temperature != nil }

func look(c *http.Client, address string) (s shown, err error) {
	answer, err := c.Get(address + "/api/now")
	if err != nil {
		return s, err
	}
	defer answer.Body.Close()
	return s, json.NewDecoder(answer.Body).Decode(&s)
}
