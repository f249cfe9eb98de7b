package keep

import (
	"context"
	"fmt"
	"net/http"
	"time"

	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/sensors"
)

// Maintenance is what the keeper of the computer asks of the program.
type Maintenance interface {
	// System says how the program and its computer stand. It never waits.
	System() System
	// BackUp copies the history now and returns once the copy is verified. The error
	// is one sentence for the person who pressed the button.
	BackUp(ctx context.Context, person string) error
}

// System is how the program and its computer stand.
type System struct {
	Version, Go, System string
	Started             time.Time
	Folder              string
	HistoryBytes        int64
	// HistoryProblem is why history is not being kept; Unsealed why it can't be packed.
	HistoryProblem, Unsealed string
	// DiskFree and DiskTotal are in bytes; both zero where the disk can't be asked.
	DiskFree, DiskTotal uint64
	// BackupFolder is empty where no backups are configured.
	BackupFolder  string
	BackupEvery   time.Duration
	Backup        Backup    // the newest, zero before the first
	BackupProblem error     // of the last try
	Stamp         *Stamp    // nil where no authority stamps the record book
	Messages      *Messages // nil where nobody is told outside of the room
	Faults        []Fault
}

// Messages are those to people outside: how many wait, when the last was delivered since
// the start, and why one could not be.
type Messages struct {
	Waiting   int
	Delivered time.Time
	Problem   error
}

// Stamp is the newest time stamp of the record book, zero before the first.
type Stamp struct {
	At        time.Time
	Record    uint64
	Authority string
	Problem   error // why there is no newer one
}

// Backup is one copy of the history that was made and verified.
type Backup struct {
	At     time.Time
	File   string
	Bytes  int64
	Record uint64
}

// Fault is a warning or an error that the program logged.
type Fault struct {
	At        time.Time // of the newest
	Text, Why string
	Do        string // what to do about it
	Grave     bool
	Count     int
}

const actBackup = "backup"

// littleDisk is the share of a disk below which the page asks for room.
const littleDisk = 0.05

type keeperBody struct {
	Problem string
	Checks  []keeperCheck
	Form    *web.AskForm
	Faults  []keeperFault
	Facts   []cards.Fact
}

// keeperCheck is one thing that the keeper is asked: how it stands, and what to do.
type keeperCheck struct {
	Title, Shape, State, More, Do string
	Href, Link                    string
}

type keeperFault struct {
	When, Text, Why, Do, Times string
	Grave                      bool
}

func (s *Pages) keeperPage(w http.ResponseWriter, r *http.Request) {
	site, system := s.View.Now(), s.Maintenance.System()
	f, a := s.figures(site), s.Attempt(r)
	body := keeperBody{Problem: a.Sentence(), Facts: f.systemFacts(system)}
	for _, snap := range site.Rooms {
		body.Checks = append(body.Checks, f.linesCheck(web.LookOf(r), snap))
	}
	body.Checks = append(body.Checks, f.historyCheck(system), f.diskCheck(system), f.backupCheck(system))
	if system.Stamp != nil {
		body.Checks = append(body.Checks, f.stampCheck(*system.Stamp))
	}
	if system.Messages != nil {
		body.Checks = append(body.Checks, f.messagesCheck(*system.Messages))
	}
	if system.BackupFolder != "" {
		body.Form = new(f.Asking(web.LookOf(r), web.About{Act: actBackup, Summary: "Make a backup now", Button: "Back up and verify"}, a))
	}
	for _, x := range system.Faults {
		fault := keeperFault{When: f.WhenExactly(x.At), Text: x.Text, Why: x.Why, Do: x.Do, Grave: x.Grave}
		if x.Count > 1 {
			fault.Times = fmt.Sprintf("%d times", x.Count)
		}
		body.Faults = append(body.Faults, fault)
	}
	s.Show(w, r, http.StatusOK, s.PlacePage(r, web.Head{Name: "keeper", Title: "Computer and software"}, "office.css").With(body))
}

func (f figures) systemFacts(h System) []cards.Fact {
	return []cards.Fact{{Name: "Version", Text: h.Version},
		{Name: "Built with", Text: h.Go + ", " + h.System},
		{Name: "Running since", Text: f.Moment(h.Started)}, {Name: "Time zone",
			Text: f.Now.Wall.In(f.Zone).Format("MST") + ", it is " + f.WhenExactly(f.Now.Wall)}, {Name: "Data folder", Text: h.Folder}}
}

