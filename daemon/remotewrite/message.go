package remotewrite

import (
	"math"

	writev2 "github.com/prometheus/client_golang/exp/api/remote/genproto/v2"
	"google.golang.org/protobuf/encoding/protowire"
)

// row is what goes out of one series: its labels, name and value in turn and sorted by name,
// and its points in the order of time.
type row struct {
	labels []string
	points []point
}

// point is a value at a time in milliseconds since 1970.
type point struct {
	at    int64
	value float64
}

func count(rows []row) (n int) {
	for _, r := range rows {
		n += len(r.points)
	}
	return n
}

// second is a request of version 2.0: prometheus.io/docs/specs/prw/remote_write_spec_2_0.
func second(rows []row) *writev2.Request {
	request, symbols := &writev2.Request{}, writev2.NewSymbolTable()
	for _, r := range rows {
		series := &writev2.TimeSeries{LabelsRefs: symbols.SymbolizeLabels(r.labels, nil),
			Metadata: &writev2.Metadata{Type: writev2.Metadata_METRIC_TYPE_GAUGE}}
		for _, p := range r.points {
			series.Samples = append(series.Samples, &writev2.Sample{Timestamp: p.at, Value: p.value})
		}
		request.Timeseries = append(request.Timeseries, series)
	}
	request.Symbols = symbols.Symbols()
	return request
}

// first is a request of version 1.0 as bytes: prometheus.io/docs/specs/prw/remote_write_spec.
type first []byte

// The numbers of the fields of version 1.0, which its specification gives.
const (
	requestSeries = 1
	seriesLabel   = 1
	seriesSample  = 2
	labelName     = 1
	labelValue    = 2
	sampleValue   = 1
	sampleTime    = 2
)

func newFirst(rows []row) (request first) {
	for _, r := range rows {
		var series []byte
		for i := 0; i+1 < len(r.labels); i += 2 {
			label := appendText(appendText(nil, labelName, r.labels[i]), labelValue, r.labels[i+1])
			series = protowire.AppendBytes(protowire.AppendTag(series, seriesLabel, protowire.BytesType), label)
		}
		for _, p := range r.points {
			sample := protowire.AppendFixed64(protowire.AppendTag(nil, sampleValue, protowire.Fixed64Type), math.Float64bits(p.value))
			sample = protowire.AppendVarint(protowire.AppendTag(sample, sampleTime, protowire.VarintType), uint64(p.at))
			series = protowire.AppendBytes(protowire.AppendTag(series, seriesSample, protowire.BytesType), sample)
		}
		request = protowire.AppendBytes(protowire.AppendTag(request, requestSeries, protowire.BytesType), series)
	}
	return request
}

func appendText(to []byte, field protowire.Number, text string) []byte {
	return protowire.AppendString(protowire.AppendTag(to, field, protowire.BytesType), text)
}

// SizeVT and MarshalToSizedBufferVT are by what the client library takes a message that is
// written already.
func (f first) SizeVT() int { return len(f) }

// MarshalToSizedBufferVT copies the message.
func (f first) MarshalToSizedBufferVT(to []byte) (int, error) { return copy(to, f), nil }
