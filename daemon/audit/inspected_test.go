package audit_test

import (
	"database/sql"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/audit"
	"wetside/daemon/history"
	"wetside/dashboard/report"
	"wetside/rules/duty"
)

// change changes the book as somebody with the file could.
func (p *place) change(query string) {
	db, err := sql.Open("sqlite", filepath.Join(p.dir, "wetside.db"))
	require.NoError(p, err)
	_, err = db.Exec("PRAGMA busy_timeout = 5000; DROP TRIGGER IF EXISTS record_is_never_changed; " + query)
	require.NoError(p, errors.Join(err, db.Close()))
}

func TestOnlyWhatNoInspectionWentThroughIsWalkedAgain(t *testing.T) {
	p := newPlace(t)
	early := p.record(history.Entry{Kind: duty.Kind, Person: "Ada"}, duty.Note{Duty: "eyewash"})
	p.evening()
	p.clock.Advance(14 * 24 * time.Hour)
	from := p.clock.Now().Wall.Truncate(24 * time.Hour)
	p.evening()
	require.NoError(t, p.store.CheckBook())
	inspected := p.store.Inspected()
	require.Equal(t, p.clock.Now().Wall, inspected.At)
	p.clock.Advance(time.Hour)
	p.evening()
	late := p.record(history.Entry{Kind: duty.Kind, Person: "Ada"}, duty.Note{Duty: "eyewash"})

	chronicle := audit.NewChronicle(&p.store.Reader)
	gather := func(i history.Inspection) report.Data {
		d, err := chronicle.Gather(t.Context(), audit.Question{From: from, To: from.AddDate(0, 0, 7), Zone: time.UTC, Now: p.clock.Now().Wall,
			Version: "test", Inspected: i})
		require.NoError(t, err)
		return d
	}
	whole := gather(history.Inspection{})
	require.Zero(t, whole.Book.Earlier)
	require.Len(t, whole.Sessions, 2)
	require.False(t, whole.Duties[0].Last.IsZero(), "entered before the time")
	part := gather(inspected)
	require.Positive(t, part.Book.Earlier)
	require.Less(t, part.Book.Earlier, inspected.Last.Number, "what was written in the time is verified now")
	require.Equal(t, inspected.At, part.Book.EarlierAt)
	same := part
	same.Book.Earlier, same.Book.EarlierAt = 0, time.Time{}
	require.Equal(t, whole, same, "the rest is the same to the last figure")
	ahead, err := chronicle.Gather(t.Context(), audit.Question{From: p.clock.Now().Wall, To: p.clock.Now().Wall.AddDate(0, 0, 7),
		Zone: time.UTC,
		Now:  p.clock.Now().Wall, Version: "test", Inspected: inspected})
	require.NoError(t, err)
	require.Equal(t, inspected.Last.Number, ahead.Book.Earlier, "what came after the inspection is walked, however early it was written")
	require.Equal(t, whole.Book.Checkpoint, ahead.Book.Checkpoint)

	p.change("UPDATE record SET body = replace(body, 'Ada', 'Bea') WHERE number = " + fmt.Sprint(early.Number))
	require.False(t, gather(history.Inspection{}).Book.Holds)
	part = gather(inspected)
	require.True(t, part.Book.Holds, "what was changed since was last verified when the report says")
	var page strings.Builder
	require.NoError(t, report.WriteHTML(&page, report.Compose(part)))
	require.Contains(t, page.String(), "were last verified 15 Sep 2026")
	require.Error(t, p.store.CheckBook())
	require.Zero(t, p.store.Inspected(), "a book that does not hold was not inspected")

	p.change("UPDATE record SET body = replace(body, 'Ada', 'Bea') WHERE number = " + fmt.Sprint(late.Number))
	require.False(t, gather(inspected).Book.Holds)
	p.change("UPDATE record SET hash = substr(hash, 2) || substr(hash, 1, 1) WHERE number = " + fmt.Sprint(inspected.Last.Number))
	require.Zero(t, gather(inspected).Book.Earlier, "another book than was inspected is walked as a whole")
}
