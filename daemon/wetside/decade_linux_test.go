package main

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/configs"
	"wetside/daemon/audit"
	"wetside/daemon/config"
	"wetside/daemon/history"
	"wetside/daemon/history/pack"
	"wetside/rules"
	"wetside/rules/alarm"
	"wetside/rules/session"
	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/clocktest"
	"wetside/sensors/quantity/phrase"
)

// decadeFolder names a folder that keeps the book of ten years from one run of the benchmarks
// to the next, as it takes minutes to write. It is made where it is not there.
const decadeFolder = "WETSIDE_DECADE"

// The invented ten years: 250 evenings a year, and ten hours of readings every day from noon on.
const (
	decadeDays     = 3650
	decadeEvenings = 2500
	quartersADay   = 40
)

// decade writes the invented book of ten years of the simulated room that ends yesterday.
type decade struct {
	testing.TB
	dir   string
	first time.Time // the first day, at noon
	clock *clocktest.Manual
	store *history.Store
	site  config.Config
}

// tenYears gives the folder of the book: 208,000 records and seventeen channels at 1 Hz, 3 GB.
func tenYears(b testing.TB) *decade {
	d := &decade{TB: b, dir: os.Getenv(decadeFolder)}
	if d.dir == "" {
		d.dir = b.TempDir()
	}
	today := time.Now().UTC().Truncate(24 * time.Hour)
	d.first = today.AddDate(0, 0, -decadeDays).Add(12 * time.Hour)
	mark := filepath.Join(d.dir, "first")
	if text, err := os.ReadFile(mark); err == nil {
		d.first, err = time.Parse(time.RFC3339, string(text))
		require.NoError(b, err)
		return d
	}
	var err error
	d.site, err = config.Parse("demo.toml", configs.Demo)
	require.NoError(b, err)
	d.clock = clocktest.New(d.first)
	d.store, err = history.Open(b.Context(), history.Options{Dir: d.dir, Clock: d.clock, Zone: time.UTC})
	require.NoError(b, err)
	attested := d.firstDay()
	d.records(attested)
	require.NoError(b, d.store.Close())
	d.otherDays()
	require.NoError(b, os.WriteFile(mark, []byte(d.first.Format(time.RFC3339)), 0o600))
	return d
}

// firstDay has every channel read for ten hours, but for a minute in each hour in which
// one of them is silent. It gives the record that attests the day.
func (d *decade) firstDay() json.RawMessage {
	place := d.site.Settings()
	place.Simulated = true
	require.NoError(d, audit.Keep(d.Context(), d.store, place))
	channels := d.site.Rooms[0].Channels
	require.NoError(d, d.store.RegisterChannels(d.Context(), "practice", channels))
	noise := rand.New(rand.NewPCG(1, 2))
	for quarter := range quartersADay {
		var b history.Batch
		for second := range 900 {
			at := d.first.Add(time.Duration(quarter*900+second) * time.Second)
			for i, c := range channels {
				if (quarter*15+second/60)%60 == i && quarter%4 == i%4 {
					continue
				}
				raw := typical(c) * (1 + float64(noise.IntN(21)-10)/1000)
				b.Samples = append(b.Samples, history.Sample{Channel: c.ID, At: at.Add(time.Duration(noise.IntN(5)) * time.Millisecond),
					Raw: float64(int(raw*100)) / 100, Grade: sensors.Good})
			}
		}
		require.NoError(d, d.store.Append(d.Context(), b))
		d.clock.Advance(15 * time.Minute)
	}
	d.clock.Advance(3 * time.Hour) // over midnight
	d.store.Settle(d.Context())
	list, err := d.store.Records(d.Context(), history.Query{Kinds: []string{history.KindAttested}})
	require.NoError(d, err)
	require.Len(d, list, 1)
	return list[0].Content
}

// typical is an invented raw value of a channel.
func typical(c sensors.Channel) float64 {
	return map[sensors.Kind]float64{sensors.BathTemperature: 20, sensors.WaterTemperature: 18, sensors.AirTemperature: 21,
		sensors.RelativeHumidity: 50,
		sensors.RoomPressure:     -5, sensors.DuctVelocity: 4.7, sensors.VelocityPressure: 13.2, sensors.FanCommand: 1,
		sensors.CarbonDioxide: 800,
		sensors.AceticAcid:    2.1, sensors.SulfurDioxide: 0.4}[c.Kind]
}

