package centre

import (
	"archive/zip"
	"bytes"
	"database/sql"
	"encoding/json"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"wetside/configs"
	"wetside/daemon/audit"
	"wetside/daemon/config"
	"wetside/daemon/history"
	"wetside/dashboard/report"
	"wetside/rules"
	"wetside/rules/alarm"
	"wetside/rules/session"
	"wetside/sensors"
	"wetside/sensors/clocktest"
	"wetside/sensors/quantity/phrase"
)

// place is an invented place with a history of its own.
type place struct {
	testing.TB
	dir   string
	clock *clocktest.Manual
	store *history.Store
	rooms []config.Room
}

func newPlace(t testing.TB) *place {
	p := &place{TB: t, dir: t.TempDir(), clock: clocktest.New(time.Date(2026, 10, 12, 17, 0, 0, 0, time.UTC))}
	var err error
	p.store, err = history.Open(t.Context(), history.Options{Dir: p.dir, Clock: p.clock, Zone: time.UTC, Version: "test"})
	require.NoError(t, err)
	site, err := config.Parse("demo.toml", configs.Demo)
	require.NoError(t, err)
	p.rooms = site.Rooms
	require.NoError(t, audit.Keep(t.Context(), p.store, site.Settings()))
	require.NoError(t, p.store.RegisterChannels(t.Context(), site.Rooms[0].ID, site.Rooms[0].Channels))
	return p
}

func (p *place) record(kind string, e rules.Event) {
	content, err := json.Marshal(e)
	require.NoError(p, err)
	_, err = p.store.Record(p.Context(), history.Entry{Kind: kind, Room: p.rooms[0].ID, Content: content})
	require.NoError(p, err)
}

// evening is a session of an hour in which a line is gone for ten minutes and the air stops.
func (p *place) evening() {
	s := session.Session{Phase: session.Open, Title: "Class", Begun: p.clock.Now().Wall, Since: p.clock.Now().Wall}
	p.record(rules.SessionPhase, rules.Event{Subject: p.rooms[0].ID, To: string(s.Phase), Session: &s})
	for minute := range 60 {
		var b history.Batch
		for second := 0; second < 60; second += 10 {
			for _, c := range p.rooms[0].Channels {
				if minute < 20 || minute >= 30 {
					b.Samples = append(b.Samples, history.Sample{Channel: c.ID, At: p.clock.Now().Wall.Add(time.Duration(second) * time.Second),
						Raw: 2 + float64(second)/100, Grade: sensors.Good})
				}
			}
		}
		switch minute {
		case 30:
			b.GapsOpened = []history.Gap{{Channel: p.rooms[0].Channels[0].ID, From: p.clock.Now().Wall.Add(-10 * time.Minute),
				To: p.clock.Now().Wall, Cause: "line gone"}}
		case 40:
			a := alarm.Alarm{ID: "air", State: alarm.Unacknowledged, Text: phrase.Say("The air does not move.")}
			p.record(rules.AlarmChange, rules.Event{Subject: "air", From: string(alarm.Normal), To: string(a.State), Alarm: &a})
		}
		require.NoError(p, p.store.Append(p.Context(), b))
		p.clock.Advance(time.Minute)
	}
	s.Phase, s.Since = session.Closed, p.clock.Now().Wall
	p.record(rules.SessionPhase, rules.Event{Subject: p.rooms[0].ID, To: string(s.Phase), Session: &s})
	p.clock.Advance(23 * time.Hour)
	p.store.Settle(p.Context())
}

// copied puts the rows of a history file that stands still into the tables of a site.
func copied(t testing.TB, s *Store, dir string) (site int) {
	key, err := s.AddSite(t.Context(), NewSite{Name: "Library"})
	require.NoError(t, err)
	site, err = s.siteOf(t.Context(), key)
	require.NoError(t, err)
	file, err := sql.Open("sqlite", "file:"+filepath.Join(dir, history.FileName))
	require.NoError(t, err)
	defer file.Close()
	for _, table := range []string{"record(number, hash, body)", "channel(code, id, room, name, kind, unit, silence_ms, in_service)",
		"word(code, text)", "block(key, samples)", "day(key, quarters)", "gap(id, channel, from_ms, to_ms, cause)"} {
		name, columns, _ := strings.Cut(strings.TrimSuffix(table, ")"), "(")
		rows, err := file.Query("SELECT " + columns + " FROM " + name + " ORDER BY 1")
		require.NoError(t, err)
		require.NoError(t, s.as(t.Context(), site, func(tx pgx.Tx) error { return insertAll(t, tx, rows, name, columns, site) }))
	}
	return site
}

