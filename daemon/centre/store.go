// Package centre keeps the books of many sites in one PostgreSQL database. It is the only
// package that knows that database.
//
// A site stays the truth: its own file is written and shown first. What arrives here are its
// records word for word, its sealed samples with their roll-ups and gaps, and how far its
// book goes. The database itself refuses a record that does not continue the book that it
// keeps of a site, so a book that was rewritten, or put back to an older state, is found as
// soon as the site speaks. Days of samples are held to the sums that the book attests.
package centre

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/jackc/pgx/v5/stdlib"
)

// querier is a connection or a transaction that can be asked.
type querier interface {
	QueryRow(ctx context.Context, query string, args ...any) pgx.Row
}

// Store is the database of the centre. Its methods may be called from any goroutine.
type Store struct {
	pool *pgxpool.Pool
	read *sql.DB // the same connections, for the readers of history
}

// Open connects to the database at an address such as postgres://user@host/name, and brings
// its tables to the newest form.
func Open(ctx context.Context, address string) (*Store, error) {
	config, err := pgxpool.ParseConfig(address)
	if err != nil {
		return nil, fmt.Errorf("the address of the database can't be used: expected one such as postgres://wetside@localhost/wetside: %w", err)
	}
	pool, err := pgxpool.NewWithConfig(ctx, config)
	if err != nil {
		return nil, fmt.Errorf("the database can't be used: %w", err)
	}
	s := &Store{pool, stdlib.OpenDBFromPool(pool)}
	err = pool.AcquireFunc(ctx, func(c *pgxpool.Conn) error { return errors.Join(checkEncoding(ctx, c), migrate(ctx, c.Conn())) })
	if err != nil {
		s.Close()
		return nil, fmt.Errorf("the database at %s: %w", config.ConnConfig.Host, missing(err, config.ConnConfig.Config))
	}
	return s, nil
}

// missing says what to make where the server does not know the role or the database.
func missing(err error, to pgconn.Config) error {
	switch stateOf(err) {
	case "28000": // invalid_authorization_specification
		return fmt.Errorf("it lets in no role %q: make it with createuser, or name another in the address: %w", to.User, err)
	case "3D000": // invalid_catalog_name
		return fmt.Errorf("it has no database %q: make it with createdb --owner %s --encoding UTF8 --template template0 %s: %w",
			to.Database, to.User, to.Database, err)
	}
	return err
}

// Close ends all connections.
func (s *Store) Close() {
	_ = s.read.Close() // has only read
	s.pool.Close()
}

// checkEncoding refuses a database that can't hold every text word for word.
func checkEncoding(ctx context.Context, db querier) error {
	var encoding string
	if err := db.QueryRow(ctx, "SHOW server_encoding").Scan(&encoding); err != nil {
		return err
	}
	if encoding != "UTF8" {
		return fmt.Errorf("its texts are kept as %s: make it with createdb --encoding UTF8 --template template0", encoding)
	}
	return nil
}

// as runs fn in a transaction that may write the rows of one site alone.
func (s *Store) as(ctx context.Context, site int, fn func(pgx.Tx) error) error {
	return pgx.BeginFunc(ctx, s.pool, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, "SELECT set_config('wetside.site', $1, true)", fmt.Sprint(site)); err != nil {
			return err
		}
		return fn(tx)
	})
}

// stateOf is the SQLSTATE of an error of the database, "" for every other.
func stateOf(err error) string {
	if p, ok := errors.AsType[*pgconn.PgError](err); ok {
		return p.Code
	}
	return ""
}

// Grant lets a role take what sites send, and no more: it owns no table, so it can't take
// away what keeps records from being changed.
func (s *Store) Grant(ctx context.Context, role string) error {
	to := pgx.Identifier{role}.Sanitize()
	var statements strings.Builder
	for _, rights := range []string{
		"USAGE ON SCHEMA wetside, site",
		"SELECT ON ALL TABLES IN SCHEMA wetside, site",
		"SELECT ON public.wetside_form",
		"INSERT ON wetside.record, wetside.word, wetside.deletion, wetside.block_before",
		"INSERT, UPDATE ON wetside.heard, wetside.refusal, wetside.channel, wetside.day, wetside.word",
		"INSERT, UPDATE, DELETE ON wetside.block, wetside.day, wetside.gap, wetside.unattested, wetside.attested",
	} {
		fmt.Fprintf(&statements, "GRANT %s TO %s;\n", rights, to)
	}
	if _, err := s.pool.Exec(ctx, statements.String()); err != nil {
		return fmt.Errorf("the role %q can't be let in: make it first, with createuser, and grant as the owner of the tables: %w", role, err)
	}
	return nil
}
