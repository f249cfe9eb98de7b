package audit_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/audit"
	"wetside/rules/alarm"
	"wetside/rules/past"
	"wetside/rules/ventilation"
	"wetside/sensors/quantity"
)

func (p *place) between(c *audit.Chronicle, from, to time.Time) audit.Sitting {
	s, err := c.Between(p.Context(), "practice", audit.Question{From: from, To: to, Now: p.clock.Now().Wall})
	require.NoError(p, err)
	return s
}

func TestAChronicleTellsWhatAReportTellsAndReadsOn(t *testing.T) {
	p := newPlace(t)
	c := audit.NewChronicle(&p.store.Reader)
	month := term().AddDate(0, 0, 30)
	require.Empty(t, p.between(c, term(), month).Sessions)
	for range 3 {
		p.alarm(alarm.Unacknowledged, alarm.Normal, "", "")
		p.evening()
		p.alarm(alarm.Acknowledged, alarm.Unacknowledged, "Ada", "turned the timer on")
		p.alarm(alarm.Normal, alarm.Acknowledged, "", "")
		p.clock.Advance(22 * time.Hour)
		want := p.gather(term(), month)
		for i := range want.Sessions { // what is averaged from readings is not the book's
			want.Sessions[i].Lowest, want.Sessions[i].Typical = nil, nil
		}
		got := p.between(c, term(), month)
		require.Equal(t, want.Sessions, got.Sessions)
		require.Equal(t, want.Alarms, got.Alarms)
	}
	second := p.between(c, term().Add(40*time.Hour), term().Add(44*time.Hour))
	require.Len(t, second.Sessions, 1)
	require.Len(t, second.Alarms, 1)
	other, err := c.Between(t.Context(), "elsewhere", audit.Question{From: term(), To: month})
	require.NoError(t, err)
	require.Empty(t, other.Sessions)
}

func TestWhatWasAskedOfTheAirIsThatOfItsDay(t *testing.T) {
	p := newPlace(t)
	changed := p.clock.Now().Wall.Add(24 * time.Hour)
	p.clock.Advance(24 * time.Hour)
	p.site.Rooms[0].Volume *= 2
	require.NoError(t, audit.Keep(t.Context(), p.store, p.site.Settings()))
	c := audit.NewChronicle(&p.store.Reader)
	both := p.between(c, term(), term().AddDate(0, 0, 9)).Settings
	require.Len(t, both, 2)
	require.Len(t, p.between(c, changed.Add(time.Minute), term().AddDate(0, 0, 9)).Settings, 1)
	for i, v := range both {
		r, known := v.Room("practice")
		require.True(t, known)
		low := r.FlowLimits(v.At).Low
		require.InDelta(t, []float64{5.08 * 12 * 3.6, 6 * 60}[i]/0.95, float64(low), 0.1,
			"beyond the uncertainty of 5 %: 5.08 L/s for each of 12 m², then 6 changes an hour of 60 m³, each more than 80 % of the 270 that "+
				"were commissioned")
		probes := r.FlowProbes()
		require.Len(t, probes, 1)
		flow, err := probes[0].Flow(past.Reading{UnixMilli: v.At.UnixMilli(), Raw: 2}, ventilation.Optional[quantity.Celsius]{})
		require.NoError(t, err)
		// 2 m/s through a duct of 15 cm, with the factor 0.9, over an hour.
		require.InDelta(t, 2*math.Pi/4*0.15*0.15*0.9*3600, float64(flow), 0.1)
	}
}
