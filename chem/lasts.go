package chem

import (
	"math"

	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Lasting says whether a bath carries what is booked.
type Lasting struct {
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
	l := Lasting{Enough: area <= left*(1+whole)}
	l.SheetsLeft = int(math.Floor(float64(left/booked.Sheet.Area) + whole))
	if !l.Enough {
		l.Short = quantity.Millilitre((area-left)/b.Capacity.PerLitre) * 1000
	}
	return l, nil
}

// Booking is what a session will process.
type Booking struct {
	// Students and SheetsEach are counts; one person prints alone with Students 1.
	Students, SheetsEach int
	// Sheet is the size used.
	Sheet Sheet
}

// Area is what the session will process in all.
func (b Booking) Area() (quantity.SquareMetre, error) {
	if b.Students <= 0 || b.SheetsEach <= 0 || !(b.Sheet.Area > 0) {
		return 0, phrase.Errorf("a booking needs students, sheets for each and a sheet size, each more than zero")
	}
	return b.Sheet.Area * quantity.SquareMetre(b.Students) * quantity.SquareMetre(b.SheetsEach), nil
}

// Need is how much of a bath a session takes.
type Need struct {
	// Worked is the volume whose capacity the booked area uses up.
	Worked quantity.Millilitre
	// Mix is Worked plus the tray fill, so that the tray is still full of
	// good solution at the last sheet.
	Mix quantity.Millilitre
	// Source is where the capacity comes from.
	Source string
}

// Need works out how much to mix: the area over the capacity, plus the tray fill.
func (b Booking) Need(c Capacity, trayFill quantity.Millilitre) (Need, error) {
	area, err := b.Area()
	if err != nil {
		return Need{}, err
	}
	if !(c.PerLitre > 0) || c.Source == "" {
		return Need{}, Refusal{phrase.Say("the capacity of the bath is not known, or not where it was published")}
	}
	if !(trayFill >= 0 && finite(float64(trayFill))) {
		return Need{}, phrase.Errorf("a tray fill of %s: it must be zero or more", trayFill.To(0))
	}
	worked := quantity.Millilitre(area/c.PerLitre) * 1000
	return Need{Worked: worked, Mix: worked + trayFill, Source: c.Source}, nil
}
