package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"go.uber.org/zap"

	"wetside/chem/ledger"
	"wetside/daemon"
	"wetside/daemon/config"
	"wetside/daemon/history"
	"wetside/daemon/history/disk"
	"wetside/dashboard/record"
	"wetside/rules"
	"wetside/rules/session"
	"wetside/sensors/simroom"
)

const (
	pastWeeks = 8
	// pastStep is how often the probes of the invented past are heard: as seldom as none of
	// them counts as silent.
	pastStep = 14 * time.Second
	// eveningLasts is from switching the computer on to switching it off.
	eveningLasts = 3*time.Hour + 15*time.Minute
)

type pastEvening struct {
	begins time.Time
	number int
	// room is what happens in the simulated room, beside what happens every evening, and
	// deaf from when to when the plug of the duct is out.
	room string
	deaf [2]time.Duration
	// answer is what was done about the alarms of the evening, and answered when.
	answer   string
	answered time.Duration
}

// pastEvenings are those of some weeks and of this week before today: Monday, Wednesday and Thursday.
// On one the fan was switched off in the midst of the class, and on another the plug of the
// duct probe was out.
func pastEvenings(today time.Time, weeks int) (list []pastEvening) {
	monday := today.AddDate(0, 0, -7*weeks-(int(today.Weekday())+6)%7)
	for week := range weeks + 1 {
		for _, day := range []int{0, 2, 3} {
			d := monday.AddDate(0, 0, 7*week+day)
			if !d.Before(today.Truncate(24 * time.Hour)) {
				return list
			}
			e := pastEvening{begins: time.Date(d.Year(), d.Month(), d.Day(), 17, 45, 0, 0, today.Location()), number: len(list)}
			switch len(list) {
			case 3 * weeks / 2:
				e.room, e.answer, e.answered = "1h50m stop fan; 2h6m start fan;", "switched the fan on again (invented)", 125*time.Minute
			case 3*weeks - 4:
				e.deaf, e.answer, e.answered = [2]time.Duration{70 * time.Minute, 95 * time.Minute}, "put the plug of the duct back (invented)",
					94*time.Minute
			}
			list = append(list, e)
		}
	}
	return list
}

// everyEvening is what happens in the simulated room on each evening of the past.
const everyEvening = "0s start fan; 0s people 1; 4m fill trays; 30m people 8; 80m people 11; 2h20m people 5; 2h45m cover trays; 2h55m " +
	"empty trays; 3h5m people 0"

// playPast writes eight weeks of invented evenings, through the acts and the loops of real ones.
// After each fifth it says how many are done: a busy computer takes minutes.
func playPast(out io.Writer, room config.Room, evenings []pastEvening) func(context.Context, *daemon.Rehearsal) error {
	return func(ctx context.Context, r *daemon.Rehearsal) error {
		p := &pastPlace{Rehearsal: r, room: room, stock: stock{}}
		for i, e := range evenings {
			if err := p.play(ctx, e); err != nil {
				return fmt.Errorf("the invented evening of %s: %w", e.begins.Format(time.DateOnly), err)
			}
			if done := i + 1; done%5 == 0 && done < len(evenings) {
				p.keep(writeLine(out, fmt.Sprintf("%d of %d evenings are written.", done, len(evenings))))
			}
		}
		return nil
	}
}

// invent writes the invented past of the room, where there is none yet, and says of how many
// evenings it is.
func (c *demoCmd) invent(ctx context.Context, out io.Writer, site config.Config, log *zap.Logger) (evenings int, err error) {
	if c.Empty {
		return 0, nil
	}
	return inventPast(ctx, out, site, pastPlan{pastEvenings(time.Now().In(site.Zone), pastWeeks), log})
}

type pastPlan struct {
	evenings []pastEvening
	log      *zap.Logger
}

