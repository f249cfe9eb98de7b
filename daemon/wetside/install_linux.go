package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"

	"wetside/configs"
	"wetside/daemon/history/disk"
)

// The places of every installation.
const (
	configFolder = "/etc/wetside"
	dataFolder   = "/var/lib/wetside"
	systemUser   = "wetside"
)

// places are where the files of an installation go.
type places struct{ program, unit, rules, example string }

// ownPlaces are the places of what an administrator installs by hand.
func ownPlaces() places {
	return places{"/usr/local/bin/wetside", "/etc/systemd/system/wetside.service", "/etc/udev/rules.d/70-wetside.rules",
		configFolder + "/one-room.toml"}
}

// packagePlaces are the places of what a package of the system brings.
func packagePlaces() places {
	return places{"/usr/bin/wetside", "/lib/systemd/system/wetside.service", "/lib/udev/rules.d/70-wetside.rules",
		"/usr/share/doc/wetside/examples/one-room.toml"}
}

func (p places) files() []string { return []string{p.unit, p.rules, p.example, p.program} }

type installCmd struct {
	Root     string `placeholder:"DIR" help:"Put everything below this folder and start nothing: for making a package or an image."`
	Packaged bool   `hidden:"" help:"For a package: its files are in place already; with --root put them there."`
}

// Help shows the command in use.
func (installCmd) Help() string {
	return `Examples:
  sudo ./wetside install
  ./wetside install --root image

It copies this program to /usr/local/bin, makes the user wetside (in the group
dialout, which owns serial ports), /etc/wetside and /var/lib/wetside, the service
of systemd and the rules of udev for USB ports, and starts the service. Run again,
with a newer program, it is an upgrade: program and service are replaced, the
configuration and the data stay. Run it also after the folder of the backups was
changed in the configuration: the service may write where install allows it. Then open http://127.0.0.1:8420. Where systemd is
not in charge nothing is started, and the command to start it by hand is printed.`
}

type uninstallCmd struct {
	Root     string `placeholder:"DIR" help:"Take everything away below this folder."`
	Packaged bool   `hidden:"" help:"For a package, which takes its files away itself: stop the service."`
}

// Help shows the command in use.
func (uninstallCmd) Help() string {
	return `Examples:
  sudo wetside uninstall

It stops the service and takes away what install put in place. The configuration
in /etc/wetside and the data in /var/lib/wetside stay: they are yours.`
}

// placing puts an installation in place, below root.
type placing struct {
	ctx  context.Context
	root string
	out  io.Writer
	// manager and devices are there while systemd runs this computer, and while udev
	// does: in a container or a folder they may be installed and not run.
	manager, devices string
}

func (c *installCmd) Run(ctx context.Context, out io.Writer) error {
	p, err := newPlacing(ctx, c.Root, out)
	if err != nil {
		return err
	}
	steps := []func() error{p.user, func() error { return p.folder(configFolder, 0o770) }, func() error { return p.folder(dataFolder, 0o750) }}
	switch {
	case !c.Packaged:
		steps = append(steps, func() error { return p.files(ownPlaces()) })
	case c.Root != "":
		steps = []func() error{func() error { return p.files(packagePlaces()) }}
	default: // what was installed by hand before would run instead of what the package brings
		steps = append(steps, func() error { return p.clear(ownPlaces()) })
	}
	steps = append(steps, p.folders,
		func() error { return p.tell(p.devices, "udevadm", "control", "--reload") },
		func() error { return p.tell(p.devices, "udevadm", "trigger", "--subsystem-match=tty") },
		func() error { return p.tell(p.manager, "systemctl", "daemon-reload") },
		func() error { return p.system("systemctl", "enable", "wetside.service") },
		func() error { return p.tell(p.manager, "systemctl", "restart", "wetside.service") })
	for _, step := range steps {
		if err := step(); err != nil {
			return err
		}
	}
	return writeLine(out, p.next())
}

// files puts the files of an installation in place, each as a whole.
func (p placing) files(at places) error {
	program, err := os.Executable()
	if err != nil {
		return fmt.Errorf("this program can't be found to be copied: %w", err)
	}
	content, err := os.ReadFile(program)
	if err != nil {
		return fmt.Errorf("this program can't be read to be copied: %w", err)
	}
	unit := bytes.ReplaceAll(configs.Unit, []byte(ownPlaces().program), []byte(at.program))
	return errors.Join(p.write(at.program, content, 0o755), p.write(at.example, configs.OneRoom, 0o644), p.write(at.unit, unit, 0o644),
		p.write(at.rules, configs.DeviceRules, 0o644))
}

