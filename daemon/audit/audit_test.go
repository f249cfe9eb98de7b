package audit_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"wetside/chem/ledger"
	"wetside/configs"
	"wetside/daemon/audit"
	"wetside/daemon/config"
	"wetside/daemon/history"
	"wetside/dashboard/locale"
	"wetside/dashboard/report"
	"wetside/rules"
	"wetside/rules/alarm"
	"wetside/rules/breathing"
	"wetside/rules/duty"
	"wetside/rules/record"
	"wetside/rules/session"
	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/clocktest"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// place is an invented place whose history a test writes.
type place struct {
	testing.TB
	dir   string
	clock *clocktest.Manual
	store *history.Store
	site  config.Config
	close func()
	// during is called at each minute of an evening.
	during func(minute int)
}

func term() time.Time { return time.Date(2026, 9, 1, 0, 0, 0, 0, time.UTC) }

func newPlace(t testing.TB) *place {
	p := &place{TB: t, dir: t.TempDir(), clock: clocktest.New(term().Add(17 * time.Hour))}
	var err error
	p.store, err = history.Open(t.Context(), history.Options{Dir: p.dir, Clock: p.clock, Zone: time.UTC, Version: "test"})
	require.NoError(t, err)
	p.close = sync.OnceFunc(func() { require.NoError(t, p.store.Close()) })
	t.Cleanup(p.close)
	p.site, err = config.Parse("demo.toml", configs.Demo)
	require.NoError(t, err)
	p.site.Zone = time.UTC
	// One probe of the flow, so that the flow is not known while that probe says nothing.
	p.site.Rooms[0].Channels = slices.DeleteFunc(p.site.Rooms[0].Channels, func(c sensors.Channel) bool { return c.ID == "duct-pressure" })
	for i := range p.site.Rooms[0].Gases {
		if g := &p.site.Rooms[0].Gases[i]; g.Channel == "room-co2" {
			g.Sensor.FullScale = 40000 // its short-term limit lies within the range
		}
	}
	p.site.Duties = []duty.Duty{{ID: "eyewash", Name: "Eyewash", Owner: "Technician", Why: "invented", Every: duty.Interval{Days: 7}}}
	require.NoError(t, audit.Keep(t.Context(), p.store, p.site.Settings()))
	require.NoError(t, p.store.RegisterChannels(t.Context(), "practice", p.site.Rooms[0].Channels))
	return p
}

// record writes a record with any content.
func (p *place) record(e history.Entry, content any) history.Record {
	var err error
	e.Content, err = json.Marshal(content)
	require.NoError(p, err)
	e.Room = "practice"
	r, err := p.store.Record(p.Context(), e)
	require.NoError(p, err)
	return r
}

func (p *place) phase(s session.Session) {
	s.Since = p.clock.Now().Wall
	p.record(history.Entry{Kind: rules.SessionPhase}, rules.Event{Subject: "practice", To: string(s.Phase), Session: &s})
}

func (p *place) alarm(to, from alarm.State, by, note string) {
	a := alarm.Alarm{ID: "air", State: to, Text: phrase.Say("The air does not move."), By: by, Note: note}
	p.record(history.Entry{Kind: rules.AlarmChange, Person: by}, rules.Event{Subject: "air", From: string(from), To: string(to),
		Cause: "0.1 m/s", Alarm: &a})
}

// evening is a session of two hours with 2 m/s in the duct, but for ten minutes in
// which the line was gone.
func (p *place) evening() {
	begun := p.clock.Now().Wall
	s := session.Session{Phase: session.Open, Title: "Class", Leader: "Ada", Begun: begun}
	p.phase(s)
	for minute := range 120 {
		if p.during != nil {
			p.during(minute)
		}
		var b history.Batch
		for second := 0; second < 60; second += 10 {
			at := p.clock.Now().Wall.Add(time.Duration(second) * time.Second)
			for _, c := range p.site.Rooms[0].Channels {
				if c.ID == "duct-velocity" && minute >= 60 && minute < 70 {
					continue
				}
				b.Samples = append(b.Samples, history.Sample{Channel: c.ID, At: at, Raw: 2, Grade: 2})
			}
		}
		if minute == 70 {
			b.GapsOpened = []history.Gap{{Channel: "duct-velocity", From: begun.Add(59*time.Minute + 50*time.Second), To: p.clock.Now().Wall,
				Cause: "line gone"}}
		}
		require.NoError(p, p.store.Append(p.Context(), b))
		p.clock.Advance(time.Minute)
	}
	s.Phase = session.Closed
	s.Tally = session.Tally{Trays: breathing.TrayTally{Open: 100 * time.Minute, Unproven: 10 * time.Minute}, Known: 90 * time.Minute,
		FanTime: 110 * time.Minute, To: p.clock.Now().Wall}
	p.phase(s)
}