func insertAll(t testing.TB, tx pgx.Tx, rows *sql.Rows, name, columns string, site int) error {
	defer rows.Close()
	count := strings.Count(columns, ",") + 1
	values := make([]any, count+1)
	places := []string{"$1"}
	into := []any{}
	values[0] = site
	for i := range count {
		places = append(places, fmt.Sprintf("$%d", i+2))
		into = append(into, &values[i+1])
	}
	for rows.Next() {
		if err := rows.Scan(into...); err != nil {
			return err
		}
		_, err := tx.Exec(t.Context(), "INSERT INTO wetside."+name+"(site_id, "+columns+") VALUES ("+strings.Join(places, ", ")+")", values...)
		if err != nil {
			return err
		}
	}
	return rows.Err()
}

// pack is the whole report of a history, file by file.
func pack(t testing.TB, book *history.Reader, q audit.Question) map[string]string {
	d, err := audit.Gather(t.Context(), book, q)
	require.NoError(t, err)
	require.True(t, d.Book.Holds)
	var out bytes.Buffer
	require.NoError(t, audit.WriteZip(t.Context(), book, d, &out))
	archive, err := zip.NewReader(bytes.NewReader(out.Bytes()), int64(out.Len()))
	require.NoError(t, err)
	files := map[string]string{}
	for _, f := range archive.File {
		r, err := f.Open()
		require.NoError(t, err)
		text, err := io.ReadAll(r)
		require.NoError(t, err)
		files[f.Name] = string(text)
	}
	return files
}

func TestTheReportOfASiteIsTheSameByteForByteFromItsFileAndFromTheCentre(t *testing.T) {
	p := newPlace(t)
	begun := p.clock.Now().Wall
	for range 3 {
		p.evening()
	}
	require.NoError(t, p.store.Close())
	s := open(t)
	site := copied(t, s, p.dir)
	o := history.Options{Dir: p.dir, Clock: p.clock, Zone: time.UTC}
	file, err := history.OpenReader(t.Context(), o)
	require.NoError(t, err)
	defer file.Close()
	q := audit.Question{From: begun.AddDate(0, 0, -1), To: p.clock.Now().Wall, Zone: time.UTC, Now: p.clock.Now().Wall, Version: "test"}
	want := pack(t, file, q)
	require.Greater(t, strings.Count(want["coverage.csv"], "\n"), 3, "there is something to compare")
	require.Contains(t, want["gaps.csv"], "port lost")
	require.Contains(t, want, report.PDFName)
	require.Equal(t, want, pack(t, s.Reader(site, o), q))
}

func TestEveryWayToReadAHistoryGivesTheSameFromTheCentre(t *testing.T) {
	p := newPlace(t)
	begun := p.clock.Now().Wall
	p.evening()
	require.NoError(t, p.store.Close())
	s := open(t)
	site := copied(t, s, p.dir)
	o := history.Options{Dir: p.dir, Clock: p.clock, Zone: time.UTC}
	file, err := history.OpenReader(t.Context(), o)
	require.NoError(t, err)
	defer file.Close()
	at := begun.Add(15 * time.Minute)
	for name, read := range map[string]func(*history.Reader) (any, error){
		"channels":    func(r *history.Reader) (any, error) { return r.Channels(t.Context()) },
		"all records": func(r *history.Reader) (any, error) { return r.Records(t.Context(), history.Query{}) },
		"records of a kind": func(r *history.Reader) (any, error) {
			return r.Records(t.Context(), history.Query{Kinds: []string{rules.SessionPhase, rules.AlarmChange}, Room: p.rooms[0].ID, Limit: 2})
		},
		"records of a kind and time": func(r *history.Reader) (any, error) {
			return r.Records(t.Context(), history.Query{Kinds: []string{rules.AlarmChange}, From: begun, To: at.Add(time.Hour), UpTo: 100})
		},
		"records by number": func(r *history.Reader) (any, error) {
			return r.Records(t.Context(), history.Query{Numbers: []uint64{2, 4}})
		},
		"gaps": func(r *history.Reader) (any, error) {
			return r.Gaps(t.Context(), p.rooms[0].Channels[0].ID, begun, at.Add(time.Hour))
		},
		"a chart": func(r *history.Reader) (any, error) {
			return r.Series(t.Context(), history.SeriesQuery{Channel: p.rooms[0].Channels[0].ID, From: begun, To: at.Add(time.Hour), Points: 100})
		},
		"a window": func(r *history.Reader) (any, error) {
			return r.Between(t.Context(), history.Window{Channels: []sensors.ChannelID{p.rooms[0].Channels[0].ID}, From: at,
				To: at.Add(time.Minute)})
		},
		"the walk": func(r *history.Reader) (any, error) { return r.VerifyBook(t.Context()) },
	} {
		t.Run(name, func(t *testing.T) {
			want, err := read(file)
			require.NoError(t, err)
			require.NotEmpty(t, want)
			have, err := read(s.Reader(site, o))
			require.NoError(t, err)
			require.Equal(t, want, have)
		})
	}
	_, err = s.Reader(site, o).Gaps(t.Context(), "nothing", begun, at)
	require.ErrorIs(t, err, history.ErrUnknownChannel)
}