// records writes what people and the program recorded in ten years.
func (d *decade) records(attested json.RawMessage) {
	day := 1
	for n := range decadeEvenings {
		begun := d.class(n)
		for ; d.first.AddDate(0, 0, day+1).Before(begun); day++ {
			is := d.first.AddDate(0, 0, day)
			d.until(is.Add(13 * time.Hour))
			d.write(history.Entry{Kind: history.KindAttested,
				Content: bytes.ReplaceAll(attested, []byte(d.first.Format(time.DateOnly)), []byte(is.Format(time.DateOnly)))})
		}
		d.evening(n, begun)
	}
}

// class is when a class begins: at six, on five of seven days.
func (d *decade) class(n int) time.Time {
	return d.first.AddDate(0, 0, 1+n*(decadeDays-1)/decadeEvenings).Add(6 * time.Hour)
}

func (d *decade) until(at time.Time) {
	if ahead := at.Sub(d.clock.Now().Wall); ahead > 0 {
		d.clock.Advance(ahead)
	}
}

func (d *decade) write(entries ...history.Entry) {
	_, err := d.store.RecordAll(d.Context(), entries)
	require.NoError(d, err)
}

// evening writes the records of one class of three hours.
func (d *decade) evening(n int, begun time.Time) {
	d.until(begun)
	name := fmt.Sprintf("evening %d", n)
	s := session.Session{Phase: session.Open, Title: "Class (invented)", Leader: "Ada", Begun: begun, Since: begun}
	d.write(append([]history.Entry{d.event(rules.SessionPhase, rules.Event{Session: &s})}, d.setUp(name)...)...)
	var waiting []history.Entry
	for step := range 18 {
		d.until(begun.Add(time.Duration(step+1) * 10 * time.Minute))
		s.Tally = session.Tally{Known: d.clock.Now().Wall.Sub(begun), FanTime: d.clock.Now().Wall.Sub(begun), To: d.clock.Now().Wall}
		waiting = append(waiting, d.event(rules.SessionCounts, rules.Event{Session: &s}),
			d.event(rules.DevelopmentTime, rules.Event{Subject: "developer", From: "2:00", To: "2:10", Cause: "invented"}))
		if step%2 == 0 {
			for _, state := range []alarm.State{alarm.Unacknowledged, alarm.Acknowledged, alarm.Normal} {
				waiting = append(waiting, d.event(rules.AlarmChange, rules.Event{Subject: "air", From: string(alarm.Normal), To: string(state),
					Alarm: &alarm.Alarm{ID: "air", State: state, Text: phrase.Say("The air does not move enough")}}))
			}
			waiting = append(waiting, d.act(ledger.SheetsUsed{Containers: trays(), Material: ledger.ResinCoated, Count: 5,
				SheetArea: ledger.EightByTen}))
		}
		if step%6 == 5 {
			d.write(waiting...)
			waiting = nil
		}
	}
	run := ventilation.Run{Start: begun, Stop: begun.Add(3 * time.Hour)}
	s.Phase, s.Since = session.Closed, run.Stop
	d.write(append(d.takeDown(name), d.event(rules.FanRun, rules.Event{Run: &run}), d.event(rules.SessionPhase, rules.Event{Session: &s}))...)
}

func trays() []string {
	return []string{"Developer tray", "Stop bath tray", "First fixer tray", "Second fixer tray"}
}

// setUp mixes four baths; the trays are named on the first evening.
func (d *decade) setUp(name string) []history.Entry {
	var list []history.Entry
	if name == "evening 0" {
		for i, bath := range []string{"developer", "stop-bath", "fixer-1", "fixer-2"} {
			list = append(list, d.act(ledger.ContainerNamed{Container: trays()[i], Vessel: ledger.Tray, Capacity: 20000, Bath: bath}))
		}
	}
	list = append(list, d.act(ledger.SessionOpened{Session: name, Title: "Class (invented)", Lead: "Ada"}))
	for i, class := range []ledger.Class{ledger.PrintDeveloper, ledger.StopBath, ledger.Fixer, ledger.Fixer} {
		list = append(list, d.act(ledger.BatchMixed{Batch: fmt.Sprintf("%s %d", name, i), Name: "invented", Class: class, Into: trays()[i],
			Meant: ledger.FromUnknown, Water: 2000, Owner: ledger.House}))
	}
	return list
}

