package dashboard

import (
	"context"
	"net/http"
	"time"

	"wetside/rules"
	"wetside/sensors"
)

// Keeping is what the keeper of the computer asks of the program.
type Keeping interface {
	// House says how the program and its computer stand. It never waits.
	House() House
	// BackUp copies the history now and returns once the copy is verified. The error
	// is one sentence for the person who pressed the button.
	BackUp(ctx context.Context, person string) error
}

// House is how the program and its computer stand.
type House struct {
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
	BackupKeep    int
	Backup        Backup // the newest, zero before the first
	BackupProblem error  // of the last try
	Faults        []Fault
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

// keeperBody is the page of the keeper.
type keeperBody struct {
	Receipt, Problem string
	Checks           []keeperCheck
	Form             *askForm
	Faults           []keeperFault
	Facts            []fact
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

func (s *keepPages) keeperPage(w http.ResponseWriter, r *http.Request) {
	site, house := s.View.Now(), s.keeping.House()
	f, a := s.figures(site), s.attempt(r)
	body := keeperBody{Receipt: s.receipt(r), Facts: f.houseFacts(house)}
	if a.problem != nil {
		body.Problem = a.problem.Sentence
	}
	for _, snap := range site.Rooms {
		body.Checks = append(body.Checks, f.linesCheck(lookOf(r), snap))
	}
	body.Checks = append(body.Checks, f.historyCheck(house), f.diskCheck(house), f.backupCheck(house))
	if house.BackupFolder != "" {
		form := f.asking(lookOf(r), about{act: actBackup, summary: s.words.Say("keeper.back-up"), button: s.words.Say("button.back-up")}, a)
		body.Form = &form
	}
	for _, x := range house.Faults {
		body.Faults = append(body.Faults, keeperFault{f.whenExactly(x.At), x.Text, x.Why, x.Do, s.times(x.Count), x.Grave})
	}
	p := s.placePage(r, "keeper", "office.css")
	p.Body = body
	s.show(w, r, http.StatusOK, p)
}

func (s *keepPages) times(n int) string {
	if n == 1 {
		return ""
	}
	return s.words.Say("keeper.times", n)
}

func (f figures) houseFacts(h House) []fact {
	return []fact{{f.words.Say("keeper.version"), h.Version}, {f.words.Say("keeper.built"), h.Go + ", " + h.System},
		{f.words.Say("keeper.since"), f.moment(h.Started)}, {f.words.Say("keeper.clock"), f.whenExactly(f.now.Wall) + ", " + f.zone.String()}, {f.words.Say("keeper.folder"), h.Folder}}
}

// linesCheck counts the lines of a room that give good frames.
func (f figures) linesCheck(l look, snap *rules.Snapshot) keeperCheck {
	live := 0
	for _, line := range snap.Lines {
		if line.Status.State == sensors.StateLive {
			live++
		}
	}
	c := keeperCheck{Title: f.words.Say("keeper.lines", snap.Name), Shape: "moving", State: f.words.Say("keeper.live", live, len(snap.Lines)),
		Href: "/rooms/" + snap.Room + "/probes", Link: f.words.Say("keeper.to-probes")}
	if l == red {
		c.Href += "?look=red"
	}
	if live < len(snap.Lines) {
		c.Shape, c.Do = "stopped", f.words.Say("keeper.look-at-lines")
	}
	return c
}

func (f figures) historyCheck(h House) keeperCheck {
	c := keeperCheck{Title: f.words.Say("keeper.history"), Shape: "moving", State: f.words.Say("keeper.kept"), More: f.words.Say("keeper.size", f.units.Bytes(uint64(h.HistoryBytes)))}
	switch {
	case h.HistoryProblem != "":
		c.Shape, c.State, c.Do = "stopped", f.words.Say("keeper.not-kept"), h.HistoryProblem
	case h.Unsealed != "":
		c.Shape, c.Do = "low", h.Unsealed
	}
	return c
}

func (f figures) diskCheck(h House) keeperCheck {
	c := keeperCheck{Title: f.words.Say("keeper.disk"), Shape: "moving"}
	if h.DiskTotal == 0 {
		c.Shape, c.State = "unknown", f.words.Say("keeper.no-disk")
		return c
	}
	c.State = f.words.Say("keeper.free", f.units.Bytes(h.DiskFree), f.units.Bytes(h.DiskTotal))
	if float64(h.DiskFree) < littleDisk*float64(h.DiskTotal) {
		c.Shape, c.Do = "low", f.words.Say("keeper.make-room")
	}
	return c
}

func (f figures) backupCheck(h House) keeperCheck {
	c := keeperCheck{Title: f.words.Say("keeper.backup"), Shape: "moving"}
	switch {
	case h.Backup.At.IsZero():
		c.Shape, c.State = "unknown", f.words.Say("keeper.no-backup")
	default:
		age := f.now.Wall.Sub(h.Backup.At)
		c.State = f.words.Say("keeper.backed-up", f.moment(h.Backup.At), f.units.Bytes(uint64(h.Backup.Bytes)))
		c.More = f.words.Say("keeper.backup-file", h.Backup.File, h.Backup.Record)
		if h.BackupFolder != "" && age > 2*h.BackupEvery {
			c.Shape = "stopped"
		}
	}
	switch {
	case h.BackupProblem != nil:
		c.Shape, c.Do = "stopped", f.sentenceOf(h.BackupProblem)
	case h.BackupFolder == "":
		c.Do = f.words.Say("keeper.configure-backup")
	}
	return c
}

func (s *keepPages) keeperPost(w http.ResponseWriter, r *http.Request) {
	s.once(w, r, func(ctx context.Context, t typed) (string, *problem) {
		f := s.figures(s.View.Now()).reader()
		person := f.text("who", t.Who, longestName, true)
		if f.problem != nil {
			return "", f.problem
		}
		ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), actWithin)
		defer cancel()
		if err := s.keeping.BackUp(ctx, person); err != nil {
			return "", &problem{"act", s.sentenceOf(err)}
		}
		made := s.keeping.House().Backup
		return s.words.Say("keeper.made", made.Record, made.File), nil
	})
}
