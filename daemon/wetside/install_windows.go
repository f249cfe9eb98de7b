package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"time"

	"golang.org/x/sys/windows"
	"golang.org/x/sys/windows/svc"
	"golang.org/x/sys/windows/svc/mgr"

	"wetside/configs"
	"wetside/daemon/history/disk"
)

const serviceName = "wetside"

// localService is the account of Windows that a service with few rights runs as, by its name
// and by its number, which is the same in every language.
const (
	localService       = `NT AUTHORITY\LocalService`
	localServiceNumber = "*S-1-5-19"
)

// installed are the paths of an installation on Windows.
type installed struct{ program, folder string }

func places() installed {
	folder := filepath.Join(environment("ProgramData", `C:\ProgramData`), "wetside")
	return installed{filepath.Join(environment("ProgramFiles", `C:\Program Files`), "wetside", "wetside.exe"), folder}
}

func (p installed) config() string { return filepath.Join(p.folder, "site.toml") }
func (p installed) data() string   { return filepath.Join(p.folder, "data") }
func (p installed) log() string    { return filepath.Join(p.folder, "wetside.log") }

func environment(name, otherwise string) string {
	if value := os.Getenv(name); value != "" {
		return value
	}
	return otherwise
}

type installCmd struct{}

// Help shows the command in use.
func (installCmd) Help() string {
	return `Examples, in a window of an administrator:
  wetside install

It copies this program to C:\Program Files\wetside, makes C:\ProgramData\wetside for
configuration, data and log, and a service that starts with Windows under the
account LocalService, and starts the service. Run again, with a newer program, it is
an upgrade. Then open http://127.0.0.1:8420. Ports are named COM3 and the like.`
}

func (installCmd) Run(out io.Writer) error {
	manager, err := connect()
	if err != nil {
		return err
	}
	defer manager.Disconnect()
	service, err := manager.OpenService(serviceName)
	if err == nil { // an upgrade: a program that runs can't be replaced
		if err := halt(service); err != nil {
			return errors.Join(err, service.Close())
		}
	}
	p := places()
	if err := p.files(); err != nil {
		return err
	}
	if service == nil {
		settings := mgr.Config{DisplayName: "wetside, the darkroom's daemon", StartType: mgr.StartAutomatic, ServiceStartName: localService}
		service, err = manager.CreateService(serviceName, p.program, settings, serviceWord, p.log(), "run", "--config", p.config(), "--data",
			p.data(), "--first-run", "--log", "json")
		if err != nil {
			return fmt.Errorf("the service can't be made: %w", err)
		}
	}
	defer service.Close()
	again := []mgr.RecoveryAction{{Type: mgr.ServiceRestart, Delay: time.Second}}
	if err := service.SetRecoveryActions(again, uint32((24 * time.Hour).Seconds())); err != nil {
		return fmt.Errorf("the service is made, but would not start again after a failure: %w", err)
	}
	if err := service.Start(); err != nil {
		return fmt.Errorf("the service is made, but does not start; %s may say why: %w", p.log(), err)
	}
	return writeLine(out, "Installed and started. Open http://127.0.0.1:8420 on this computer; configuration, data and log are in "+p.folder)
}

// files puts the program in place and makes the folder that only the service, the system and
// administrators may read.
func (p installed) files() error {
	program, err := os.Executable()
	if err != nil {
		return fmt.Errorf("this program can't be found to be copied: %w", err)
	}
	content, err := os.ReadFile(program)
	if err != nil {
		return fmt.Errorf("this program can't be read to be copied: %w", err)
	}
	if err := errors.Join(os.MkdirAll(filepath.Dir(p.program), 0o755), os.MkdirAll(p.data(), 0o750)); err != nil {
		return fmt.Errorf("no folder for the program or the data: %w", err)
	}
	if err := disk.WriteBytes(p.program, 0o755, content); err != nil {
		return fmt.Errorf("the program can't be put in place: %w", disk.Told(err))
	}
	if err := disk.WriteBytes(filepath.Join(p.folder, "one-room.toml"), 0o644, configs.OneRoom); err != nil {
		return fmt.Errorf("the example can't be put in place: %w", disk.Told(err))
	}
	grant := exec.Command("icacls", p.folder, "/inheritance:r", "/grant", localServiceNumber+":(OI)(CI)M", "*S-1-5-18:(OI)(CI)F",
		"*S-1-5-32-544:(OI)(CI)F")
	if told, err := grant.CombinedOutput(); err != nil {
		return fmt.Errorf("the service can't be given its folder %s: %w: %s", p.folder, err, told)
	}
	return nil
}

