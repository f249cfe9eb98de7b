package class

import (
	"reflect"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/cards"
)

func TestATrayIsTheSameOnlyWhileAllThatIsDrawnOfItIs(t *testing.T) {
	was := boardBath{Sheets: []cards.ClockCard{{Number: 2}}, Wash: []washLine{{Paper: "RC"}}}
	require.True(t, was.Same(&boardBath{Sheets: []cards.ClockCard{{Number: 2}}, Wash: []washLine{{Paper: "RC"}}}))
	other := map[string]any{"Card": cards.BathCard{Temperature: "20.1"}, "Picture": &trayPicture{Ahead: "1,2 3,4"},
		"Running": &cards.ClockCard{Number: 1}, "Sheets": []cards.ClockCard{{Number: 3}}, "Line": &wetLine{Light: "on"},
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