// clear takes the files of an installation away.
func (p placing) clear(at places) error {
	for _, path := range at.files() {
		if err := p.remove(path); err != nil {
			return err
		}
	}
	return nil
}

// next is what to do after an installation.
func (p placing) next() string {
	switch {
	case p.root != "":
		return "Put in place below " + p.root + "; nothing was started."
	case !there(p.manager):
		return "Installed, but not started: systemd does not run this computer. By hand:\n" + byHand
	}
	return "Installed and started. Open http://127.0.0.1:8420 on this computer; check it with\n  sudo -u wetside wetside " +
		"selfcheck --config /etc/wetside/site.toml"
}

// byHand is what the service would run.
const byHand = "  runuser -u wetside -- wetside run --config /etc/wetside/site.toml --data /var/lib/wetside --first-run"

// Run takes an installation away.
func (c *uninstallCmd) Run(ctx context.Context, out io.Writer) error {
	p, err := newPlacing(ctx, c.Root, out)
	if err != nil {
		return err
	}
	if err := errors.Join(p.tell(p.manager, "systemctl", "stop", "wetside.service"), p.system("systemctl", "disable",
		"wetside.service")); err != nil {
		return err
	}
	if err := p.remove(foldersPlace); err != nil {
		return err
	}
	if !c.Packaged {
		if err := p.clear(ownPlaces()); err != nil {
			return err
		}
	}
	if err := p.tell(p.manager, "systemctl", "daemon-reload"); err != nil {
		return err
	}
	return writeLine(out, fmt.Sprintf("Removed. %s and %s stay: they are yours. So does the user %s, who owns them.",
		configFolder, dataFolder, systemUser))
}

func (p placing) at(path string) string { return filepath.Join("/", p.root, path) }

// newPlacing begins below a folder, or on the system itself, where only root may write.
func newPlacing(ctx context.Context, root string, out io.Writer) (placing, error) {
	if root == "" {
		if os.Geteuid() != 0 {
			return placing{}, usageError{errors.New("only root may do this: put sudo in front of it")}
		}
		return placing{ctx: ctx, out: out, manager: "/run/systemd/system", devices: "/run/udev/control"}, nil
	}
	whole, err := filepath.Abs(root)
	if err != nil {
		return placing{}, usageError{err}
	}
	return placing{ctx: ctx, root: whole, out: out}, nil
}

// write puts a file in place as a whole, so that a running program is never half replaced.
func (p placing) write(path string, text []byte, mode os.FileMode) error {
	place := p.at(path)
	if err := os.MkdirAll(filepath.Dir(place), 0o755); err != nil {
		return fmt.Errorf("no folder for %s: %w", path, err)
	}
	if err := disk.WriteBytes(place, mode, text); err != nil {
		return fmt.Errorf("%s can't be put in place: %w", path, disk.Told(err))
	}
	return writeLine(p.out, path)
}

// remove takes a file away, where it is there.
func (p placing) remove(path string) error {
	if err := os.Remove(p.at(path)); err != nil && !errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("%s can't be removed: %w", path, err)
	}
	return nil
}

// folder makes a folder that belongs to the program's own user.
func (p placing) folder(path string, mode os.FileMode) error {
	place := p.at(path)
	if err := errors.Join(os.MkdirAll(place, mode), os.Chmod(place, mode)); err != nil {
		return fmt.Errorf("%s can't be made: %w", path, err)
	}
	if err := p.system("chown", systemUser+":"+systemUser, place); err != nil {
		return err
	}
	return writeLine(p.out, path+"/")
}

// user makes the program's own user, where there is none.
func (p placing) user() error {
	if p.root != "" {
		return nil
	}
	if _, err := user.Lookup(systemUser); err == nil {
		return p.system("usermod", "--append", "--groups", "dialout", systemUser)
	}
	return p.system("useradd", "--system", "--user-group", "--groups", "dialout", "--home-dir", dataFolder, "--shell", "/usr/sbin/nologin",
		systemUser)
}

func there(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}

// tell runs a program that speaks to a part of the system, where that part runs.
func (p placing) tell(part, name string, args ...string) error {
	if !there(part) {
		return nil
	}
	return p.system(name, args...)
}

// system runs a program of the system; below another root nothing is run.
func (p placing) system(name string, args ...string) error {
	if p.root != "" {
		return nil
	}
	out, err := exec.CommandContext(p.ctx, name, args...).CombinedOutput()
	if errors.Is(err, exec.ErrNotFound) {
		return writeLine(p.out, fmt.Sprintf("%s is not on this computer: %v was left out", name, args))
	}
	if err != nil {
		return fmt.Errorf("%s %v failed: %w: %s", name, args, err, out)
	}
	return nil
}
