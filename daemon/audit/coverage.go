package audit

import (
	"errors"
	"runtime"
	"slices"
	"sync"
	"time"

	"wetside/daemon/history"
	"wetside/dashboard/report"
	"wetside/rules/coverage"
	"wetside/rules/past"
	"wetside/rules/truth"
	"wetside/sensors"
)

// coverage counts for every session how much of it each channel was measured, sums up the
// air by the minute, and sets the gases against their limits. Sessions are read side by
// side, on every processor.
func (g *gathering) coverage() error {
	all := make([]counted, len(g.evenings))
	next := make(chan int)
	var workers sync.WaitGroup
	for range runtime.NumCPU() {
		workers.Go(func() {
			for i := range next {
				all[i].err = g.count(&all[i], g.evenings[i])
			}
		})
	}
	for i := range g.evenings {
		next <- i
	}
	close(next)
	workers.Wait()
	for i, c := range all {
		if c.err != nil {
			return c.err
		}
		g.data.Sessions[i].Lowest, g.data.Sessions[i].Typical = c.lowest, c.typical
	}
	d := &g.data
	d.Coverage = joined(all, func(c counted) []report.Coverage { return c.coverage })
	d.Gaps = joined(all, func(c counted) []report.Gap { return c.gaps })
	d.Minutes = joined(all, func(c counted) []report.Minute { return c.minutes })
	d.GasMinutes = joined(all, func(c counted) []report.GasMinute { return c.gasMinutes })
	d.Averages = joined(all, func(c counted) []report.Average { return c.averages })
	return nil
}

// joined gives the lists of all sessions as one: those of ten years have millions of rows, so
// it is made as long as it gets at once.
func joined[T any](all []counted, of func(counted) []T) []T {
	lists := make([][]T, len(all))
	for i, c := range all {
		lists[i] = of(c)
	}
	return slices.Concat(lists...)
}

// counted is what the readings of one session come to.
type counted struct {
	coverage        []report.Coverage
	gaps            []report.Gap
	minutes         []report.Minute
	gasMinutes      []report.GasMinute
	averages        []report.Average
	lowest, typical *float64
	err             error
}

// count counts every channel over one session.
func (g *gathering) count(out *counted, s evening) error {
	room, known := s.Then()
	if !known {
		return nil
	}
	for _, c := range room.Channels {
		m := &measured{gathering: g, evening: s, channel: c, out: out}
		if err := m.read(); err != nil {
			return err
		}
	}
	if err := g.countAir(out, s, room); err != nil {
		return err
	}
	return g.countGases(out, s, room)
}

// measured is one channel over one session, being counted.
type measured struct {
	*gathering
	evening
	channel past.Channel
	out     *counted
}

func (m *measured) read() error {
	span := m.Span()
	id := sensors.ChannelID(m.channel.ID)
	silence := time.Duration(m.channel.Silence * float64(time.Second))
	counter := coverage.NewCounter(span, coverage.Channel{Silence: silence, Until: m.Now})
	wide := history.RunQuery{Channel: id, From: span.From.Add(-silence), To: span.To.Add(silence + time.Millisecond), Pause: silence}
	for run, err := range m.book.Runs(m.ctx, wide) {
		if unknown(err) {
			break // it stood in the settings and never gave anything
		}
		if err != nil {
			return err
		}
		if run.Imported {
			continue // what came from a file was not measured here
		}
		for piece := range m.probesBelieved.Believed(id, truth.Stretch{From: run.First, To: run.Last, Grade: run.Grade, Reason: run.Reason}) {
			counter.AddRun(coverage.Span{From: piece.From, To: piece.To}, why(piece))
		}
	}
	recorded, err := m.gapsOf(id, span)
	if err != nil {
		return err
	}
	m.note(counter.Finish(recorded))
	return nil
}

// why says in an auditor's words what is wrong with a run of samples; nothing for good ones.
func why(r truth.Stretch) string {
	if r.Grade == sensors.Good {
		return ""
	}
	return coverage.Cause(string(r.Reason))
}

// unknown says that a channel stands in the settings and never gave anything.
func unknown(err error) bool { return errors.Is(err, history.ErrUnknownChannel) }

// gapsOf reads the gaps that were recorded with a cause.
func (m *measured) gapsOf(id sensors.ChannelID, span coverage.Span) ([]coverage.Gap, error) {
	gaps, err := m.book.Gaps(m.ctx, id, span.From, span.To)
	if unknown(err) {
		return nil, nil
	}
	var list []coverage.Gap
	for _, p := range gaps {
		list = append(list, coverage.Gap{Span: coverage.Span{From: p.From, To: p.To}, Cause: coverage.Cause(p.Cause)})
	}
	return list, err
}

func (m *measured) note(c coverage.Coverage) {
	m.out.coverage = append(m.out.coverage, report.Coverage{Session: m.number, Room: m.Room, Channel: m.channel.ID, Name: m.channel.Name,
		Required: c.Required, Valid: c.Valid, Missing: c.Missing, Longest: c.Longest})
	for _, p := range c.Gaps {
		m.out.gaps = append(m.out.gaps, report.Gap{Session: m.number, Channel: m.channel.ID, From: p.From, To: p.To, Cause: coverage.Told(p.Cause)})
	}
}
