package history

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"slices"
)

//go:embed migrations/*.sql
var migrationFiles embed.FS

func migrations() ([]string, error) {
	names, err := fs.Glob(migrationFiles, "migrations/*.sql")
	if err != nil {
		return nil, err
	}
	steps := make([]string, len(names))
	for i, name := range names {
		text, err := migrationFiles.ReadFile(name)
		if err != nil {
			return nil, err
		}
		steps[i] = string(text)
	}
	return steps, nil
}

// migrate brings the file to the newest form, a transaction a step. A file that
// already holds something is first copied beside itself; a newer one is refused.
func migrate(ctx context.Context, db *sql.DB, path string, steps []string) error {
	have, err := form(ctx, db, path, len(steps))
	if err != nil {
		return err
	}
	if have > 0 && have < len(steps) {
		if err := copyBefore(ctx, db, fmt.Sprintf("%s.before-form-%d", path, len(steps))); err != nil {
			return fmt.Errorf("copying the history before bringing it to a newer form: %w", err)
		}
	}
	for number := have + 1; number <= len(steps); number++ {
		if err := step(ctx, db, number, steps[number-1]); err != nil {
			return fmt.Errorf("bringing the history to form %d: %w", number, explain(err, ErrWrite, path))
		}
	}
	return nil
}

// copyBefore copies the file to a name, or to that name with a number when another
// copy has it. A copy of this very state is left from a start that came no further
// than that, and is as good as a new one.
func copyBefore(ctx context.Context, db *sql.DB, name string) error {
	path := name
	for n := 2; ; n++ {
		if _, err := os.Lstat(path); errors.Is(err, os.ErrNotExist) {
			return vacuumInto(ctx, db, path)
		}
		if same, err := sameState(ctx, db, path); err != nil || same {
			return err
		}
		path = fmt.Sprintf("%s-%d", name, n)
	}
}

// sameState says whether a copy has the form and the last record of the file. What
// can't be read is no such copy.
func sameState(ctx context.Context, db *sql.DB, path string) (bool, error) {
	have, err := stateOf(ctx, db)
	if err != nil {
		return false, err
	}
	kept, err := openReader(path)
	if err != nil {
		return false, err
	}
	defer kept.Close()
	there, err := stateOf(ctx, kept)
	return err == nil && there == have, nil
}

// fileState tells one state of a file from another.
type fileState struct {
	form, records int64
	last          string // the hash of the last record
}

func stateOf(ctx context.Context, db *sql.DB) (s fileState, err error) {
	err = db.QueryRowContext(ctx, `SELECT user_version, (SELECT count(*) FROM record),
		coalesce((SELECT hash FROM record ORDER BY number DESC LIMIT 1), '')
		FROM pragma_user_version`).Scan(&s.form, &s.records, &s.last)
	return s, err
}

// writtenForm is form for those who only read: an empty file is no history yet.
func writtenForm(ctx context.Context, db *sql.DB, path string, known int) (int, error) {
	have, err := form(ctx, db, path, known)
	if err == nil && have == 0 {
		err = fmt.Errorf("%w: %s holds no history: it is empty or was cut short; if there was one, %s", ErrCorrupt, path, remedy(path))
	}
	return have, err
}

// form reads which form the file has, and refuses one beyond known.
func form(ctx context.Context, db *sql.DB, path string, known int) (have int, err error) {
	if err := db.QueryRowContext(ctx, "PRAGMA user_version").Scan(&have); err != nil {
		return 0, explain(err, ErrCorrupt, path)
	}
	if have < 0 {
		return 0, fmt.Errorf("%w: %s says that it has form %d, which no wetside ever wrote: %s", ErrCorrupt, path, have, remedy(path))
	}
	if have > known {
		return 0, fmt.Errorf("%w: %s has form %d and this wetside knows forms up to %d: start the newer wetside, or restore a backup made "+
			"by this one",
			ErrNewer, path, have, known)
	}
	return have, nil
}

// step runs one migration and notes its number in the same transaction.
func step(ctx context.Context, db *sql.DB, number int, text string) error {
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback()
	note := fmt.Sprintf("PRAGMA user_version = %d", number)
	if number == 1 { // a copy stays marked as one
		note += fmt.Sprintf("; PRAGMA application_id = %d", applicationID)
	}
	if _, err := tx.ExecContext(ctx, text+";"+note); err != nil {
		return err
	}
	return tx.Commit()
}

// compareLayout holds the tables, indexes and triggers of the file to those that the
// program makes: without its triggers the book could be changed in silence.
func (r *Report) compareLayout(v view, form int) error {
	steps, err := migrations()
	if err != nil {
		return err
	}
	fresh, err := sql.Open("sqlite", ":memory:")
	if err != nil {
		return err
	}
	defer fresh.Close()
	fresh.SetMaxOpenConns(1) // each connection would have a memory of its own
	for number := range form {
		if err := step(v.ctx, fresh, number+1, steps[number]); err != nil {
			return fmt.Errorf("making a file of form %d to compare with: %w", form, err)
		}
	}
	want, err := view{ctx: v.ctx, db: fresh}.layout()
	if err != nil {
		return err
	}
	have, err := v.layout()
	if err != nil {
		return err
	}
	for _, name := range slices.Sorted(maps.Keys(want)) {
		if text, there := have[name]; !there {
			r.Damage = append(r.Damage, fmt.Sprintf("the %s is missing", name))
		} else if text != want[name] {
			r.Damage = append(r.Damage, fmt.Sprintf("the %s is not as the program makes it", name))
		}
		delete(have, name)
	}
	for _, name := range slices.Sorted(maps.Keys(have)) {
		r.Damage = append(r.Damage, fmt.Sprintf("there is a %s, which the program never makes", name))
	}
	return nil
}

// layout is the text by which each table, index and trigger was made.
func (v view) layout() (map[string]string, error) {
	const made = "SELECT type || ' ' || name, coalesce(sql, tbl_name) FROM sqlite_schema WHERE name NOT LIKE 'sqlite!_%' ESCAPE '!'"
	found := map[string]string{}
	return found, v.each(made, func(rows *sql.Rows) error {
		var name, text string
		err := rows.Scan(&name, &text)
		found[name] = text
		return err
	})
}
