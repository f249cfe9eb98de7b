package chem

import (
	"math"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Lasting says whether a bath carries what is booked.
type Lasting struct {
	// Left is the area that the bath still carries.
	Left quantity.SquareMetre
	// Enough is whether the booking fits into what is left.
	Enough bool
	// SheetsLeft is how many whole sheets of the booked size are left.
	SheetsLeft int
	// Short is the volume of fresh working solution that would make up the rest.
	Short quantity.Millilitre
}

// Bath is a working solution with what has been processed in it.
type Bath struct {
	Volume   quantity.Millilitre
	Capacity Capacity
	// Used is the area processed so far.
	Used quantity.SquareMetre
}

// Lasts compares what is left of the bath's capacity with the booking. Without a
// capacity and its source the answer is a [Refusal].
func (b Bath) Lasts(booked Booking) (Lasting, error) {
	area, err := booked.Area()
	if err != nil {
		return Lasting{}, err
	}
	if !(b.Capacity.PerLitre > 0) || b.Capacity.Source == "" || !(b.Volume > 0) || !(b.Used >= 0) {
		return Lasting{}, Refusal{phrase.Say("the bath's volume, use or capacity is not known: test it before the class")}
	}
	left := max(b.Capacity.Of(b.Volume)-b.Used, 0)
	const whole = 1e-9 // so that 52.8 sheets less 2.8 leave 50
	l := Lasting{Left: left, Enough: area <= left*(1+whole)}
	l.SheetsLeft = int(math.Floor(float64(left/booked.Sheet.Area) + whole))
	if !l.Enough {
		l.Short = quantity.Millilitre((area-left)/b.Capacity.PerLitre) * 1000
	}
	return l, nil
}
