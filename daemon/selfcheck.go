package daemon

import (
	"bytes"
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"time"

	"wetside/daemon/config"
	"wetside/daemon/history"
	"wetside/dashboard/web"
)

// SelfCheck is one thing that a keeper would be asked about, and how it stands.
type SelfCheck struct {
	What string
	// Good is set when all is well, and Do says what to do otherwise.
	Good   bool
	Detail string
	Do     string
}

// SelfCheckOptions say what is looked at.
type SelfCheckOptions struct {
	// File is the configuration, and Data the folder of the history where it is not the
	// one that stands there.
	File, Data string
	Version    string
	Ports      []string // that are there at this moment
	Now        time.Time
}

// littleDisk is how many bytes must be free: some years of a room with 16 channels.
const littleDisk = 2 << 30

// CheckSelf looks at everything that a keeper would be asked about, and changes nothing.
func CheckSelf(ctx context.Context, o SelfCheckOptions) []SelfCheck {
	keep := upkeepOn(runtime.GOOS)
	list := []SelfCheck{{What: "program", Good: true, Detail: fmt.Sprintf("wetside %s, %s, %s/%s", o.Version, runtime.Version(),
		runtime.GOOS, runtime.GOARCH)}, checkClock(o.Now)}
	c, err := config.Load(o.File)
	if err == nil {
		err = c.CheckEntrance()
	}
	if err != nil {
		return append(list, SelfCheck{What: "configuration", Detail: err.Error(), Do: adviceOnFile(err, keep)})
	}
	if o.Data != "" {
		c.Data = o.Data
	}
	list = append(list, SelfCheck{What: "configuration", Good: true, Detail: o.File + ": " + web.Count(len(c.Rooms), "%d room", "%d rooms")})
	for _, r := range c.Rooms {
		for _, l := range r.Lines {
			if l.Serial() {
				list = append(list, checkPort(string(l.ID), l.Settings.Path, o.Ports, keep))
			} else {
				list = append(list, checkReach(ctx, l))
			}
		}
	}
	list = append(list, checkFolder(c.Data), checkDisk(c.Data), checkBook(ctx, c.Data), checkRunning(ctx, c, keep), checkFaults(c.Data, o.Now))
	if c.Backup.Folder != "" {
		list = append(list, checkBackups(c.Backup.Folder))
	}
	return list
}

// adviceOnFile says what to do about a configuration that can't be used.
func adviceOnFile(err error, keep upkeep) string {
	switch {
	case errors.Is(err, os.ErrNotExist):
		return "open http://127.0.0.1:8420 and make it on the page of the first start, which is there while wetside runs with --first-run"
	case errors.Is(err, os.ErrPermission):
		return keep.File
	}
	return "put right what is named, and try again with wetside check"
}

// firstSensibleYear is the year of the first version: a clock before it is wrong.
const firstSensibleYear = 2026

func checkClock(now time.Time) SelfCheck {
	c := SelfCheck{What: "clock", Good: true, Detail: now.Format("Mon 2 Jan 2006 15:04:05 MST")}
	synced, known := clockSynced()
	switch {
	case now.Year() < firstSensibleYear:
		c.Good, c.Do = false, "the battery of the computer may be flat: set the clock, then confirm the time under Probes"
	case known && !synced:
		c.Good, c.Do = false, "nothing sets this clock: switch time synchronisation on, or compare the clock with a good one before each term"
	case known:
		c.Detail += ", set by a time service"
	}
	return c
}

func checkPort(line, path string, there []string, keep upkeep) SelfCheck {
	c := SelfCheck{What: "line " + line, Good: true, Detail: path}
	err := mayUse(path)
	switch {
	case errors.Is(err, os.ErrNotExist):
		c.Good, c.Do = false, "plug the probe in: this computer has no serial port now"
		if len(there) > 0 {
			c.Do = "plug the probe in, or name one of the ports that there are now: " + strings.Join(there, ", ")
		}
	case errors.Is(err, os.ErrPermission):
		c.Good, c.Do = false, keep.Port
	case err != nil:
		c.Good, c.Do = false, err.Error()
	case !slices.Contains(there, path):
		c.Detail += " (not a name by identity: it may change when the plug moves)"
	}
	return c
}

// checkReach opens a line that is no serial port, and lets it go again.
func checkReach(ctx context.Context, l config.Line) SelfCheck {
	c := SelfCheck{What: "line " + string(l.ID), Good: true, Detail: l.Way() + ", reached"}
	line, err := l.Opener(nil).Open(ctx, l.Settings)
	if err == nil {
		err = line.Close()
	}
	if err != nil {
		c.Good, c.Detail, c.Do = false, l.Way(), err.Error()
	}
	return c
}

func checkFolder(folder string) SelfCheck {
	c := SelfCheck{What: "data folder", Good: true, Detail: folder}
	if whole, err := filepath.Abs(folder); err == nil {
		c.Detail = whole
	}
	switch err := mayUse(folder); {
	case errors.Is(err, os.ErrNotExist):
		c.Detail += ": not there yet, it is made at the first start"
	case err != nil:
		c.Good, c.Do = false, fmt.Sprintf("let the user of wetside read and write it: %s", err)
	}
	return c
}