func (p *place) gather(from, to time.Time) report.Data {
	d, err := audit.Gather(p.Context(), &p.store.Reader, audit.Question{From: from, To: to, Zone: time.UTC, Now: p.clock.Now().Wall,
		Version: "test"})
	require.NoError(p, err)
	return d
}

func TestAnEveningIsToldAsItWas(t *testing.T) {
	p := newPlace(t)
	p.evening()
	p.site.Rooms[0].Volume = 15
	require.NoError(t, audit.Keep(t.Context(), p.store, p.site.Settings()))
	p.clock.Advance(24 * time.Hour)
	p.evening()
	d := p.gather(term(), term().AddDate(0, 0, 30))

	require.True(t, d.Book.Holds)
	require.Len(t, d.Sessions, 2)
	first := d.Sessions[0]
	require.Equal(t, 100*time.Minute, first.Uncovered)
	require.Equal(t, term().Add(19*time.Hour), first.Ended.UTC())
	// 2 m/s x the area of 15 cm x factor 0.9 x 3600 s / 30 m³, by the room's formula on paper.
	want := 2 * 3.14159265 / 4 * 0.15 * 0.15 * 0.9 * 3600 / 30
	require.InDelta(t, want, *first.Lowest, 0.001)
	require.InDelta(t, want, *first.Typical, 0.001)
	require.InDelta(t, 2*want, *d.Sessions[1].Typical, 0.001, "the volume in force then counts, not the one of today")

	for _, c := range d.Coverage {
		require.Equal(t, c.Required, c.Valid+c.Missing)
		if c.Channel != "duct-velocity" {
			require.Less(t, c.Missing, 15*time.Second, c.Channel)
			continue
		}
		require.Equal(t, 10*time.Minute+10*time.Second, c.Longest, "from the last reading before the silence to the next one")
	}
	duct := slices.IndexFunc(d.Gaps, func(g report.Gap) bool { return g.Channel == "duct-velocity" })
	require.Equal(t, "port lost", d.Gaps[duct].Cause.String())
	require.Len(t, d.Minutes, 240)
	require.Equal(t, 0, d.Minutes[65].Readings)
	require.Nil(t, d.Minutes[65].Mean, "a minute without a reading has no value")

	short := slices.IndexFunc(d.Averages, func(a report.Average) bool { return a.Channel == "room-co2" && a.Minutes == 15 })
	require.GreaterOrEqual(t, short, 0, "the simulated room has a short-term limit")
	require.InDelta(t, 2, *d.Averages[short].Low, 1e-9, "every reading says 2 ppm")
	require.InDelta(t, (890*2+10*40000)/900.0, *d.Averages[short].High, 1e-9,
		"ten seconds were not read, and the sensor's range ends at 40,000 ppm")
	require.Equal(t, "within the limit", d.Averages[short].Verdict.String())

	require.Len(t, d.Changes, 1)
	require.Equal(t, []string{"rooms / practice / volume m3", "30", "15"}, []string{d.Changes[0].Name, d.Changes[0].Was, d.Changes[0].Now})
	require.InDelta(t, 15, d.Rooms[0].Volume, 0)
	require.Contains(t, phrase.Join("\n", d.NotMeasured...).String(), "No sound test and no alarm drill was recorded")
	require.Contains(t, phrase.Join("\n", d.NotMeasured...).String(), `The duty "Eyewash" was not recorded as done by the end of this period.`)
}

