package dashboard_test

import (
	"encoding/json"
	"net/http"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/viewtest"
	"wetside/sensors"
)

// now gets /api/now as plain JSON values.
func (p *pages) now() map[string]any {
	p.t.Helper()
	out := p.get("/api/now")
	require.Equal(p.t, http.StatusOK, out.Code)
	require.Equal(p.t, "application/json", out.Header().Get("Content-Type"))
	var got map[string]any
	require.NoError(p.t, json.Unmarshal(out.Body.Bytes(), &got))
	return got
}

func firstRoom(got map[string]any) map[string]any { return got["rooms"].([]any)[0].(map[string]any) }

func TestNowGivesEveryKeyWithItsValue(t *testing.T) {
	p := evening(t)
	got := p.now()
	require.Equal(t, true, got["simulated"])
	at, err := time.Parse(time.RFC3339, got["at"].(string))
	require.NoError(t, err)
	require.Equal(t, p.Clock.Now().Wall, at)
	room := firstRoom(got)
	require.Equal(t, "north", room["id"])
	developer := room["baths"].([]any)[0].(map[string]any)
	require.Equal(t, map[string]any{"id": "developer", "role": "developer", "temperature_celsius": 19.4,
		"measured_at": developer["measured_at"], "quality": "good", "range": "in",
		"recommendation": map[string]any{"seconds": 126.0, "basis": "table", "refusal": nil}, "content": developer["content"]}, developer)
	measured, err := time.Parse(time.RFC3339, developer["measured_at"].(string))
	require.NoError(t, err)
	require.WithinDuration(t, at, measured, 2*time.Second)
	require.NotEmpty(t, developer["content"].(map[string]any)["batch"])
	require.Equal(t, map[string]any{"id": "wash", "role": "wash", "temperature_celsius": nil, "measured_at": nil, "quality": "missing",
		"range": nil, "content": nil,
		"recommendation": map[string]any{"seconds": nil, "basis": nil, "refusal": nil}}, room["baths"].([]any)[3])
	air := room["air"].(map[string]any)
	require.Equal(t, "moving", air["state"])
	require.InDelta(t, 9.22, air["air_changes_per_hour"], 0.01) // 2.9 m/s × 0.9 × 0.0314 m² × 3600 s / 32 m³
	require.Equal(t, 8.0, air["required_air_changes_per_hour"])
	require.Equal(t, []any{}, room["alarms"])
	require.NotRegexp(t, `\.\d{10,}\b[^Z]`, p.get("/api/now").Body.String(), "no noise of the arithmetic")
}

func TestNowGivesNullsWhereNothingIsKnown(t *testing.T) {
	p := evening(t)
	p.Silence(time.Minute, sensors.StateGone)
	p.Publish()
	room := firstRoom(p.now())
	developer := room["baths"].([]any)[0].(map[string]any)
	require.Nil(t, developer["temperature_celsius"])
	require.Equal(t, "missing", developer["quality"])
	require.Nil(t, developer["recommendation"].(map[string]any)["seconds"])
	require.Contains(t, developer["recommendation"].(map[string]any)["refusal"], "temperature")
	require.Nil(t, room["air"].(map[string]any)["air_changes_per_hour"])
	require.Equal(t, "not proven", room["air"].(map[string]any)["state"])
	alarm := room["alarms"].([]any)[0].(map[string]any)
	for _, key := range []string{"id", "state", "text", "act", "since", "urgent", "acknowledged"} {
		require.Contains(t, alarm, key)
	}
	p.Show()
	require.Equal(t, []any{}, p.now()["rooms"])
}

func TestNowOfAnAcknowledgedAlarm(t *testing.T) {
	p := evening(t)
	p.Minutes(2, viewtest.Values{Developer: 19, Stop: 19, Fixer: 19, Duct: 0.02}, viewtest.Values{})
	p.Show(viewtest.Acknowledge(*p.Publish()))
	alarm := firstRoom(p.now())["alarms"].([]any)[0].(map[string]any)
	require.Equal(t, "air", alarm["id"])
	require.Equal(t, true, alarm["urgent"])
	require.Equal(t, true, alarm["acknowledged"])
}
