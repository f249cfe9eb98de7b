package history

import (
	"slices"
	"time"
)

// findGaps gives the series the recorded gaps, and every silence longer than the
// channel allows that no recorded gap explains.
func (d *drawing) findGaps() error {
	recorded, err := d.gaps(d.channel.code, d.out.Channel, d.span)
	if err != nil {
		return err
	}
	for _, g := range recorded {
		d.out.Gaps = append(d.out.Gaps, d.clip(g))
	}
	explained := d.out.Gaps
	for _, t := range d.silences() {
		for len(explained) > 0 && explained[0].To.UnixMilli() <= t.from {
			explained = explained[1:] // over before this silence, and so before each later one
		}
		for _, rest := range without(t, explained) {
			if rest.to-rest.from > d.channel.silence {
				d.out.Gaps = append(d.out.Gaps, Gap{
					Channel: d.out.Channel, From: time.UnixMilli(rest.from).UTC(), To: time.UnixMilli(rest.to).UTC(), Cause: CauseUnrecorded,
				})
			}
		}
	}
	slices.SortStableFunc(d.out.Gaps, func(a, b Gap) int { return a.From.Compare(b.From) })
	return nil
}

// clip cuts a recorded gap to the time of the series.
func (d *drawing) clip(g Gap) Gap {
	g.From = slices.MaxFunc([]time.Time{d.out.From, g.From}, time.Time.Compare)
	if g.To.IsZero() || g.To.After(d.out.To) {
		g.To = d.out.To
	}
	return g
}

// silences are the stretches of the time, as far as it has come, without samples.
func (d *drawing) silences() []span {
	var silences []span
	at, end := d.span.from, min(d.span.to, d.now)
	for _, seen := range d.seen {
		silences = append(silences, span{at, seen.from})
		at = seen.to
	}
	silences = append(silences, span{at, end})
	return slices.DeleteFunc(silences, func(t span) bool { return t.to-t.from <= d.channel.silence })
}

// without cuts the gaps, which are in order, out of a stretch.
func without(t span, gaps []Gap) []span {
	var rest []span
	for _, g := range gaps {
		from, to := g.From.UnixMilli(), g.To.UnixMilli()
		if from >= t.to {
			break
		}
		if to <= t.from {
			continue
		}
		if from > t.from {
			rest = append(rest, span{t.from, from})
		}
		t.from = max(t.from, min(to, t.to))
	}
	return append(rest, t)
}
