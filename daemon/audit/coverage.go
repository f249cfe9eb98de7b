package audit

import (
	"errors"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"wetside/daemon/history"
	"wetside/dashboard/report"
	"wetside/rules/coverage"
	"wetside/rules/past"
	"wetside/rules/truth"
	"wetside/sensors"
)

// coverage counts for every session how much of it each channel was measured, sums up the
// air by the minute, and sets the gases against their limits. Sessions are counted side by
// side, on every processor, those of different years where there are some: whoever comes first reads
// what was kept of a year, and others of that year wait for it.
func (g *gathering) coverage() error {
	recorded, err := g.recordedGaps()
	if err != nil {
		return err
	}
	kept := g.openKept()
	all := make([]counted, len(g.evenings))
	errs := make([]error, runtime.NumCPU())
	order := farApart(len(all), len(errs))
	var next atomic.Int64
	var workers sync.WaitGroup
	for n := range errs {
		workers.Go(func() {
			errs[n] = g.book.Look(g.ctx, func(l *history.Look) error {
				c := counting{g, l, recorded, map[string]*past.Track{}, kept}
				for turn := int(next.Add(1)) - 1; turn < len(order); turn = int(next.Add(1)) - 1 {
					i := order[turn]
					if err := c.count(&all[i], g.evenings[i]); err != nil {
						return err
					}
				}
				return nil
			})
		})
	}
	workers.Wait()
	if err := errors.Join(errs...); err != nil {
		return err
	}
	for i, c := range all {
		g.data.Sessions[i].Lowest, g.data.Sessions[i].Typical = c.lowest, c.typical
	}
	d := &g.data
	d.Coverage = joined(all, func(c counted) []report.Coverage { return c.coverage })
	d.Gaps = joined(all, func(c counted) []report.Gap { return c.gaps })
	d.Minutes = joined(all, func(c counted) []report.Minute { return c.minutes })
	d.GasMinutes = joined(all, func(c counted) []report.GasMinutes { return c.gasMinutes })
	d.Averages = joined(all, func(c counted) []report.Average { return c.averages })
	return nil
}

// farApart lists so many numbers in such an order that those beside each other are of different parts of all.
func farApart(count, parts int) []int {
	list, length := make([]int, 0, count), (count+parts-1)/parts
	for i := range length {
		for at := i; at < count; at += length {
			list = append(list, at)
		}
	}
	return list
}

