package centre

import (
	"context"
	"embed"
	"fmt"
	"io/fs"

	"github.com/jackc/pgx/v5"
)

//go:embed migrations/*.sql
var migrationFiles embed.FS

// migrationLock is the advisory lock under which the tables are made.
const migrationLock = 0x77657473

func migrate(ctx context.Context, conn *pgx.Conn) error {
	names, err := fs.Glob(migrationFiles, "migrations/*.sql")
	if err != nil {
		return err
	}
	return migrateBy(ctx, conn, names)
}

// migrateBy brings the tables to the form that some files lead to, each step in a transaction of
// its own. Programs that start at once wait for each other.
func migrateBy(ctx context.Context, conn *pgx.Conn, names []string) error {
	have, err := form(ctx, conn)
	if err != nil {
		return err
	}
	if have > len(names) {
		return fmt.Errorf("the database has tables of form %d and this wetside knows forms up to %d: start the newer wetside", have, len(names))
	}
	for number := have + 1; number <= len(names); number++ {
		if err := step(ctx, conn, number, names[number-1]); err != nil {
			return fmt.Errorf("bringing the tables of the centre to form %d: %w", number, err)
		}
	}
	return nil
}

// form is how many steps were taken; 0 in an empty database.
func form(ctx context.Context, db querier) (have int, err error) {
	var there bool
	// to_regclass would answer from a memory that waiting for an advisory lock does not renew.
	err = db.QueryRow(ctx,
		"SELECT EXISTS (SELECT 1 FROM pg_class WHERE relname = 'wetside_form' AND relnamespace = 'public'::regnamespace)").Scan(&there)
	if err == nil && there {
		err = db.QueryRow(ctx, "SELECT coalesce(max(number), 0) FROM public.wetside_form").Scan(&have)
	}
	if err != nil {
		err = fmt.Errorf("asking the database which tables it has: %w", err)
	}
	return have, err
}

// step runs one migration, unless another program has done so meanwhile.
func step(ctx context.Context, conn *pgx.Conn, number int, name string) error {
	text, err := migrationFiles.ReadFile(name)
	if err != nil {
		return err
	}
	return pgx.BeginFunc(ctx, conn, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, "SELECT pg_advisory_xact_lock($1)", migrationLock); err != nil {
			return err
		}
		have, err := form(ctx, tx)
		if err != nil || have >= number {
			return err
		}
		if number == 1 {
			text = append([]byte("CREATE TABLE public.wetside_form (number integer PRIMARY KEY, at timestamptz NOT NULL DEFAULT now());\n"), text...)
		}
		if _, err := tx.Exec(ctx, string(text)); err != nil {
			return err
		}
		_, err = tx.Exec(ctx, "INSERT INTO public.wetside_form(number) VALUES ($1)", number)
		return err
	})
}
