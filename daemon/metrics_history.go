package daemon

import (
	"cmp"

	"github.com/prometheus/client_golang/prometheus"

	"wetside/chem/ledger"
	"wetside/daemon/history"
	"wetside/rules"
)

// history gives how the record is being kept.
func (s sample) history(site *site) {
	h := site.store.Health()
	s.gauge("history_writable", asNumber(h.Writable))
	if last := site.keeping.backups.shown.Load().last.At; !last.IsZero() {
		s.gauge("backup_last_timestamp_seconds", float64(last.Unix()))
	}
	if state := site.keeping.backups.shown.Load(); !state.last.At.IsZero() {
		s.gauge("backup_agrees", asNumber(state.doubt == nil))
	}
	s.counter("history_failed_commits_total", float64(h.Failed))
	s.gauge("history_queue_length", float64(h.Queued))
	s.gauge("history_size_bytes", float64(h.FileBytes+h.LogBytes))
	s.timing("history_commit_duration_seconds", h.Commits, "samples")
	s.timing("history_commit_duration_seconds", h.Durable, "durable")
}

func (s sample) timing(name string, t history.Timing, label string) {
	s.out <- prometheus.MustNewConstHistogram(s.c.d[name], t.Count, t.Sum.Seconds(), t.Buckets, label)
}

// bath gives what is known of a bath beside its figures, each answer as a series.
func (s sample) bath(r *rules.Snapshot, b rules.BathView) {
	if b.Portion != nil {
		verdict := verdictUnknown
		if b.Portion.Known != nil {
			verdict = cmp.Or(b.Portion.Known.Limit.VerdictAt(r.At.Wall), verdictUnknown)
		}
		for _, v := range []ledger.Verdict{ledger.Pour, ledger.TestFirst, ledger.Discard, verdictUnknown} {
			s.gauge("bath_verdict", asNumber(v == verdict), r.Room, b.Bath.ID, string(v))
		}
	}
	if b.Band == rules.BandUnknown {
		return
	}
	for _, band := range []rules.BandState{rules.BelowBand, rules.InBand, rules.AboveBand} {
		s.gauge("bath_range", asNumber(b.Band == band), r.Room, b.Bath.ID, string(band))
	}
}

// verdictUnknown is the verdict on what was filled in without the book of chemicals.
const verdictUnknown ledger.Verdict = "unknown"
