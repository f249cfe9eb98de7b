package daemon_test

import (
	"archive/zip"
	"bytes"
	"net/http"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// reported gives the tables of a report on the day of an evening.
func (e *evening) reported() *zip.Reader {
	day := e.clock.Now().Wall.Local().Format(time.DateOnly)
	code, body := e.get("/report/report.zip?from=" + day + "&to=" + day)
	require.Equal(e, http.StatusOK, code)
	archive, err := zip.NewReader(bytes.NewReader([]byte(body)), int64(len(body)))
	require.NoError(e, err)
	return archive
}

// alarmRow is the row of an alarm in a report.
func (e *evening) alarmRow(archive *zip.Reader, id string) map[string]string {
	for _, row := range e.table(archive, "alarms.csv") {
		if row["alarm"] == id {
			return row
		}
	}
	require.Fail(e, "the report has no row of the alarm "+id)
	return nil
}

// Somebody lays a lid on one end of the hood: the flow in the duct is as before, and only
// the probes along the hood can tell. The trays there are not proven meanwhile.
func TestAnEndOfTheHoodThatDoesNotDrawIsNotProven(t *testing.T) {
	e := newEvening(t, "0s fill trays; 0s start fan; 60s block hood-left 9m30s")
	e.until(5 * time.Second)
	e.fillTrays()
	e.until(50 * time.Second)
	_, page := e.get("/rooms/practice/air")
	require.Contains(t, page, "MOVING")
	require.NotContains(t, page, "too little extraction")
	e.until(2 * time.Minute)
	_, page = e.get("/rooms/practice/air")
	require.Contains(t, page, "UNEVEN")
	require.Regexp(t, `The hood draws up to 0\.(4|5)\d m/s, but 0\.(0|1)\d m/s at its left end: the trays there get too little extraction`,
		page)
	require.Equal(t, map[string]string{"hood": "unacknowledged"}, e.now().alarms())
	e.until(10*time.Minute + 20*time.Second)

	archive := e.reported()
	session := e.table(archive, "sessions.csv")[0]
	require.InDelta(t, 9*60, e.seconds(session["unproven_s"]), 30)
	require.InDelta(t, 9*60, e.seconds(session["tray_unproven_s"]), 30, "one tray of four is at that end")
	require.InDelta(t, e.seconds(session["uncovered_s"]), e.seconds(session["flow_known_s"]), 15)
	require.Contains(t, e.alarmRow(archive, "hood")["cause"], "at its left end")
	e.until(11 * time.Minute)
	require.Equal(t, "moving", e.now().Rooms[0].Air.State)
}

// The flow probe stands still at what it read last when the fan is switched off: velocity
// pressure, switch and hood contradict it. Nothing is proven from then on.
func TestAFlowProbeThatStandsStillProvesNothing(t *testing.T) {
	e := newEvening(t, "0s fill trays; 0s start fan; 10m freeze VEL 40m; 15m stop fan")
	e.until(5 * time.Second)
	e.fillTrays()
	e.until(14*time.Minute + 55*time.Second)
	require.Equal(t, "moving", e.now().Rooms[0].Air.State)
	e.until(16 * time.Minute)
	n := e.now()
	require.Equal(t, "readings disagree", n.Rooms[0].Air.State)
	require.Nil(t, n.Rooms[0].Air.Changes, "no number that other readings contradict")
	require.Equal(t, map[string]string{"air-readings": "unacknowledged"}, n.alarms())
	require.True(t, n.Rooms[0].Alarms[0].Urgent)
	_, board := e.get("/rooms/practice/board")
	require.Contains(t, board, "NOT PROVEN")
	require.NotContains(t, board, "MOVING")
	e.until(20*time.Minute + 30*time.Second)
	for _, page := range []string{"air", "history?channel=air:flow"} {
		_, text := e.get("/rooms/practice/" + page)
		require.Regexp(t, `(?s)<svg.*<title>[^<]*readings disagree`, text, "the flow that others contradict is not drawn as one")
	}

	archive := e.reported()
	session := e.table(archive, "sessions.csv")[0]
	require.InDelta(t, 20*60, e.seconds(session["uncovered_s"]), 30)
	require.InDelta(t, 5*60, e.seconds(session["unproven_s"]), 45, "all but the moments in which a fan may run down")
	require.InDelta(t, 15*60, e.seconds(session["flow_proven_s"]), 45)
	row := e.alarmRow(archive, "air-readings")
	require.Regexp(t, `Exhaust duct reads 27\d m³/h, but Exhaust velocity pressure reads \d\d? m³/h, the hood draws 0\.0\d m/s at most `+
		`and Fan switch is off`, row["cause"])
}
