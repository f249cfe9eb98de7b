package programs

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"time"

	"wetside/sensors/quantity/cells"
)

// head is what an answer says before its rows.
type head struct {
	Channel    string    `json:"channel"`
	Quantity   string    `json:"quantity"`
	Unit       string    `json:"unit"`
	RawUnit    string    `json:"raw_unit"`
	From       time.Time `json:"from"`
	To         time.Time `json:"to"`
	Resolution string    `json:"resolution"`
}

// end is what an answer says behind its rows. An answer without it was cut off.
type end struct {
	Rows int `json:"rows"`
	// Next is from when on to ask for the rest; null where nothing is left.
	Next *time.Time `json:"next"`
}

// sink writes an answer row by row.
type sink interface {
	begin(head) error
	row(row) error
	end(end) error
}

// jsonSink writes one object; its rows come one a line.
type jsonSink struct {
	out  *bufio.Writer
	rows int
}

func (s *jsonSink) begin(h head) error {
	text, err := json.Marshal(h)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(s.out, `%s,"rows":[`, text[:len(text)-1])
	return err
}

func (s *jsonSink) row(r row) error {
	before := ",\n"
	if s.rows == 0 {
		before = "\n"
	}
	s.rows++
	return s.write(before, r)
}

func (s *jsonSink) end(e end) error {
	if err := s.write("],\n\"end\":", e); err != nil {
		return err
	}
	_, _ = s.out.WriteString("}\n") // Flush says what failed
	return s.out.Flush()
}

func (s *jsonSink) write(before string, value any) error {
	text, err := json.Marshal(value)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(s.out, "%s%s", before, text)
	return err
}

// tableSink writes a table of comma-separated values (RFC 4180). Its last row is "end", with
// the number of rows as good and from when on to ask for the rest as from.
type tableSink struct {
	out           *bufio.Writer
	channel, unit string
	cells         cells.Row // used again for each row
}

func (s *tableSink) begin(h head) error {
	s.channel, s.unit = h.Channel, h.Unit
	var names cells.Row
	for _, name := range heads() {
		names = names.Plain(name)
	}
	return s.write(names.End())
}

func (s *tableSink) row(r row) error {
	s.cells = r.cells(s.cells[:0], s.channel, s.unit)
	return s.write(s.cells)
}

func (s *tableSink) end(e end) error {
	last := s.cells[:0].Plain(s.channel).Plain(s.unit).Plain("end").Plain(stamp(e.Next)).Empty(6).Whole(int64(e.Rows))
	_ = s.write(last.Empty(len(heads()) - 11).End()) // Flush says what failed
	return s.out.Flush()
}

func (s *tableSink) write(row cells.Row) error {
	_, err := s.out.Write(row)
	return err
}

func newSink(asCSV bool, w io.Writer) sink {
	out := bufio.NewWriter(w)
	if asCSV {
		return &tableSink{out: out}
	}
	return &jsonSink{out: out}
}
