package record

import (
	"context"
	"time"

	"wetside/dashboard/report"
	"wetside/dashboard/web"
	"wetside/sensors"
)

// Past is what the record book tells of a time, for the pages that look back.
type Past interface {
	// Course gives what happened in a time, from From up to To, in one room or in all.
	Course(ctx context.Context, q CourseQuery) (Course, error)
	// Flow gives the flow of air of a room in m³/h, by the probe, the duct and the
	// corrections of each day; nothing where no flow was measured.
	Flow(ctx context.Context, room string, q web.SeriesQuery) (web.Series, error)
}

// CourseQuery asks for what happened in a time. An empty Room means every room.
type CourseQuery struct {
	Room     string
	From, To time.Time
}

// Course is what happened in a time, each in the order in which it began.
type Course struct {
	// Sessions and Alarms are those of which any part lies in the time.
	Sessions []report.Session
	Alarms   []report.Alarm
	Bands    []PastBand
}

// PastBand is a band that was wanted of a channel over a time, by the settings of
// that time, in the inside unit. High is +Inf where there is no upper end. The
// channel [cards.AirFlow] means the flow of air.
type PastBand struct {
	Channel   sensors.ChannelID
	From, To  time.Time
	Low, High float64
}
