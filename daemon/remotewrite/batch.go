package remotewrite

import (
	"maps"
	"math"
	"slices"
	"strings"
	"time"

	"wetside/daemon/history"
	"wetside/sensors"
)

// tip is the end of a series so far: when it last had a value, unless it has ended.
type tip struct {
	at   time.Time
	open bool
}

type batch struct {
	rows  []row
	count int
	// to is the end of its window.
	to time.Time
	// tips are the ends of all series once the request is taken.
	tips map[sensors.ChannelID]tip
}

// batch makes the request of a window that ends at a time.
func (s *Sender) batch(series []Series, samples [][]history.Sample, to time.Time) batch {
	b := batch{tips: maps.Clone(s.last), to: to}
	for i, x := range series {
		points := b.points(x, samples[i], to)
		if len(points) == 0 {
			continue
		}
		b.count += len(points)
		b.rows = append(b.rows, row{s.labels(x), points})
	}
	return b
}

// labels are those of a series and those of the site, sorted by name as both versions want them.
func (s *Sender) labels(x Series) (list []string) {
	all := maps.Clone(s.options.Labels)
	if all == nil {
		all = map[string]string{}
	}
	all["__name__"], all["channel"], all["room"] = x.Metric, string(x.Channel), x.Room
	for _, name := range slices.SortedFunc(maps.Keys(all), strings.Compare) {
		list = append(list, name, all[name])
	}
	return list
}

// points are the values of a series in a window, and where it ends. What was imported
// is of no probe and is left out.
func (b *batch) points(x Series, samples []history.Sample, to time.Time) []point {
	var points []point
	tip := b.tips[x.Channel]
	end := func(at time.Time) {
		if tip.open {
			points = append(points, point{at.UnixMilli(), stale()})
			tip.open = false
		}
	}
	for _, p := range samples {
		if p.Imported || !p.At.After(tip.at) {
			continue // a series has one value at a time
		}
		if over := tip.at.Add(x.Silence); p.At.After(over) {
			end(over)
		}
		tip.at = p.At
		if p.Grade != sensors.Good {
			end(p.At)
			continue
		}
		points = append(points, point{p.At.UnixMilli(), x.Value(p.Raw, p.At)})
		tip.open = true
	}
	if over := tip.at.Add(x.Silence); over.Before(to) {
		end(over)
	}
	b.tips[x.Channel] = tip
	return points
}

// stale is the value by which a series says that it has ended; its bits are given by
// the specification: prometheus.io/docs/specs/prw/remote_write_spec_2_0, stale markers.
func stale() float64 { return math.Float64frombits(0x7ff0000000000002) }