func inventPast(ctx context.Context, out io.Writer, site config.Config, plan pastPlan) (evenings int, err error) {
	past := plan.evenings
	if _, err := os.Stat(filepath.Join(site.Data, history.FileName)); err == nil {
		return len(past), nil
	}
	if err := writeLine(out, "Inventing eight weeks of evenings, once. This takes ten seconds, or minutes on a busy computer."); err != nil {
		return 0, err
	}
	// A past that was broken off is begun again, so it is made apart from where it is used.
	home := site.Data
	site.Data = filepath.Join(home, "inventing")
	if err := os.RemoveAll(site.Data); err != nil {
		return 0, fmt.Errorf("what is left of an earlier try can't be removed: %w", err)
	}
	err = daemon.Rehearse(ctx, daemon.Options{Config: site, Simulated: true, Version: version(),
		Log: plan.log.WithOptions(zap.IncreaseLevel(zap.ErrorLevel))}, past[0].begins, playPast(out, site.Rooms[0], past))
	if err != nil {
		return 0, err
	}
	return len(past), moveHome(site.Data, home)
}

// moveHome moves a finished past to where it is used, the history first: without it there
// is no past, and it is begun again.
func moveHome(from, to string) error {
	made, err := os.ReadDir(from)
	if err != nil {
		return fmt.Errorf("the invented past can't be found: %w", err)
	}
	slices.SortStableFunc(made, func(a, b os.DirEntry) int {
		return cmp.Compare(len(strings.TrimPrefix(a.Name(), history.FileName)), len(strings.TrimPrefix(b.Name(), history.FileName)))
	})
	for _, entry := range made {
		if err := disk.InPlace(filepath.Join(from, entry.Name()), filepath.Join(to, entry.Name())); err != nil {
			return fmt.Errorf("the invented past can't be put in place: %w", err)
		}
	}
	return os.Remove(from)
}

// pastPlace is the place while its past is played.
type pastPlace struct {
	*daemon.Rehearsal
	room    config.Room
	session string
	stock   stock
	failed  error
}

// lastEyewash is the evening from which on nobody ran the eyewash: one duty is overdue.
const lastEyewash = 20

// act is something that somebody does at a time of an evening.
type act struct {
	at time.Duration
	do func(context.Context)
}

func (p *pastPlace) play(ctx context.Context, e pastEvening) error {
	if err := p.BeginEvening(ctx, e.begins); err != nil {
		return err
	}
	events, err := simroom.ParseSchedule(everyEvening + "; " + e.room)
	if err != nil {
		return err
	}
	p.session = "class of " + e.begins.Format("2 January")
	acts := p.acts(e)
	next := pastStep
	simroom.Play(simroom.Options{Seed: uint64(e.number), Events: events}, eveningLasts, func(elapsed time.Duration, says map[string]float64) {
		if elapsed < next || p.failed != nil || ctx.Err() != nil {
			return
		}
		next += pastStep
		p.Hear(ctx, pastStep, heard(says, e, elapsed))
		for len(acts) > 0 && acts[0].at <= elapsed {
			acts[0].do(ctx)
			acts = acts[1:]
		}
	})
	if p.failed != nil {
		return p.failed
	}
	return ctx.Err()
}

// heard is what comes over the lines, by the addresses of the probes on them.
func heard(says map[string]float64, e pastEvening, elapsed time.Duration) map[string]float64 {
	all := map[string]float64{}
	registers := simroom.Registers()
	for name, value := range says {
		register, ofDuct := registers[name]
		switch {
		case !ofDuct:
			all[name] = value
		case elapsed < e.deaf[0] || elapsed >= e.deaf[1]:
			all[register.Address()] = value
		}
	}
	return all
}

func (p *pastPlace) keep(err error) {
	if p.failed == nil {
		p.failed = err
	}
}

// enters is something that goes into the book of the shelf.
func (p *pastPlace) enters(at time.Duration, by string, acts ...ledger.Act) act {
	return act{at, func(ctx context.Context) {
		for _, a := range acts {
			if err := p.Enter(ctx, daemon.ShelfEntry{Room: p.room.ID, Person: by, Session: p.session, Act: a}); err != nil {
				p.keep(fmt.Errorf("%s: %w", a.Sentence(), err))
			}
		}
	}}
}