// checkBackups differs from the data folder: what is not there is a disk that is not
// mounted, and nothing is made in its place.
func checkBackups(folder string) SelfCheck {
	c := checkFolder(folder)
	c.What = "folder of backups"
	if errors.Is(mayUse(folder), os.ErrNotExist) {
		c.Good, c.Detail, c.Do = false, folder+" is not there", "mount the disk of the backups, or make the folder on it"
	}
	return c
}

func checkDisk(folder string) SelfCheck {
	free, total, err := diskSpace(folder)
	if errors.Is(err, os.ErrNotExist) {
		free, total, err = diskSpace(filepath.Dir(folder))
	}
	if err != nil {
		return SelfCheck{What: "disk", Detail: err.Error(), Do: "see that the disk is there"}
	}
	c := SelfCheck{What: "disk", Good: free >= littleDisk, Detail: fmt.Sprintf("%.1f GB free of %.1f GB", float64(free)/1e9,
		float64(total)/1e9)}
	if !c.Good {
		c.Do = "make room: readings and entries can't be kept on a full disk"
	}
	return c
}

// checkBook walks the record book; wetside verify checks the samples as well.
func checkBook(ctx context.Context, folder string) SelfCheck {
	c := SelfCheck{What: "record book"}
	reader, err := history.OpenReader(ctx, history.Options{Dir: folder})
	if errors.Is(err, os.ErrNotExist) {
		c.Good, c.Detail = true, "none yet"
		return c
	}
	if err != nil {
		c.Detail, c.Do = err.Error(), "restore a backup into another folder, and keep this file for whoever looks into it"
		return c
	}
	report, err := reader.VerifyBook(ctx)
	if err := errors.Join(err, report.Err(), reader.Close()); err != nil {
		c.Detail, c.Do = err.Error(), "restore a backup into another folder, and keep this file for whoever looks into it"
		return c
	}
	c.Good, c.Detail = true, fmt.Sprintf("%d records verified, checkpoint %s", report.Last.Number, report.Last)
	return c
}

// checkRunning asks the program itself, if it runs.
func checkRunning(ctx context.Context, c config.Config, keep upkeep) SelfCheck {
	ctx, cancel := context.WithTimeout(ctx, 3*time.Second)
	defer cancel()
	address := ownAddress(c)
	check := SelfCheck{What: "running program", Detail: "does not answer at " + address, Do: keep.Start}
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, address+"/healthz", nil)
	if err != nil {
		return check
	}
	// Nothing secret is sent, and the certificate may be one that nobody else vouches for.
	transport := &http.Transport{TLSClientConfig: &tls.Config{InsecureSkipVerify: true}}
	defer transport.CloseIdleConnections()
	answer, err := transport.RoundTrip(request)
	if err != nil {
		return check
	}
	defer answer.Body.Close()
	said, _ := io.ReadAll(io.LimitReader(answer.Body, 500))
	check.Good, check.Detail, check.Do = answer.StatusCode == http.StatusOK, fmt.Sprintf("answers at %s: %s", address,
		bytes.TrimSpace(said)), ""
	if !check.Good {
		check.Do = "do what it says; more is on the page /keeper"
	}
	return check
}

// ownAddress is where this computer reaches the pages of a configuration.
func ownAddress(c config.Config) string {
	listen := c.Listen
	if host, port, err := net.SplitHostPort(c.Listen); err == nil {
		if ip := net.ParseIP(host); host == "" || ip != nil && ip.IsUnspecified() {
			listen = net.JoinHostPort("localhost", port)
		}
	}
	return c.Scheme() + "://" + listen
}

// recent is how long a warning or an error is news.
const recent = 24 * time.Hour

// checkFaults tells of the newest warnings and errors that the program kept.
func checkFaults(folder string, now time.Time) SelfCheck {
	c := SelfCheck{What: "last errors", Good: true, Detail: "none"}
	list, err := readFaults(folder)
	if err != nil {
		c.Good, c.Detail, c.Do = false, err.Error(), "delete the file: wetside makes it again"
		return c
	}
	if len(list) == 0 {
		return c
	}
	var told, todo []string
	for _, f := range list[:min(len(list), fewFaults)] {
		told = append(told, strings.TrimSuffix(fmt.Sprintf("%s %s: %s", f.At.In(now.Location()).Format("2 Jan 15:04"), f.Text, f.Why), ": "))
		if news := now.Sub(f.At).Abs() < recent; news && !slices.Contains(todo, f.Do) {
			c.Good, todo = false, append(todo, f.Do)
		}
	}
	c.Detail, c.Do = strings.Join(told, detailBreak), strings.Join(todo, detailBreak)
	return c
}

const (
	// fewFaults is how many are told; the page of the keeper has all.
	fewFaults   = 3
	detailBreak = "\n                        "
)