func TestGasesAreAveragedOverTheSessionAndSetAgainstTheLimitsOfThatDay(t *testing.T) {
	p := newPlace(t)
	begun := p.clock.Now().Wall
	s := session.Session{Phase: session.Open, Begun: begun}
	p.phase(s)
	for minute := range 120 {
		var b history.Batch
		for second := 0; second < 60; second += 10 {
			at := p.clock.Now().Wall.Add(time.Duration(second) * time.Second)
			b.Samples = append(b.Samples, history.Sample{Channel: "room-co2", At: at, Raw: float64(1000 + 2000*(minute/60)), Grade: 2})
		}
		require.NoError(t, p.store.Append(t.Context(), b))
		p.clock.Advance(time.Minute)
	}
	s.Phase = session.Closed
	p.phase(s)
	averages := map[float64]report.Average{}
	for _, a := range p.gather(term(), term().AddDate(0, 0, 2)).Averages {
		if a.Channel == "room-co2" {
			averages[a.Minutes] = a
		}
	}
	require.InEpsilon(t, 3000, *averages[15].Low, 0.02, "the worst quarter of an hour")
	require.InEpsilon(t, (1000+3000)/8.0, *averages[480].Low, 0.02, "one hour of each in eight, the rest nothing")
	require.InEpsilon(t, (1000+3000+6*40000)/8.0, *averages[480].High, 0.02, "the rest as the end of the sensor's range")
	require.Equal(t, "can't tell", averages[480].Verdict.String())
	require.InDelta(t, 25, averages[480].Known, 0.5)
}

func TestAlarmsAreFollowedFromRiseToEnd(t *testing.T) {
	p := newPlace(t)
	p.alarm(alarm.Unacknowledged, alarm.Normal, "", "")
	p.clock.Advance(95 * time.Second)
	p.alarm(alarm.Acknowledged, alarm.Unacknowledged, "Ada", "turned the timer on")
	p.clock.Advance(5 * time.Minute)
	p.alarm(alarm.Normal, alarm.Acknowledged, "", "")
	p.clock.Advance(time.Hour)
	p.alarm(alarm.Unacknowledged, alarm.Normal, "", "")
	p.clock.Advance(time.Minute)
	p.alarm(alarm.Returned, alarm.Unacknowledged, "", "")
	p.clock.Advance(time.Minute)
	p.alarm(alarm.Normal, alarm.Returned, "Ben", "seen too late")
	p.alarm(alarm.Unacknowledged, alarm.Normal, "", "")
	p.clock.Advance(time.Minute)
	p.record(history.Entry{Kind: rules.AlarmsArmed}, rules.Event{Subject: "practice", From: "armed", To: "not armed"})
	p.alarm(alarm.Suppressed, alarm.Unacknowledged, "", "")
	p.alarm(alarm.Shelved, alarm.Suppressed, "Ada", "probe away for a check")
	p.clock.Advance(time.Hour)
	p.alarm(alarm.Normal, alarm.Shelved, "Ada", "")
	p.alarm(alarm.Unacknowledged, alarm.Normal, "", "")
	d := p.gather(term(), term().AddDate(0, 0, 2))

	require.Len(t, d.Alarms, 4)
	a := d.Alarms
	require.Equal(t, 95*time.Second, a[0].Answered.Sub(a[0].Raised))
	require.Equal(t, []string{"Ada", "turned the timer on"}, []string{a[0].By, a[0].Done})
	require.Equal(t, 6*time.Minute+35*time.Second, a[0].Cleared.Sub(a[0].Raised))
	require.Equal(t, "Ben", a[1].By, "who acknowledges what has gone by has seen it")
	require.Equal(t, time.Minute, a[1].Cleared.Sub(a[1].Raised))
	require.True(t, a[2].Dropped)
	require.Zero(t, a[3].Answered)
	require.Zero(t, a[3].Cleared)
	require.Len(t, d.Aside, 1)
	require.Equal(t, time.Hour, d.Aside[0].Back.Sub(d.Aside[0].From))

	require.Len(t, p.gather(p.clock.Now().Wall.Add(time.Hour), term().AddDate(0, 0, 2)).Alarms, 1,
		"what is still open belongs to a later time as well")
}

