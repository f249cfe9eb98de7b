package centre

import (
	"context"
	"database/sql"
	"fmt"
	"strings"

	"wetside/daemon/history"
)

// Reader reads what the centre keeps of a site, as if it were the site's own file. What the
// site has not sealed yet is not here.
func (s *Store) Reader(site int, o history.Options) *history.Reader {
	return history.ReadFrom(func(ctx context.Context) (history.Moment, error) {
		m, err := s.moment(ctx, site)
		if err != nil {
			return nil, fmt.Errorf("the database of the centre can't be read: %w", err)
		}
		return m, nil
	}, o)
}

// moment shows one site as it is now, whatever arrives meanwhile.
func (s *Store) moment(ctx context.Context, site int) (history.Moment, error) {
	tx, err := s.read.BeginTx(ctx, &sql.TxOptions{ReadOnly: true, Isolation: sql.LevelRepeatableRead})
	if err != nil {
		return nil, err
	}
	_, err = tx.ExecContext(ctx, "SELECT set_config('wetside.site', $1, true), set_config('search_path', 'site', true)", fmt.Sprint(site))
	if err != nil {
		_ = tx.Rollback() // the first error is the one to tell
		return nil, err
	}
	return moment{tx}, nil
}

// moment takes values in the place of question marks, which PostgreSQL numbers.
type moment struct{ *sql.Tx }

func (m moment) QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error) {
	return m.Tx.QueryContext(ctx, numbered(query), args...)
}

func (m moment) QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row {
	return m.Tx.QueryRowContext(ctx, numbered(query), args...)
}

func (m moment) PrepareContext(ctx context.Context, query string) (*sql.Stmt, error) {
	return m.Tx.PrepareContext(ctx, numbered(query))
}

// numbered numbers the places of values: the first is $1.
func numbered(query string) string {
	var out strings.Builder
	for i, part := range strings.Split(query, "?") {
		if i > 0 {
			fmt.Fprintf(&out, "$%d", i)
		}
		out.WriteString(part)
	}
	return out.String()
}
