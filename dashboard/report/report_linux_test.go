package report_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/report"
)

// awk computes what the recipes say by another path: one table, one awk program.
func awk(t *testing.T, d report.Data, file, program string) string {
	path := filepath.Join(t.TempDir(), file)
	for _, table := range report.Tables(d) {
		if table.File == file {
			out, err := os.Create(path)
			require.NoError(t, err)
			require.NoError(t, table.Write(out))
			require.NoError(t, out.Close())
		}
	}
	out, err := exec.Command("awk", "-F,", program, path).Output()
	require.NoError(t, err)
	return strings.TrimSpace(string(out))
}

func TestAProgramThatIsNotOursComputesTheSameTotals(t *testing.T) {
	d := term(40)
	totals := map[string]string{}
	for _, row := range read(t, d, "totals.csv") {
		totals[row["total"]] = row["value"]
	}
	// The columns before the ones used hold no commas.
	for total, c := range map[string]struct{ file, program string }{
		"trays uncovered":    {"sessions.csv", `NR>1 {s+=$11} END {printf "%.3f", s/60}`},
		"lowest air changes": {"sessions.csv", `NR>1 && $16!="" && (m=="" || $16<m) {m=$16} END {printf "%.3f", m}`},
		"readings valid in sessions, over all channels": {"coverage.csv", `NR>1 {v+=$6; r+=$5} END {printf "%.3f", 100*v/r}`},
		"volume mixed": {"chemistry.csv", `NR>1 && $7=="batch mixed" {s+=$8} END {printf "%.3f", s/1000}`},
	} {
		want, err := strconv.ParseFloat(awk(t, d, c.file, c.program), 64)
		require.NoError(t, err)
		got, err := strconv.ParseFloat(totals[total], 64)
		require.NoError(t, err)
		require.InDelta(t, want, got, 0.001, total)
	}
}
