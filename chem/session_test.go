package chem_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/chem"
	"wetside/sensors/quantity"
)

func sheet(t testing.TB, text string) chem.Sheet {
	t.Helper()
	s, err := chem.ParseSheet(text)
	require.NoError(t, err)
	return s
}

// Print fixer: about 200 8x10 per US gallon. Source: US Navy training manual
// 14209, Photography (Basic), life of a fixing bath (verified).
func navyFixer(t testing.TB) chem.Capacity {
	t.Helper()
	return chem.Capacity{PerLitre: 200 * sheet(t, "8x10in").Area / quantity.SquareMetre(volume(t, "1gal")/1000), Source: "US Navy 14209"}
}

func TestSheetSizes(t *testing.T) {
	// 80 square inches are 0.051613 m2 exactly enough (derived, by the inch).
	require.InDelta(t, 0.051613, float64(sheet(t, "8x10in").Area), 1e-6)
	require.InDelta(t, float64(chem.FilmRoll().Area), float64(sheet(t, "8 x 10 in").Area), 1e-12)
	require.InDelta(t, 0.0432, float64(sheet(t, "18×24cm").Area), 1e-12)
	require.InDelta(t, 0.0432, float64(sheet(t, "18cm x 24cm").Area), 1e-12)
	require.Len(t, chem.CommonSheets(), 10)
	for _, text := range []string{"", "8x10", "x10in", "8xin", "0x10in", "-8x10in", "8x10mL", "800x1000m", "big"} {
		_, err := chem.ParseSheet(text)
		require.Error(t, err, text)
	}
}

func TestWhatAClassNeeds(t *testing.T) {
	need, err := chem.Booking{Students: 12, SheetsEach: 4, Sheet: sheet(t, "8x10in")}.Need(navyFixer(t), 2000)
	require.NoError(t, err)
	require.InDelta(t, 48.0/200*float64(volume(t, "1gal")), float64(need.Worked), 1e-6)
	require.InDelta(t, float64(need.Worked)+2000, float64(need.Mix), 1e-9)
	require.Equal(t, "US Navy 14209", need.Source)

	_, err = chem.Booking{Students: 12, SheetsEach: 4, Sheet: sheet(t, "8x10in")}.Need(chem.Capacity{}, 2000)
	require.True(t, chem.IsRefusal(err))
	_, err = chem.Booking{}.Need(navyFixer(t), 2000)
	require.Error(t, err)
	_, err = chem.Booking{Students: 1, SheetsEach: 1, Sheet: sheet(t, "8x10in")}.Need(navyFixer(t), -1)
	require.Error(t, err)
}

func TestWillItLastTheClass(t *testing.T) {
	bath := chem.Bath{Volume: 1000, Capacity: navyFixer(t), Used: 30 * sheet(t, "8x10in").Area}
	l, err := bath.Lasts(chem.Booking{Students: 11, SheetsEach: 2, Sheet: sheet(t, "8x10in")})
	require.NoError(t, err)
	require.True(t, l.Enough)
	require.Equal(t, 22, l.SheetsLeft) // 52.8 per litre, 30 used
	require.Zero(t, l.Short)

	l, err = bath.Lasts(chem.Booking{Students: 12, SheetsEach: 2, Sheet: sheet(t, "8x10in")})
	require.NoError(t, err)
	require.False(t, l.Enough)
	require.InDelta(t, (24-22.8344)/52.8344*1000, float64(l.Short), 0.1)

	bath.Used = 99
	l, err = bath.Lasts(chem.Booking{Students: 1, SheetsEach: 1, Sheet: sheet(t, "8x10in")})
	require.NoError(t, err)
	require.Zero(t, l.SheetsLeft)

	_, err = chem.Bath{Volume: 1000}.Lasts(chem.Booking{Students: 1, SheetsEach: 1, Sheet: sheet(t, "8x10in")})
	require.True(t, chem.IsRefusal(err))
	_, err = bath.Lasts(chem.Booking{})
	require.Error(t, err)
}
