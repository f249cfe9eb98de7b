package dashboard_test

import (
	"net/url"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/dashboard"
)

func bottle() url.Values {
	return url.Values{"name": {"Our fixer"}, "class": {"fixer"}, "aim": {"1+7"}, "carries_rc": {"80 per gallon"}, "carries_film": {"20 rolls per litre"},
		"full": {"6 months"}, "open_tray_hours": {"12 h"}, "standing": {"verified"}, "who": {"Ada"}}
}

func TestAProductIsAddedOffItsBottleAndPutRight(t *testing.T) {
	s := stocked(t)
	text := s.enters("product-noted", bottle())
	require.Contains(t, text, "noted Our fixer [label of the bottle; verified]")
	product := func() (p ledger.Product) {
		s.book.Look(func(b *dashboard.ShelfBook) { p, _ = b.Catalogue.Product("Our fixer") })
		return p
	}
	p := product()
	require.Equal(t, "6 months", p.Full.String())
	require.Equal(t, "12 hours", p.TrayTime.String())
	require.Equal(t, "1+7", p.Dilution[0].Parts().String())
	require.Equal(t, "80 sheets 8x10 per US gallon", p.Capacity[0].String())
	require.Equal(t, "20 rolls per litre", p.Capacity[1].String())
	require.Contains(t, s.page("/shelf/enter/batch-mixed"), ">Our fixer</option>", "it can be chosen at once")
	require.Contains(t, s.refused("product-noted", with(bottle(), "full", "a while")), `"a while" is no figure with its unit`)
	require.Contains(t, s.refused("product-noted", with(bottle(), "carries_rc", "80 per bottle")), "is no figure with its unit")
	require.Contains(t, s.refused("product-noted", with(bottle(), "class", "toner")), "in the book as fixer, not toner")
	var number string
	s.book.Look(func(b *dashboard.ShelfBook) { number = strconv.FormatUint(b.Version(), 10) })
	again := s.page("/shelf/enter/product-noted?corrects=" + number)
	for _, kept := range []string{`value="6 months"`, `value="80 sheets 8x10 per US gallon"`, `value="20 rolls per litre"`, `value="1+7"`} {
		require.Contains(t, again, kept)
	}
}

func class(sheets string) url.Values {
	return url.Values{"title": {"Thursday class"}, "begins": {"2026-01-15T20:00"}, "students": {"10"}, "sheets_each": {sheets}, "sheet_m2": {"8x10in"}, "material": {"resin-coated paper"}, "who": {"Ada"}, "room": {"north"}}
}

func TestWorkIsBookedOnAPage(t *testing.T) {
	s := stocked(t)
	require.Contains(t, s.enters("work-booked", class("6")), "booked Thursday class for")
	s.book.Look(func(b *dashboard.ShelfBook) {
		work := b.Work(b.At.Add(-24*time.Hour), b.At.Add(24*time.Hour))
		require.Len(t, work, 1)
		require.Equal(t, 60, work[0].Sheets())
		require.Equal(t, time.Date(2026, 1, 15, 19, 0, 0, 0, time.UTC), work[0].Begins.UTC(), "in the zone of the place")
	})
	require.Contains(t, s.refused("work-booked", with(class("6"), "begins", "tonight")), "is not a date with a time")
	require.Contains(t, s.refused("work-booked", with(class("6"), "students", "0")), "cannot be booked")
}
