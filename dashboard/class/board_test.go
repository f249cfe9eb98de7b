package class

import (
	"reflect"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/sensors"
)

func TestATrayIsTheSameOnlyWhileAllThatIsDrawnOfItIs(t *testing.T) {
	was := boardBath{Sheets: []cards.TimerCard{{Number: 2}}, Wash: []washLine{{Paper: "RC"}}}
	require.True(t, was.Same(&boardBath{Sheets: []cards.TimerCard{{Number: 2}}, Wash: []washLine{{Paper: "RC"}}}))
	other := map[string]any{"Card": cards.BathCard{Temperature: "20.1"}, "Picture": &trayPicture{Ahead: "1,2 3,4"},
		"Running": &cards.TimerCard{Number: 1}, "Sheets": []cards.TimerCard{{Number: 3}}, "Line": &wetLine{Light: "on"},
		"Wash": []washLine{{Paper: "fibre"}}}
	of := reflect.TypeFor[boardBath]()
	for i := range of.NumField() {
		name := of.Field(i).Name
		require.Contains(t, other, name, "compare it in Same")
		is := was
		reflect.ValueOf(&is).Elem().Field(i).Set(reflect.ValueOf(other[name]))
		require.False(t, was.Same(&is), name)
	}
}

func TestATrackIsDrawnOnceWhileNothingOfItChanges(t *testing.T) {
	from := time.Date(2026, 10, 14, 18, 0, 0, 0, time.UTC)
	past := &soFar{from: from, tracks: map[sensors.ChannelID]web.Series{}}
	points := make([]web.SeriesPoint, evenSteps)
	for i := range points {
		points[i] = web.SeriesPoint{At: from.Add(time.Duration(i) * time.Minute), Mean: 20 + float64(i%10)/10}
	}
	past.tracks["fix"] = web.Series{Points: points}
	portion := rules.Portion{Filled: from}
	bath := rules.BathView{Bath: rules.Bath{ID: "fixer", Channel: "fix", Band: sensors.Range{Low: 18, High: 24}}, Portion: &portion}
	var f figures
	f.Zone, f.Now.Wall = time.UTC, from.Add(2*time.Hour)
	first := f.trayPicture(bath, past)
	require.Less(t, testing.AllocsPerRun(10, func() { f.trayPicture(bath, past) }), 20.0)
	require.Equal(t, first, f.trayPicture(bath, past))

	f.Now.Wall = f.Now.Wall.Add(time.Minute)
	later := f.trayPicture(bath, past)
	require.NotEqual(t, first.Runs, later.Runs, "the window has moved")
	portion.Filled = from.Add(time.Hour)
	require.Less(t, len(f.trayPicture(bath, past).Runs[0]), len(later.Runs[0]), "another bath was poured")
	bath.Bath.Band.High = 30
	require.NotEqual(t, later.Runs, f.trayPicture(bath, past).Runs, "another range is wanted")
}