// recordedGaps reads the gaps of every channel that were recorded with a cause, once for all sessions.
func (g *gathering) recordedGaps() (map[string]coverage.Recorded, error) {
	var whole coverage.Span
	for i, e := range g.evenings {
		if s := e.Span(); i == 0 || s.To.After(whole.To) {
			whole.To = s.To
		}
		if i == 0 || e.Span().From.Before(whole.From) {
			whole.From = e.Span().From
		}
	}
	all := map[string]coverage.Recorded{}
	for _, e := range g.evenings {
		room, _ := e.Then()
		for _, c := range room.Channels {
			if _, read := all[c.ID]; read {
				continue
			}
			gaps, err := g.book.Gaps(g.ctx, sensors.ChannelID(c.ID), whole.From, whole.To)
			if err != nil && !unknown(err) {
				return nil, err
			}
			list := make([]coverage.Gap, len(gaps))
			for i, p := range gaps {
				list[i] = coverage.Gap{Span: coverage.Span{From: p.From, To: p.To}, Cause: coverage.Cause(p.Cause)}
			}
			all[c.ID] = coverage.Lay(list)
		}
	}
	return all, nil
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

type counted struct {
	coverage        []report.Coverage
	gaps            []report.Gap
	minutes         []report.Minute
	gasMinutes      []report.GasMinutes
	averages        []report.Average
	lowest, typical *float64
}

type counting struct {
	*gathering
	look     *history.Look
	recorded map[string]coverage.Recorded // by channel
	warm     map[string]*past.Track       // by channel: their memory serves one session after another
	kept     *keptSessions
}

func (c counting) count(out *counted, s evening) error {
	defer c.kept.years[yearOf(s)].counted()
	room, known := s.Then()
	if !known {
		return nil
	}
	gases := gasCourses(s, room)
	t, err := c.taken(s, room, gases)
	if err != nil {
		return err
	}
	for i, channel := range room.Channels {
		out.cover(s, channel, t.Covered[i])
	}
	if t.Flow {
		out.fillAir(s.number, t.Air)
	}
	return c.judge(out, s, gases, t.Gases)
}

// read reads every channel of one session once, for all that follows from its readings.
func (c counting) read(s evening, room past.Room, gases []*past.GasCourse) (t taken, err error) {
	h := &hearings{counting: c, evening: s, room: room, gases: gases, covered: map[string]coverage.Coverage{}}
	air, err := c.flow(h, s, room)
	if err != nil {
		return t, err
	}
	for _, channel := range room.Channels {
		if err := h.hear(channel.ID); err != nil {
			return t, err
		}
		t.Covered = append(t.Covered, h.covered[channel.ID])
	}
	for _, gas := range gases {
		if room.Channel(gas.ID).ID == "" { // its probe is that of another room
			if err := c.hear(hearing{channel: gas.Channel, over: s.Span(), wanted: []wanted{{read: gas.Read}}}); err != nil {
				return t, err
			}
		}
		t.Gases = append(t.Gases, gas.Minutes())
	}
	if air != nil {
		t.Flow, t.Air = true, air.List()
	}
	return t, nil
}

// hearings are the channels of the room of a session, each heard once.
type hearings struct {
	counting
	evening evening
	room    past.Room
	gases   []*past.GasCourse
	covered map[string]coverage.Coverage // of the channels that were heard
}

// hear counts how much of the session a channel was measured, for the gases of the channel
// and for whoever else wants its readings; a channel that was heard is not heard again.
func (h *hearings) hear(id string, also ...wanted) error {
	if _, heard := h.covered[id]; heard {
		return nil
	}
	channel := h.room.Channel(id)
	for _, gas := range h.gases {
		if gas.ID == id {
			also = append(also, wanted{read: gas.Read})
		}
	}
	counter := coverage.NewCounter(h.evening.Span(), coverage.Channel{Silence: silenceOf(channel), Until: h.Now})
	err := h.counting.hear(hearing{channel: channel, over: h.evening.Span(), counter: counter, wanted: also})
	h.covered[id] = counter.Finish(h.recorded[id].Over(h.evening.Span()))
	return err
}

// hearing is a channel over a time with those who want its readings.
type hearing struct {
	channel past.Channel
	over    coverage.Span
	counter *coverage.Counter // nil where nothing is counted
	wanted  []wanted
}

// wanted is who wants the readings of a channel, and for which times; all where there are none.
// Readings of other times may come as well.
type wanted struct {
	read func(past.Reading)
	over []coverage.Span
}

func silenceOf(c past.Channel) time.Duration { return time.Duration(c.Silence * float64(time.Second)) }

// hear reads a channel, but not what came from a file: that was not measured here. A reading
// is not good while the probe was suspected, also where its fault was found later.
func (c counting) hear(h hearing) error {
	silence, trust := silenceOf(h.channel), c.probesBelieved.Trust(sensors.ChannelID(h.channel.ID))
	p := history.Pass{RunQuery: history.RunQuery{Channel: sensors.ChannelID(h.channel.ID), From: h.over.From.Add(-silence),
		To: h.over.To.Add(silence + time.Millisecond), Pause: silence}}
	if h.counter != nil {
		p.Run = func(run history.Run) {
			if run.Imported {
				return
			}
			for piece := range trust.Believed(truth.Stretch{From: run.First, To: run.Last, Grade: run.Grade, Reason: run.Reason}) {
				why := "" // in an auditor's words, of what is not good
				if piece.Grade != sensors.Good {
					why = coverage.Cause(string(piece.Reason))
				}
				h.counter.AddRun(coverage.Span{From: piece.From, To: piece.To}, why)
			}
		}
	}
	if !slices.ContainsFunc(h.wanted, func(w wanted) bool { return len(w.over) == 0 }) {
		for _, w := range h.wanted {
			for _, over := range w.over {
				p.Wanted = append(p.Wanted, history.Stretch(over))
			}
		}
	}
	if len(h.wanted) > 0 {
		p.Values = func(values history.Values) {
			for i := range values.Len() {
				v := values.At(i)
				if v.Imported {
					continue
				}
				r := past.Reading{UnixMilli: v.UnixMilli, Raw: v.Raw, Good: v.Grade == sensors.Good}
				if !r.Good || !trust.Always() {
					r.Good = trust.Counts(r.At(), v.Grade, values.Reason(i))
				}
				for _, w := range h.wanted {
					w.read(r)
				}
			}
		}
	}
	if err := c.look.Pass(p); !unknown(err) {
		return err
	}
	return nil // it stands in the settings and never gave anything
}

// unknown says that a channel stands in the settings and never gave anything.
func unknown(err error) bool { return errors.Is(err, history.ErrUnknownChannel) }

// cover notes how much of a session a channel was measured.
func (out *counted) cover(s evening, channel past.Channel, c coverage.Coverage) {
	out.coverage = append(out.coverage, report.Coverage{Session: s.number, Room: s.Room, Channel: channel.ID, Name: channel.Name,
		Required: c.Required, Valid: c.Valid, Missing: c.Missing, Longest: c.Longest})
	for _, p := range c.Gaps {
		out.gaps = append(out.gaps, report.Gap{Session: s.number, Channel: channel.ID, From: p.From, To: p.To, Cause: coverage.Told(p.Cause)})
	}
}
