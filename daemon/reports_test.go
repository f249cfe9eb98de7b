package daemon_test

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"net/http"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/audit"
	"wetside/daemon/history"
	"wetside/dashboard/record"
	"wetside/rules/duty"
)

// table reads one table of the archive of a report, as rows by the names of its columns.
func (e *evening) table(archive *zip.Reader, name string) (rows []map[string]string) {
	f, err := archive.Open(name)
	require.NoError(e, err)
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	require.NoError(e, err)
	for _, cells := range all[1:] {
		row := map[string]string{}
		for i, name := range all[0] {
			row[name] = cells[i]
		}
		rows = append(rows, row)
	}
	return rows
}

func (e *evening) seconds(text string) float64 {
	v, err := strconv.ParseFloat(text, 64)
	require.NoError(e, err)
	return v
}

func TestAnEveningIsReportedWithItsGapsWhileItRuns(t *testing.T) {
	e := newEvening(t, "0s fill trays; 0s start fan; 60s pull trays 40s; 2m stop fan")
	e.until(5 * time.Second)
	e.fillTrays()
	e.until(150 * time.Second)
	number, err := e.daemon.Reports().DoneDuty(e.ctx, record.DutyEntry{Duty: "eyewash-run", Person: "Ida", Evidence: "three minutes, clear"})
	require.NoError(t, err)
	require.Positive(t, number)
	_, err = e.daemon.Reports().DoneDuty(e.ctx, record.DutyEntry{Duty: "nothing", Person: "Ida", Evidence: "x"})
	require.ErrorContains(t, err, "no longer configured")
	_, page := e.get("/duties")
	require.Contains(t, page, "three minutes, clear")
	require.Contains(t, page, "1 duty is overdue.")

	day := e.clock.Now().Wall.Local().Format(time.DateOnly)
	query := "?from=" + day + "&to=" + day
	code, page := e.get("/report" + query)
	require.Equal(t, http.StatusOK, code)
	require.Contains(t, page, "Simulated: every figure here is invented.")
	code, body := e.get("/report/report.zip" + query)
	require.Equal(t, http.StatusOK, code)
	archive, err := zip.NewReader(bytes.NewReader([]byte(body)), int64(len(body)))
	require.NoError(t, err)

	sessions := e.table(archive, "sessions.csv")
	require.Len(t, sessions, 1)
	require.Equal(t, "yes", sessions[0]["running"])
	for _, row := range e.table(archive, "coverage.csv") {
		require.InDelta(t, e.seconds(row["required_s"]), e.seconds(row["valid_s"])+e.seconds(row["missing_s"]), 0.002)
		if row["channel"] == "developer-tray" {
			require.InDelta(t, 55, e.seconds(row["longest_gap_s"]), 20,
				"the plug was out for forty seconds, and the port is looked for now and then")
		}
	}
	var why []string
	for _, row := range e.table(archive, "gaps.csv") {
		if row["channel"] == "developer-tray" && e.seconds(row["missing_s"]) > 20 {
			why = append(why, row["cause"])
		}
	}
	require.Equal(t, []string{"port lost"}, why)
	require.Equal(t, "1", e.table(archive, "duties.csv")[0]["times_done"])

	store := e.stop()
	done, err := store.Records(e.ctx, history.Query{Kinds: []string{duty.Kind}})
	require.NoError(t, err)
	require.Len(t, done, 1)
	known, err := audit.Versions(e.ctx, &store.Reader)
	require.NoError(t, err)
	require.Len(t, known, 1)
	require.True(t, known[0].Simulated)
}
