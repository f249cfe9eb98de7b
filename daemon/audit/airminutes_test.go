package audit_test

import (
	"math"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/audit"
	"wetside/daemon/history"
	"wetside/rules/session"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// TestAReportReadsAVelocityPressureByTheAirOfItsMinuteAsTheBoardDoes has a pitot tube that
// says 10 Pa and then a little below zero, in air of 5 °C. Textbook: V = sqrt(2 dp 287.055 T/p).
func TestAReportReadsAVelocityPressureByTheAirOfItsMinuteAsTheBoardDoes(t *testing.T) {
	p := newPlace(t)
	room := &p.site.Rooms[0]
	duct := slices.IndexFunc(room.Channels, func(c sensors.Channel) bool { return c.Kind == sensors.DuctVelocity && c.ID == "duct-velocity" })
	pascal, err := quantity.ParseUnit("Pa")
	require.NoError(t, err)
	room.Channels = slices.DeleteFunc(slices.Clone(room.Channels), func(c sensors.Channel) bool {
		return c.Kind == sensors.VolumeFlow || c.Kind == sensors.VelocityPressure
	})
	room.Channels[duct].Kind, room.Channels[duct].Unit = sensors.VelocityPressure, pascal
	warm := room.Channels[slices.IndexFunc(room.Channels, func(c sensors.Channel) bool { return c.Kind == sensors.AirTemperature })].ID
	require.NoError(t, audit.Keep(t.Context(), p.store, p.site.Settings()))
	s := session.Session{Phase: session.Open, Begun: p.clock.Now().Wall}
	p.phase(s)
	for minute := range 4 {
		var b history.Batch
		for second := range 6 {
			at := p.clock.Now().Wall.Add(time.Duration(second) * 10 * time.Second)
			raw := []float64{10, 10, -0.2, -20}[minute]
			b.Samples = append(b.Samples, history.Sample{Channel: "duct-velocity", At: at, Raw: raw, Grade: sensors.Good},
				history.Sample{Channel: warm, At: at, Raw: 5, Grade: sensors.Good})
		}
		require.NoError(t, p.store.Append(t.Context(), b))
		p.clock.Advance(time.Minute)
	}
	s.Phase = session.Closed
	p.phase(s)
	d := p.gather(term(), term().AddDate(0, 0, 2))
	want := math.Sqrt(2*10*287.055*278.15/101325) * 0.9 * math.Pi / 4 * 0.15 * 0.15 * 3600 / 30
	if room.Duct.Altitude != 0 {
		t.Fatal("the density was worked out for sea level")
	}
	require.Len(t, d.Minutes, 4)
	require.InEpsilon(t, want, *d.Minutes[0].Mean, 1e-6)
	require.Zero(t, *d.Minutes[2].Mean, "within the zero error of the probe")
	require.Nil(t, d.Minutes[3].Mean, "a pressure far below zero is no flow that is known")
}