func (p *pastPlace) does(at time.Duration, by string, a rules.Act) act {
	return act{at, func(ctx context.Context) {
		if err := p.Do(ctx, rules.Command{Room: p.room.ID, Person: by, Act: a}); err != nil {
			p.keep(fmt.Errorf("%s: %w", a.Kind(), err))
		}
	}}
}

func (p *pastPlace) answerAlarms(ctx context.Context, done string) {
	for _, a := range p.Site().Now().Rooms[0].Alarms {
		p.keep(p.Do(ctx, rules.Command{Room: p.room.ID, Person: cyn, Act: rules.AcknowledgeAlarm{Alarm: a.ID, Done: done}}))
	}
}

// The people of the invented place.
const (
	ada = "Ada (invented)"
	ben = "Ben (invented)"
	cyn = "Cyn (invented)"
	dee = "Dee (invented)"
)

// acts are what people do on an evening, in the order of time.
func (p *pastPlace) acts(e pastEvening) []act {
	volunteer := []string{ada, ben}[e.number%2]
	var list []act
	add := func(more ...act) { list = append(list, more...) }
	if e.number == 0 {
		add(p.enters(time.Minute, ada, firstStock()...))
	}
	add(p.enters(2*time.Minute, volunteer, ledger.SessionOpened{Session: p.session, Title: "Invented evening class", Lead: volunteer}))
	add(p.enters(4*time.Minute, volunteer, p.stock.setUp(e.number)...))
	for _, at := range []time.Duration{60, 90, 120, 150} {
		add(p.enters(at*time.Minute, cyn, ledger.SheetsUsed{Containers: trayNames(), Material: ledger.ResinCoated, Count: 4 + e.number%3,
			SheetArea: ledger.EightByTen}))
	}
	if e.answer != "" {
		add(act{e.answered, func(ctx context.Context) { p.answerAlarms(ctx, e.answer) }})
	}
	add(p.keeping(e)...)
	if e.number%3 == 1 && e.number < lastEyewash {
		add(act{15 * time.Minute, p.dutyDone("eyewash-run", volunteer, "ran clear for three minutes (invented)")})
	}
	add(p.enters(165*time.Minute, volunteer, ledger.TraysCovered{Containers: trayNames()}))
	add(p.enters(175*time.Minute, volunteer, takeDown(e.number)...))
	add(p.enters(180*time.Minute, volunteer, ledger.SessionClosed{Session: p.session}), p.does(181*time.Minute, volunteer,
		rules.EndSession{Phase: session.Closed, Note: "room left tidy (invented)"}))
	slices.SortStableFunc(list, func(a, b act) int { return cmp.Compare(a.at, b.at) })
	return list
}

// keeping is what the keeper and the manager do on some evenings.
func (p *pastPlace) keeping(e pastEvening) (list []act) {
	at := func(minute time.Duration, a rules.Act) { list = append(list, p.does(minute*time.Minute, dee, a)) }
	switch e.number {
	case 1:
		for _, a := range probeActs(p.room, e.begins.UTC()) {
			at(20, a)
		}
		at(25, rules.ConfirmClock{Against: "radio clock of the corridor (invented)", Seen: e.begins.Add(25 * time.Minute)})
	case 2:
		a, err := traverse(dee, e.begins.UTC())
		p.keep(err)
		at(22, a)
		list = append(list, act{30 * time.Minute, p.dutyDone("exhaust-test", dee, "report of the invented traverse")})
	case 5:
		at(20, rules.TestSounder{Where: "loudspeaker of the board (invented)", Heard: true})
		at(24, rules.RecordDrill{What: "fan off", Found: "all left within two minutes (invented)"})
	}
	return list
}

func (p *pastPlace) dutyDone(duty, by, evidence string) func(context.Context) {
	return func(ctx context.Context) {
		_, err := p.Site().Reports().DoneDuty(ctx, record.DutyEntry{Duty: duty, Person: by, Evidence: evidence})
		p.keep(err)
	}
}