type uninstallCmd struct{}

// Help shows the command in use.
func (uninstallCmd) Help() string {
	return `It stops the service and takes service and program away. Configuration and data in
C:\ProgramData\wetside stay: they are yours.`
}

// Run takes an installation away.
func (uninstallCmd) Run(out io.Writer) error {
	manager, err := connect()
	if err != nil {
		return err
	}
	defer manager.Disconnect()
	p := places()
	service, err := manager.OpenService(serviceName)
	switch {
	case errors.Is(err, windows.ERROR_SERVICE_DOES_NOT_EXIST):
	case err != nil:
		return fmt.Errorf("the service can't be opened: %w", err)
	default:
		defer service.Close()
		if err := errors.Join(halt(service), service.Delete()); err != nil {
			return fmt.Errorf("the service can't be removed: %w", err)
		}
	}
	if err := os.Remove(p.program); err != nil && !errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("the service is removed, but its program is in use: delete %s yourself: %w", p.program, err)
	}
	return writeLine(out, "Removed. "+p.folder+" stays: it is yours.")
}

// connect opens the manager of services, which only an administrator may do.
func connect() (*mgr.Mgr, error) {
	manager, err := mgr.Connect()
	if errors.Is(err, windows.ERROR_ACCESS_DENIED) {
		return nil, usageError{errors.New("only an administrator may do this: open the window with \"Run as administrator\"")}
	}
	if err != nil {
		return nil, fmt.Errorf("the manager of services: %w", err)
	}
	return manager, nil
}

// halt stops a service and waits until it has ended.
func halt(service *mgr.Service) error {
	status, err := service.Control(svc.Stop)
	if errors.Is(err, windows.ERROR_SERVICE_NOT_ACTIVE) {
		return nil
	}
	for end := time.Now().Add(20 * time.Second); err == nil && status.State != svc.Stopped; {
		if time.Now().After(end) {
			return errors.New("the service does not stop")
		}
		time.Sleep(100 * time.Millisecond)
		status, err = service.Query()
	}
	if err != nil {
		return fmt.Errorf("the service can't be stopped: %w", err)
	}
	return nil
}

// serviceWord and the path of a log stand before a command line that the manager of services
// starts.
const serviceWord = "as-service"

// asService runs a command line as a service of Windows, if Windows started the program so.
func asService(args []string) (code int, is bool) {
	if len(args) < 2 || args[0] != serviceWord {
		return 0, false
	}
	if err := svc.Run(serviceName, attended{log: args[1], args: args[2:]}); err != nil {
		return exitFailed, true
	}
	return exitDone, true
}

// attended is a command line that the manager of services starts and stops.
type attended struct {
	log  string
	args []string
}

// Execute runs it until it ends or the manager stops it.
func (a attended) Execute(_ []string, asked <-chan svc.ChangeRequest, told chan<- svc.Status) (ownCode bool, code uint32) {
	told <- svc.Status{State: svc.StartPending}
	log, err := newServiceLog(a.log)
	if err != nil {
		return true, exitFailed
	}
	defer log.Close()
	os.Stderr = log // where the log goes
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	ended := make(chan int, 1)
	go func() { ended <- execute(ctx, a.args, log, log) }()
	running := svc.Status{State: svc.Running, Accepts: svc.AcceptStop | svc.AcceptShutdown}
	told <- running
	for {
		select {
		case code := <-ended:
			return code != exitDone, uint32(code)
		case request := <-asked:
			switch request.Cmd {
			case svc.Interrogate:
				told <- running
			case svc.Stop, svc.Shutdown:
				running = svc.Status{State: svc.StopPending}
				told <- running
				stop()
			}
		}
	}
}

// longestServiceLog is when a log is put aside at a start, in bytes.
const longestServiceLog = 10 << 20

// newServiceLog opens the file of the log; a long one is put aside first.
func newServiceLog(path string) (*os.File, error) {
	if info, err := os.Stat(path); err == nil && info.Size() > longestServiceLog {
		if err := os.Rename(path, path+".old"); err != nil {
			return nil, fmt.Errorf("the old log can't be renamed: %w", err)
		}
	}
	log, err := os.OpenFile(path, os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o640)
	if err != nil {
		return nil, fmt.Errorf("the log can't be opened: %w", err)
	}
	return log, nil
}
