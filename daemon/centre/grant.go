package centre

import (
	"context"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"
)

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
