package programs

import (
	"context"
	"errors"
	"net/http"
	"time"

	"go.uber.org/zap"

	"wetside/dashboard/web"
)

// mostRows bounds one answer; the rest is asked for from where it ended.
const mostRows = 100_000

// atOnce is how much of a series is read before it is sent: a program that reads slowly must
// not keep the history open meanwhile.
const atOnce = time.Hour

func (s *Pages) series(w http.ResponseWriter, r *http.Request) {
	site := s.View.Now()
	q, wrong := ask(r.URL.Query(), site, s.Clock.Now().Wall)
	if wrong != "" {
		refuse(w, http.StatusBadRequest, wrong)
		return
	}
	var err error
	if q.channel, err = find(site, string(q.span.Channel)); err != nil {
		refuse(w, http.StatusNotFound, web.SentenceCase(err.Error()))
		return
	}
	select {
	case s.reading <- struct{}{}:
		defer func() { <-s.reading }()
	case <-r.Context().Done():
		return
	}
	a := answer{Pages: s, question: q, site: site}
	if a.gaps, err = s.Measured.Gaps(r.Context(), q.span, q.resolution.name == raw); err != nil {
		s.Log.Warn("a series could not be read for a program", zap.String("channel", string(q.span.Channel)), zap.Error(err))
		refuse(w, http.StatusServiceUnavailable, "The history could not be read. The log says why.")
		return
	}
	w.Header().Set("Content-Type", "application/json")
	if q.csv {
		w.Header().Set("Content-Type", "text/csv; charset=utf-8; header=present")
	}
	a.sink = newSink(q.csv, w)
	if err := a.write(r.Context()); err != nil && r.Context().Err() == nil {
		s.Log.Warn("a series ended early: its reader sees that its end is missing", zap.String("channel", string(q.span.Channel)), zap.Error(err))
	}
}

// answer is one series on its way to a program.
type answer struct {
	*Pages
	question
	site *web.Site
	sink sink
	gaps []web.SeriesGap // that are still to be written
	rows int
	last time.Time  // of the last row
	next *time.Time // from when on to ask for the rest
}

// errFull ends an answer that has as many rows as one may have.
var errFull = errors.New("the answer is full")

func (a *answer) write(ctx context.Context) error {
	h := head{Channel: string(a.channel.ID), Quantity: string(a.channel.Kind), Unit: insideUnit(a.channel).String(),
		RawUnit: a.channel.Unit.String(), From: a.span.From.UTC(), To: a.span.To.UTC(), Resolution: a.resolution.name}
	if err := a.sink.begin(h); err != nil {
		return err
	}
	err := a.values(ctx)
	if err == nil {
		err = a.gapsBefore(a.span.To)
	}
	if err != nil && !errors.Is(err, errFull) {
		return err
	}
	return a.sink.end(end{a.rows, a.next})
}

// values writes the values with the gaps between them.
func (a *answer) values(ctx context.Context) error {
	if a.resolution.name == raw {
		return a.samples(ctx)
	}
	quarters, err := a.Measured.Quarters(ctx, a.span)
	if err != nil {
		return err
	}
	if a.resolution.name == day {
		quarters = days(quarters, a.site.Zone)
	}
	for _, q := range quarters {
		if err := a.add(stretchRow(q)); err != nil {
			return err
		}
	}
	return nil
}

func (a *answer) samples(ctx context.Context) error {
	for from := a.span.From; from.Before(a.span.To); from = from.Add(atOnce) {
		part := Span{a.span.Channel, from, from.Add(atOnce)}
		if part.To.After(a.span.To) {
			part.To = a.span.To
		}
		samples, err := a.Measured.Samples(ctx, part)
		if err != nil {
			return err
		}
		for _, s := range samples {
			if err := a.add(sampleRow(s)); err != nil {
				return err
			}
		}
	}
	return nil
}

// add writes a row and the gaps that began before it.
func (a *answer) add(r row) error {
	if err := a.gapsBefore(r.From); err != nil {
		return err
	}
	return a.one(r)
}

func (a *answer) gapsBefore(at time.Time) error {
	for len(a.gaps) > 0 && a.gaps[0].From.Before(at) {
		if err := a.one(gapRow(a.gaps[0])); err != nil {
			return err
		}
		a.gaps = a.gaps[1:]
	}
	return nil
}

// one writes a row. Rows of one moment are never parted, so that whoever asks on from the
// next one gets each row once.
func (a *answer) one(r row) error {
	if a.rows >= mostRows && !r.From.Equal(a.last) {
		a.next = &r.From
		return errFull
	}
	a.rows++
	a.last, r.Simulated = r.From, a.site.Simulated
	return a.sink.row(r)
}