func (d *decade) takeDown(name string) []history.Entry {
	list := []history.Entry{d.act(ledger.TestDone{Test: ledger.IodideTest, Container: "First fixer tray", Seen: "clear"}),
		d.act(ledger.TraysCovered{Containers: trays()})}
	for _, tray := range trays() {
		list = append(list, d.act(ledger.Discarded{Container: tray, Volume: 1800, Emptied: true, Route: "invented", Reason: "end"}))
	}
	return append(list, d.act(ledger.SessionClosed{Session: name}))
}

func (d *decade) act(a ledger.Act) history.Entry {
	act, err := ledger.EncodeAct(a)
	require.NoError(d, err)
	content, err := json.Marshal(map[string]json.RawMessage{"act": act})
	require.NoError(d, err)
	return history.Entry{Kind: a.Kind(), Room: "practice", Person: "Ada", Content: content}
}

func (d *decade) event(kind string, e rules.Event) history.Entry {
	content, err := json.Marshal(e)
	require.NoError(d, err)
	return history.Entry{Kind: kind, Room: "practice", Content: content}
}

// stored is a row of samples or of their roll-ups.
type stored struct {
	key  int64
	data []byte
}

// otherDays gives every other day the readings of the first. The format of a block and its
// key are those of the package history; every row is as a running program writes it.
func (d *decade) otherDays() {
	db, err := sql.Open("sqlite", filepath.Join(d.dir, "wetside.db"))
	require.NoError(d, err)
	db.SetMaxOpenConns(1)
	for _, pragma := range []string{"journal_mode = WAL", "synchronous = OFF", "cache_size = -65536"} {
		_, err := db.Exec("PRAGMA " + pragma)
		require.NoError(d, err)
	}
	blocks, days := d.rows(db, "SELECT key, samples FROM block"), d.rows(db, "SELECT key, quarters FROM day")
	for channel := range slices.Values(days) {
		d.copyChannel(db, channel, slices.DeleteFunc(slices.Clone(blocks), func(r stored) bool { return r.key>>32 != channel.key>>32 }))
	}
	_, err = db.Exec("PRAGMA wal_checkpoint(TRUNCATE)")
	require.NoError(d, err)
	require.NoError(d, db.Close())
}

func (d *decade) rows(db *sql.DB, query string) (list []stored) {
	rows, err := db.Query(query)
	require.NoError(d, err)
	defer rows.Close()
	for rows.Next() {
		var r stored
		require.NoError(d, rows.Scan(&r.key, &r.data))
		list = append(list, r)
	}
	require.NoError(d, rows.Err())
	return list
}

// copyChannel repeats the day of a channel on every day after it.
func (d *decade) copyChannel(db *sql.DB, day stored, blocks []stored) {
	for begin := int64(1); begin < decadeDays; begin += 100 {
		tx, err := db.BeginTx(context.Background(), nil)
		require.NoError(d, err)
		block, err := tx.Prepare("INSERT INTO part(key, samples) VALUES(?, ?)")
		require.NoError(d, err)
		for n := begin; n < min(begin+100, decadeDays); n++ {
			for _, b := range blocks {
				_, err := block.Exec(b.key+n*96, d.later(b.data, n))
				require.NoError(d, err)
			}
			_, err := tx.Exec("INSERT INTO day(key, quarters) VALUES(?, ?)", day.key+n, day.data)
			require.NoError(d, err)
		}
		require.NoError(d, tx.Commit())
		_, err = db.Exec("PRAGMA wal_checkpoint(TRUNCATE)")
		require.NoError(d, err)
	}
}

// later is a block of samples so many days later: only the time of its first sample changes.
func (d *decade) later(kept []byte, days int64) []byte {
	data, err := pack.Checked(kept)
	require.NoError(d, err)
	_, count := binary.Uvarint(data[1:])
	first, length := binary.Varint(data[1+count:])
	out := binary.AppendVarint(slices.Clone(data[:1+count]), first+days*24*3600*1000)
	return pack.WithCheck(append(out, data[1+count+length:]...))
}
