package history

import (
	"database/sql"
	"fmt"
	"maps"
	"slices"
)

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
	rows, err := v.db.QueryContext(v.ctx, "SELECT type || ' ' || name, coalesce(sql, tbl_name) FROM sqlite_schema WHERE name NOT LIKE "+
		"'sqlite!_%' ESCAPE '!'")
	if err != nil {
		return nil, err
	}
	found := map[string]string{}
	return found, scanAll(rows, func(rows *sql.Rows) error {
		var name, text string
		err := rows.Scan(&name, &text)
		found[name] = text
		return err
	})
}
