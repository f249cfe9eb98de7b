//go:build mailserver

package notify_test

import (
	"crypto/x509"
	"encoding/pem"
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/notify"
)

// exim is the mail server of the system with a configuration of its own: TLS, sign-in, and a
// box for each name. It must be started by root, and works as nobody.
type exim struct {
	*testing.T
	folder, port string
	program      *exec.Cmd
}

const eximSettings = `exim_user = nobody
exim_group = nogroup
keep_environment =
spool_directory = FOLDER/spool
log_file_path = FOLDER/log/%slog
pid_file_path = FOLDER/pid
primary_hostname = mail.example.org
tls_advertise_hosts = *
tls_certificate = FOLDER/certificate.pem
tls_privatekey = FOLDER/key.pem
acl_smtp_rcpt = rcpt
acl_smtp_data = accept
deliver_drop_privilege = true
begin acl
rcpt:
  deny !authenticated = *
       message = sign in first
  accept domains = example.org
begin routers
all:
  driver = accept
  local_parts = ada : darkroom
  transport = box
begin transports
box:
  driver = appendfile
  file = FOLDER/box/$local_part_data
  user = nobody
begin authenticators
plain:
  driver = plaintext
  public_name = PLAIN
  server_prompts = :
  server_condition = ${if and{{eq{$auth2}{darkroom}}{eq{$auth3}{secret}}}}
  server_set_id = $auth2
  server_advertise_condition = ${if def:tls_in_cipher}
`

func newExim(t *testing.T) (*exim, *x509.CertPool) {
	free, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	_, port, err := net.SplitHostPort(free.Addr().String())
	require.NoError(t, err)
	require.NoError(t, free.Close())
	e := &exim{T: t, folder: t.TempDir(), port: port}
	for _, folder := range []string{filepath.Dir(e.folder), e.folder} {
		require.NoError(t, os.Chmod(folder, 0o755))
	}
	for _, name := range []string{"spool", "log", "box"} {
		folder := filepath.Join(e.folder, name)
		require.NoError(t, os.Mkdir(folder, 0o777))
		require.NoError(t, os.Chmod(folder, 0o777))
	}
	own, roots := certificate(t)
	key, err := x509.MarshalPKCS8PrivateKey(own.PrivateKey)
	require.NoError(t, err)
	e.write("certificate.pem", pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: own.Certificate[0]}))
	e.write("key.pem", pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: key}))
	e.write("exim.conf", []byte(strings.ReplaceAll(eximSettings, "FOLDER", e.folder)))
	t.Cleanup(e.stop)
	return e, roots
}

func (e *exim) write(name string, text []byte) {
	require.NoError(e, os.WriteFile(filepath.Join(e.folder, name), text, 0o644))
}

func (e *exim) start() {
	e.program = exec.Command("/usr/sbin/exim4", "-C", filepath.Join(e.folder, "exim.conf"), "-bdf", "-oX", "127.0.0.1:"+e.port)
	require.NoError(e, e.program.Start(), "install the package exim4-daemon-light, and run this test as root")
	require.Eventually(e, func() bool {
		c, err := net.Dial("tcp", "127.0.0.1:"+e.port)
		return err == nil && c.Close() == nil
	}, 10*time.Second, 20*time.Millisecond)
}

func (e *exim) stop() {
	if e.program != nil {
		_ = e.program.Process.Kill()
		_ = e.program.Wait()
		e.program = nil
	}
}

// box is what came for a name.
func (e *exim) box(name string) string {
	text, err := os.ReadFile(filepath.Join(e.folder, "box", name))
	if err != nil {
		return ""
	}
	return strings.Join(strings.Fields(strings.ReplaceAll(string(text), "=\n", "")), " ")
}

func TestARealMailServerGetsEachMessageOnce(t *testing.T) {
	server, roots := newExim(t)
	s := newTelling(t, ada(), notify.Person{Name: "Bo", Mail: "bo@elsewhere.example", About: []notify.Kind{notify.Duties}})
	_, err := fmt.Sscan(server.port, &s.options.Server.Port)
	require.NoError(t, err)
	s.options.Server.Roots = roots
	s.start()
	s.has(s.duty(), s.alarm("a"))
	s.turn(0)
	require.ErrorContains(t, s.teller.Standing().Problem, "refused", "the server is down")
	require.Equal(t, 2, s.teller.Standing().Waiting)

	server.start()
	s.turn(time.Hour)
	s.turn(time.Hour)
	require.ErrorContains(t, s.teller.Standing().Problem, "refuses a message to bo@elsewhere.example")
	require.Zero(t, s.teller.Standing().Waiting)
	require.Eventually(t, func() bool { return strings.Count(server.box("ada"), "Message-I") == 2 }, 20*time.Second, 50*time.Millisecond)
	text := server.box("ada")
	for _, want := range []string{"From: <darkroom@example.org>", "To: <ada@example.org>", "Subject: Darkroom: Eyewash is overdue.",
		"No air moves.",
		"812:" + strings.Repeat("5f", 32)} {
		require.Contains(t, text, want)
	}

	s.options.Server.Password = "wrong"
	s.start()
	s.has(s.alarm("b"))
	s.turn(time.Hour)
	require.ErrorContains(t, s.teller.Standing().Problem, "535")
	require.Equal(t, 1, s.teller.Standing().Waiting, "a keeper can put the password right")
}
