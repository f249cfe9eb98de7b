package programs

import (
	"context"
	"time"

	"wetside/dashboard/web"
	"wetside/sensors"
)

// Span is one channel over a time: From is in it, To is not.
type Span struct {
	Channel  sensors.ChannelID
	From, To time.Time
}

// Measured is what was recorded of the channels, as far as it is believed now: a fault that
// was found later takes the readings out that came after it began.
type Measured interface {
	// Samples gives every sample, in the order of time.
	Samples(ctx context.Context, s Span) ([]Sample, error)
	// Quarters gives what each quarter of an hour that the time touches comes to; those
	// without a sample are left out.
	Quarters(ctx context.Context, s Span) ([]Stretch, error)
	// Gaps are the times without samples, in order and cut to the time.
	// Exact finds gaps between single samples, not between quarters of an hour alone.
	Gaps(ctx context.Context, s Span, exact bool) ([]web.SeriesGap, error)
}

// Sample is one reading as it was kept.
type Sample struct {
	At time.Time
	// Raw is what the probe sent, in its own unit; Value is corrected and in the inside
	// unit, and means nothing unless Grade is Good.
	Raw, Value float64
	Grade      sensors.Grade
	Reason     sensors.Reason
	// Imported marks a value that came from a file and not from a probe of this place.
	Imported bool
}

// Stretch is what a stretch of time comes to, corrected and in the inside unit. Min, Mean and
// Max are of good values alone and mean nothing where Good is 0.
type Stretch struct {
	From, To time.Time
	// Good and Bad count the samples that are good and those that are not.
	Good, Bad int
	// Covered is the time for which a good value is known.
	Covered        time.Duration
	Min, Mean, Max float64
	// Imported is set when some of the samples came from a file.
	Imported bool
}

// join adds a later stretch.
func (s *Stretch) join(o Stretch) {
	switch {
	case o.Good == 0:
	case s.Good == 0:
		s.Min, s.Mean, s.Max = o.Min, o.Mean, o.Max
	default:
		s.Min, s.Max = min(s.Min, o.Min), max(s.Max, o.Max)
		s.Mean += (o.Mean - s.Mean) * float64(o.Good) / float64(s.Good+o.Good)
	}
	s.Good, s.Bad, s.Covered, s.Imported = s.Good+o.Good, s.Bad+o.Bad, s.Covered+o.Covered, s.Imported || o.Imported
	s.To = o.To
}

// days joins quarters of an hour to the days of a place.
func days(quarters []Stretch, zone *time.Location) []Stretch {
	var list []Stretch
	for _, q := range quarters {
		begin, end := midnight(q.From, zone, 0), midnight(q.From, zone, 1)
		if n := len(list); n == 0 || !list[n-1].From.Equal(begin) {
			list = append(list, Stretch{From: begin})
		}
		day := &list[len(list)-1]
		day.join(q)
		day.To = end
	}
	return list
}