// TestASecondStopThatStillStandsIsARowOfItsOwn has a fan that stops, runs again before anybody
// answers, and stops again: the report and the figures of alarms count the same raises.
func TestASecondStopThatStillStandsIsARowOfItsOwn(t *testing.T) {
	p := newPlace(t)
	for _, move := range [][2]alarm.State{{alarm.Unacknowledged, alarm.Normal}, {alarm.Returned, alarm.Unacknowledged},
		{alarm.Unacknowledged, alarm.Returned}} {
		p.alarm(move[0], move[1], "", "")
		p.clock.Advance(2 * time.Minute)
	}
	d := p.gather(term(), term().AddDate(0, 0, 2))
	require.Len(t, d.Alarms, 2)
	require.Equal(t, 2*time.Minute, d.Alarms[0].Cleared.Sub(d.Alarms[0].Raised))
	require.Equal(t, "raised again before anybody acknowledged", d.Alarms[0].Why.String())
	require.Zero(t, d.Alarms[1].Cleared, "the second stop still stands")
	require.False(t, d.Alarms[1].Dropped)

	records, err := p.store.Records(t.Context(), history.Query{Kinds: rules.AlarmKinds()})
	require.NoError(t, err)
	var told []record.Record
	for _, r := range records {
		told = append(told, record.Record{Kind: r.Kind, Number: r.Number, Room: r.Room, At: r.At, Content: r.Content})
	}
	counted := alarm.Count(rules.AlarmTransitions(told), alarm.Span{From: term(), To: p.clock.Now().Wall})
	require.Equal(t, len(d.Alarms), counted.Raised)
	require.Empty(t, counted.Answered)
}

// TestTheRoomWasLeftOnlyWhereTheBookSaysSo suppresses an alarm once while the room is armed and
// once when no session is open and no tray filled any more.
func TestTheRoomWasLeftOnlyWhereTheBookSaysSo(t *testing.T) {
	p := newPlace(t)
	for _, armed := range []string{"armed", "not armed"} {
		p.alarm(alarm.Unacknowledged, alarm.Normal, "", "")
		p.record(history.Entry{Kind: rules.AlarmsArmed}, rules.Event{Subject: "practice", To: armed})
		p.alarm(alarm.Suppressed, alarm.Unacknowledged, "", "")
		p.clock.Advance(time.Minute)
	}
	d := p.gather(term(), term().AddDate(0, 0, 2))
	require.Len(t, d.Alarms, 2)
	require.False(t, d.Alarms[0].Dropped)
	require.Equal(t, "another alarm explained this one, or the bath was emptied", d.Alarms[0].Why.String())
	require.True(t, d.Alarms[1].Dropped)
}

// TestARunningSessionIsToldAsItIsNowOrAsOfItsLastCount has counts of the book that are three
// minutes old.
func TestARunningSessionIsToldAsItIsNowOrAsOfItsLastCount(t *testing.T) {
	p := newPlace(t)
	begun := p.clock.Now().Wall
	p.clock.Advance(10 * time.Minute)
	recorded := session.Session{Phase: session.Open, Begun: begun, Tally: session.Tally{Trays: breathing.TrayTally{Open: 10 * time.Minute},
		To: p.clock.Now().Wall}}
	p.phase(recorded)
	p.clock.Advance(3 * time.Minute)
	live := recorded
	live.Tally = session.Tally{Trays: breathing.TrayTally{Open: 13 * time.Minute, Unproven: time.Minute, TrayUnproven: time.Minute},
		To: p.clock.Now().Wall}
	q := audit.Question{From: term(), To: term().AddDate(0, 0, 2), Zone: time.UTC, Now: p.clock.Now().Wall}
	book, err := audit.Gather(t.Context(), &p.store.Reader, q)
	require.NoError(t, err)
	require.Equal(t, 10*time.Minute, book.Sessions[0].Uncovered)
	require.Equal(t, begun.Add(10*time.Minute), book.Sessions[0].AsOf, "only the recorded count is known, and is told as of then")
	q.Live = audit.Running{"practice": live}
	now, err := audit.Gather(t.Context(), &p.store.Reader, q)
	require.NoError(t, err)
	require.Equal(t, 13*time.Minute, now.Sessions[0].Uncovered)
	require.Equal(t, time.Minute, now.Sessions[0].Unproven)
	require.Equal(t, p.clock.Now().Wall, now.Sessions[0].AsOf)
	sitting, err := audit.NewChronicle(&p.store.Reader).Between(t.Context(), "practice", q)
	require.NoError(t, err)
	require.Equal(t, now.Sessions, sitting.Sessions, "the page of weeks says what the report says")
	live.Begun = begun.Add(-time.Hour)
	q.Live = audit.Running{"practice": live}
	other, err := audit.Gather(t.Context(), &p.store.Reader, q)
	require.NoError(t, err)
	require.Equal(t, book.Sessions, other.Sessions, "another session's counts are not taken for it")
}

