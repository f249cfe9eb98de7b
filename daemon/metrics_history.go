package daemon

import (
	"github.com/prometheus/client_golang/prometheus"

	"wetside/daemon/history"
	"wetside/rules/ventilation"
)

// history gives how the record is being kept.
func (s sample) history(site *site) {
	h := site.store.Health()
	s.gauge("history_writable", asNumber(h.Writable))
	if last := site.keeping.backups.shown.Load().last.At; !last.IsZero() {
		s.gauge("backup_last_timestamp_seconds", float64(last.Unix()))
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

// airStates lists every state of the air, so that each has a series.
func airStates() []ventilation.State {
	return []ventilation.State{ventilation.Moving, ventilation.Low, ventilation.Stopped, ventilation.NotProven}
}
