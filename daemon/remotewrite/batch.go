package remotewrite

import (
	"maps"
	"math"
	"time"

	writev2 "github.com/prometheus/client_golang/exp/api/remote/genproto/v2"

	"wetside/daemon/history"
	"wetside/sensors"
)

// tip is the end of a series so far: when it last had a value, unless it has ended.
type tip struct {
	at   time.Time
	open bool
}

// batch is a request in the making.
type batch struct {
	request *writev2.Request
	count   int
	// tips are the ends of all series once the request is taken.
	tips map[sensors.ChannelID]tip
}

// batch makes the request of a window that ends at a time.
func (s *Sender) batch(series []Series, samples [][]history.Sample, to time.Time) batch {
	b := batch{request: &writev2.Request{}, tips: maps.Clone(s.last)}
	symbols := writev2.NewSymbolTable()
	for i, x := range series {
		points := b.points(x, samples[i], to)
		if len(points) == 0 {
			continue
		}
		b.count += len(points)
		b.request.Timeseries = append(b.request.Timeseries, &writev2.TimeSeries{
			LabelsRefs: symbols.SymbolizeLabels([]string{"__name__", x.Metric, "channel", string(x.Channel), "room", x.Room}, nil),
			Samples:    points,
			Metadata:   &writev2.Metadata{Type: writev2.Metadata_METRIC_TYPE_GAUGE},
		})
	}
	b.request.Symbols = symbols.Symbols()
	return b
}

// points are the values of a series in a window, and where it ends. What was imported
// is of no probe and is left out.
func (b *batch) points(x Series, samples []history.Sample, to time.Time) []*writev2.Sample {
	var points []*writev2.Sample
	tip := b.tips[x.Channel]
	end := func(at time.Time) {
		if tip.open {
			points = append(points, &writev2.Sample{Timestamp: at.UnixMilli(), Value: stale()})
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
		points = append(points, &writev2.Sample{Timestamp: p.At.UnixMilli(), Value: x.Value(p.Raw, p.At)})
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