func TestChemistryCountsWhatHolds(t *testing.T) {
	p := newPlace(t)
	mixed := ledger.BatchMixed{Batch: "DEV-1", Name: "Developer", Class: ledger.PrintDeveloper, Into: "tray",
		Meant: ledger.FromConcentrate, From: "bottle", ParentVolume: 200, Water: 1800, Owner: ledger.House}
	first := p.record(history.Entry{Kind: mixed.Kind(), Person: "Ida"}, map[string]any{"act": mixed})
	mixed.Water = 1600
	correction := ledger.Correction{Of: first.Number, Instead: mixed, Reason: "the graduate was read wrongly"}
	act, err := ledger.EncodeAct(correction)
	require.NoError(t, err)
	p.record(history.Entry{Kind: correction.Kind(), Person: "Ida", Corrects: first.Number, Reason: correction.Reason},
		map[string]any{"act": json.RawMessage(act)})
	p.record(history.Entry{Kind: duty.Kind, Person: "Ida", Happened: term()}, duty.Note{Duty: "eyewash", Evidence: "three minutes, clear"})
	silver := ledger.SilverMeasured{Container: "drum", Silver: ledger.SilverFigure{Low: 5, High: 5}, Method: ledger.Laboratory,
		Sampled: term(), Reference: "paper 7"}
	p.record(history.Entry{Kind: silver.Kind(), Person: "Ida"}, map[string]any{"act": silver})
	misread := p.record(history.Entry{Kind: silver.Kind(), Person: "Ida"}, map[string]any{"act": silver})
	back := ledger.Correction{Of: misread.Number, Reason: "entered twice"}
	act, err = ledger.EncodeAct(back)
	require.NoError(t, err)
	p.record(history.Entry{Kind: back.Kind(), Person: "Ida", Corrects: misread.Number, Reason: back.Reason},
		map[string]any{"act": json.RawMessage(act)})
	d := p.gather(term(), term().AddDate(0, 0, 2))

	require.Len(t, d.Silver, 1, "what was taken back is no figure")
	require.Equal(t, report.Silver{Record: misread.Number - 1, Sampled: term(), Of: "drum", Figure: "5 mg/L",
		Line: ledger.ReachesLine, Method: phrase.Plain("laboratory"), Reference: "paper 7", Person: "Ida"}, d.Silver[0])
	require.Contains(t, d.Chemistry[2].What.Said().String(), "silver 5 mg/L")
	require.Len(t, d.Chemistry, 5)
	require.Equal(t, "Developer (batch DEV-1): 200 mL from bottle and 1800 mL of water, into tray", d.Chemistry[0].Act.Sentence().String())
	require.Contains(t, d.Chemistry[1].Act.Sentence().String(), "corrected: Developer (batch DEV-1): 200 mL from bottle and 1600 mL of water")
	require.Empty(t, d.Chemistry[0].Counts)
	require.NotZero(t, d.Chemistry[0].CorrectedBy)
	require.Equal(t, "batch mixed", d.Chemistry[1].Counts)
	require.InDelta(t, 1800, *d.Chemistry[1].Volume, 0)
	require.Contains(t, d.Chemistry[0].What.Said().String(), "parent 200 mL")
	require.Contains(t, d.Chemistry[0].What.Said().By(locale.Units{Volume: gallons(t)}), "parent 0.053 US gal",
		"what is laid out of an act is in the units of the place")
	require.Len(t, d.Late, 3)
	require.Equal(t, "Ida", d.People[0].Name)
	require.False(t, d.Duties[0].Overdue)
	require.Equal(t, "three minutes, clear", d.Duties[0].Done[0].Evidence)
}

func TestATimeWithoutDataAndAVeryLongOne(t *testing.T) {
	p := newPlace(t)
	d := p.gather(term().AddDate(-30, 0, 0), term().AddDate(-29, 0, 0))
	require.Zero(t, d.Book.Records)
	require.Contains(t, d.NotMeasured[0].String(), "Nothing was recorded in this period")
	require.Empty(t, d.Duties, "nobody knows what was due")
	before := everything(report.Compose(d))
	require.Contains(t, before, "the ones shown are those")
	require.NotContains(t, before, "the airflow was proven throughout", "of no session")
	require.NotEmpty(t, report.Compose(d).Sections)
	long := p.gather(term().AddDate(-30, 0, 0), term().AddDate(1, 0, 0))
	require.Len(t, long.Rooms, 1)
	require.Contains(t, long.NotMeasured[0].String(), "The period was not over when this report was made: the report ends at 1 Sep 2026 ")
	require.Contains(t, phrase.Join("\n", long.NotMeasured...).String(), "The record book begins at 1 Sep 2026 ",
		"or a report on thirty years would tell of one evening as if nothing had been held before")
	require.NotContains(t, phrase.Join("\n", long.NotMeasured...).String(), "hours of this period")
	ahead := p.gather(term().AddDate(10, 0, 0), term().AddDate(11, 0, 0))
	require.Equal(t, "The period was still in the future when this report was made.", ahead.NotMeasured[0].String())
	require.NotEmpty(t, report.Compose(ahead).Sections)
	for _, q := range []audit.Question{{From: term(), To: term()}, {From: term(), To: term().AddDate(0, 0, -1)},
		{From: term().AddDate(-200, 0, 0), To: term()}} {
		_, err := audit.Gather(t.Context(), &p.store.Reader, q)
		require.Error(t, err)
	}
}