// linesCheck counts the lines of a room that give good frames.
func (f figures) linesCheck(l web.Look, snap *rules.Snapshot) keeperCheck {
	live := 0
	for _, line := range snap.Lines {
		if line.Status.State == sensors.StateLive {
			live++
		}
	}
	c := keeperCheck{Title: fmt.Sprintf("Probe lines, %s", snap.Name), Shape: "moving",
		State: fmt.Sprintf("%d of %d probe lines are read", live, len(snap.Lines)),
		Href:  l.Keep("/rooms/" + snap.Room + "/probes"), Link: "Open Probes"}
	if live < len(snap.Lines) {
		c.Shape, c.Do = "stopped", "Open Probes, see which line is silent, and check its plug and cable."
	}
	return c
}

func (f figures) historyCheck(h System) keeperCheck {
	c := keeperCheck{Title: "History", Shape: "moving", State: "recording",
		More: fmt.Sprintf("%s in the file and its log", f.Bytes(uint64(h.HistoryBytes)))}
	switch {
	case h.HistoryProblem != "":
		c.Shape, c.State, c.Do = "stopped", "NOT RECORDING", h.HistoryProblem
	case h.Unsealed != "":
		c.Shape, c.Do = "low", h.Unsealed
	}
	return c
}

func (f figures) diskCheck(h System) keeperCheck {
	c := keeperCheck{Title: "Disk", Shape: "moving"}
	if h.DiskTotal == 0 {
		c.Shape, c.State = "unknown", "this system does not say"
		return c
	}
	c.State = fmt.Sprintf("%s free of %s", f.Bytes(h.DiskFree), f.Bytes(h.DiskTotal))
	if float64(h.DiskFree) < littleDisk*float64(h.DiskTotal) {
		c.Shape, c.Do = "low", "Free some space before the disk is full: nothing can be saved on a full disk."
	}
	return c
}

func (f figures) backupCheck(h System) keeperCheck {
	c := keeperCheck{Title: "Backup", Shape: "moving"}
	switch {
	case h.Backup.At.IsZero():
		c.Shape, c.State = "unknown", "none yet"
	default:
		age := f.Now.Wall.Sub(h.Backup.At)
		c.State = fmt.Sprintf("%s, %s, verified", f.Moment(h.Backup.At), f.Bytes(uint64(h.Backup.Bytes)))
		c.More = fmt.Sprintf("%s, record %d", h.Backup.File, h.Backup.Record)
		if h.BackupFolder != "" && age > 2*h.BackupEvery {
			c.Shape = "stopped"
		}
	}
	switch {
	case h.BackupProblem != nil:
		c.Shape, c.Do = "stopped", f.ErrorText(h.BackupProblem)
	case h.BackupFolder == "":
		c.Do = "Add a [backup] table with a folder on another disk to the configuration; wetside backup makes one by hand."
	}
	return c
}

func (f figures) stampCheck(s Stamp) keeperCheck {
	c := keeperCheck{Title: "Time stamp of the record book", Shape: "moving", State: "none yet"}
	if !s.At.IsZero() {
		c.State, c.More = fmt.Sprintf("%s, record %d", f.Moment(s.At), s.Record), s.Authority
	}
	if s.Problem != nil {
		c.Shape, c.Do = "low", f.ErrorText(s.Problem)
	}
	return c
}

func (f figures) messagesCheck(m Messages) keeperCheck {
	c := keeperCheck{Title: "Messages to people outside", Shape: "moving", State: "none since the start"}
	if !m.Delivered.IsZero() {
		c.State = fmt.Sprintf("last delivered %s", f.Moment(m.Delivered))
	}
	if m.Waiting > 0 {
		c.Shape, c.More = "low", web.Count(m.Waiting, "%d message waits and is tried again", "%d messages wait and are tried again")
	}
	if m.Problem != nil {
		c.Shape, c.Do = "low", f.ErrorText(m.Problem)
	}
	return c
}

func (s *Pages) keeperPost(w http.ResponseWriter, r *http.Request) {
	s.Once(w, r, func(ctx context.Context, t web.Typed) (string, *web.Problem) {
		f := s.figures(s.View.Now()).Reader(t.More)
		person := f.Who()
		if f.Problem != nil {
			return "", f.Problem
		}
		if err := s.Maintenance.BackUp(ctx, person); err != nil {
			return "", &web.Problem{Field: "act", Sentence: s.ErrorText(err)}
		}
		made := s.Maintenance.System().Backup
		return fmt.Sprintf("Backup %[2]s made and verified (record %[1]d).", made.Record, made.File), nil
	})
}