func TestAPackIsWrittenWholeOrNotAtAll(t *testing.T) {
	p := newPlace(t)
	p.evening()
	d := p.gather(term(), term().AddDate(0, 0, 2))
	out := filepath.Join(t.TempDir(), "pack")
	require.NoError(t, os.Mkdir(out, 0o755))
	require.NoError(t, audit.WriteFolder(t.Context(), &p.store.Reader, d, out))
	sums, err := os.ReadFile(filepath.Join(out, report.SumsName))
	require.NoError(t, err)
	entries, err := os.ReadDir(out)
	require.NoError(t, err)
	require.Equal(t, len(entries)-1, strings.Count(string(sums), "\n"))
	records, err := os.ReadFile(filepath.Join(out, "records.csv"))
	require.NoError(t, err)
	require.Equal(t, d.Book.Records+1, strings.Count(string(records), "\n"))

	require.ErrorContains(t, audit.WriteFolder(t.Context(), &p.store.Reader, d, out), "is not empty")
	full := filepath.Join(t.TempDir(), "no", "place")
	require.NoError(t, os.WriteFile(filepath.Dir(full), nil, 0o600))
	require.Error(t, audit.WriteFolder(t.Context(), &p.store.Reader, d, full))
}

func TestATraverseOfTheBookCountsFromItsRecordOn(t *testing.T) {
	p := newPlace(t)
	p.evening()
	a, err := rules.CommissionAir{Section: rules.Section{Shape: rules.RoundDuct, Diameter: 0.15}, AtProbe: 2.5, Instrument: "hot-wire 12",
		Certificate: "C-78",
		Conditions:  "doors closed", CertificateEnds: term().AddDate(1, 0, 0), InstrumentPercent: 4,
		Velocities: slices.Repeat([]quantity.MetrePerSecond{2}, 12)}.Work("Ada", p.clock.Now().Wall)
	require.NoError(t, err)
	r := p.record(history.Entry{Kind: a.Kind(), Person: "Ada"}, a)
	p.record(history.Entry{Kind: a.Kind(), Person: "Ada"}, map[string]any{"shape": "oval"}) // makes no sense
	p.site.Rooms[0].Name = "Another name"
	require.NoError(t, audit.Keep(t.Context(), p.store, p.site.Settings()))
	p.clock.Advance(24 * time.Hour)
	p.evening()
	d := p.gather(term(), term().AddDate(0, 0, 30))
	require.InDelta(t, *d.Sessions[0].Typical/0.9*0.8, *d.Sessions[1].Typical, 1e-9, "the factor was 0.9 and is 2/2.5")
	require.Regexp(t, `hot-wire 12, certificate C-78, uncertainty 5\.0 % \(k = 2\)$`, d.Rooms[0].Commissioned.String())
	factor := slices.IndexFunc(d.Changes, func(c report.Change) bool { return c.Name == "rooms / practice / duct factor" })
	require.GreaterOrEqual(t, factor, 0)
	require.Equal(t, []string{"0.9", "0.8"}, []string{d.Changes[factor].Was, d.Changes[factor].Now})
	require.Equal(t, r.Number, d.Changes[factor].Record)
}

func TestARowOfTheBookAsksFromItsRecordOn(t *testing.T) {
	p := newPlace(t)
	chronicle := audit.NewChronicle(&p.store.Reader)
	p.evening()
	before := p.gather(term(), p.clock.Now().Wall)
	first := p.clock.Now().Wall
	row := rules.RequireAir{Asked: ventilation.AirChangeRate, Value: 15, Amendment: rules.Amendment{Source: "decision of the place",
		Edition: "minutes of October"}}
	r := p.record(history.Entry{Kind: row.Kind(), Person: "Ada"}, row)
	p.record(history.Entry{Kind: row.Kind(), Person: "Ada"}, map[string]any{"asked": 7}) // makes no sense
	p.clock.Advance(24 * time.Hour)
	p.evening()
	p.site.Rooms[0].Name = "Another name" // the file is read again, and knows nothing of the entry
	require.NoError(t, audit.Keep(t.Context(), p.store, p.site.Settings()))
	p.clock.Advance(24 * time.Hour)
	now := p.gather(term(), p.clock.Now().Wall)
	require.Contains(t, now.Rooms[0].Required.String(), "15.0 air changes an hour (450 m³/h), by decision of the place, minutes of October")
	require.NotContains(t, before.Rooms[0].Required.String(), "15.0")
	require.Equal(t, before.Rooms[0].Required, p.gather(term(), first).Rooms[0].Required,
		"the first evening is still judged by what was asked then")
	added := slices.IndexFunc(now.Changes, func(c report.Change) bool { return c.Now == "decision of the place" })
	require.GreaterOrEqual(t, added, 0)
	require.Equal(t, r.Number, now.Changes[added].Record)

	ages := p.between(chronicle, term(), p.clock.Now().Wall).Settings
	require.Len(t, ages, 3, "those of the start, the entry, and the file read again")
	for i, want := range []float64{5.08 * 12 * 3.6, 450, 450} {
		room, known := ages[i].Room("practice")
		require.True(t, known)
		require.InDelta(t, want/0.95, float64(room.FlowLimits(ages[i].At).Low), 0.1, "the traverse is uncertain by 5 %")
	}
}

func TestALimitOfTheBookJudgesFromItsRecordOn(t *testing.T) {
	p := newPlace(t)
	p.evening()
	row := rules.LimitGas{Agent: "acetic acid", Jurisdiction: "the place", Limit: breathing.ShortTerm, Minutes: 15, Value: 1, Unit: "ppm",
		Standing:  breathing.Verified,
		Amendment: rules.Amendment{Source: "decision of the place", Edition: "2026"}}
	r := p.record(history.Entry{Kind: row.Kind(), Person: "Ada"}, row)
	p.clock.Advance(24 * time.Hour)
	p.evening()
	row.Off, row.Why = true, "withdrawn"
	p.record(history.Entry{Kind: row.Kind(), Person: "Ada"}, row)
	p.clock.Advance(24 * time.Hour)
	p.evening()
	d := p.gather(term(), p.clock.Now().Wall)
	judged := map[int]string{}
	for _, a := range d.Averages {
		if strings.Contains(a.Limit.String(), "the place (2026)") {
			judged[a.Session] = a.Verdict.String()
		}
	}
	require.Equal(t, map[int]string{2: "over the limit"}, judged, "every reading is 2 ppm; only the second evening had the limit")
	added := slices.IndexFunc(d.Changes, func(c report.Change) bool { return c.Now == "decision of the place" })
	require.GreaterOrEqual(t, added, 0)
	require.Equal(t, r.Number, d.Changes[added].Record)
}

// TestASessionOverMidnightIsWholeAndCountsToTheDayOnWhichItBegan holds a class from half
// past ten in the evening until half past midnight.
func TestASessionOverMidnightIsWholeAndCountsToTheDayOnWhichItBegan(t *testing.T) {
	p := newPlace(t)
	p.clock.Advance(term().Add(22*time.Hour + 30*time.Minute).Sub(p.clock.Now().Wall))
	p.evening()
	d := p.gather(term(), term().AddDate(0, 0, 1))
	require.Len(t, d.Sessions, 1)
	require.Equal(t, "2026-09-01T22:30:00Z", d.Sessions[0].Begun.Format(time.RFC3339))
	require.Equal(t, "2026-09-02T00:30:00Z", d.Sessions[0].Ended.Format(time.RFC3339))
	require.Equal(t, 100*time.Minute, d.Sessions[0].Uncovered)
	require.NotEmpty(t, d.Coverage)
	for _, c := range d.Coverage {
		require.Equal(t, 2*time.Hour, c.Required)
	}
	require.Empty(t, p.gather(term().AddDate(0, 0, 1), term().AddDate(0, 0, 2)).Sessions, "nothing is counted twice")
}

func gallons(t *testing.T) quantity.Unit {
	u, err := quantity.ParseUnit("gal")
	require.NoError(t, err)
	return u
}
