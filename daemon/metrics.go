package daemon

import (
	"cmp"
	"context"
	"runtime"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"go.uber.org/zap"

	"wetside/chem/ledger"
	"wetside/daemon/history"
	"wetside/rules"
	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// collector gives the present state of a site to whoever collects metrics. It
// reads snapshots, so that a probe that fell silent disappears instead of
// repeating its last value; only the time of its last reading stays.
type collector struct {
	*Daemon
	d map[string]*prometheus.Desc
}

func (d *Daemon) registerMetrics(context.Context) error {
	for _, c := range []prometheus.Collector{newCollector(d), collectors.NewGoCollector(),
		collectors.NewProcessCollector(collectors.ProcessCollectorOpts{})} {
		if err := d.options.Registry.Register(c); err != nil {
			return err
		}
	}
	return nil
}

func newCollector(d *Daemon) *collector {
	c := &collector{Daemon: d, d: map[string]*prometheus.Desc{}}
	for _, m := range append(metricsOfRooms(), metricsOfTheProgram()...) {
		c.d[m.name] = prometheus.NewDesc(metricName(m.name), m.help, m.labels, nil)
	}
	return c
}

// metric is one metric, with what tells its series apart.
type metric struct {
	name, help string
	labels     []string
}

// metricsOfRooms are what is measured and worked out.
func metricsOfRooms() []metric {
	channel, line := []string{"room", "channel"}, []string{"room", "line"}
	return []metric{
		{"temperature_celsius", "Good and recent temperature of a channel.", channel},
		{"air_velocity_meters_per_second", "Good and recent air velocity of a channel.", channel},
		{"air_flow_cubic_meters_per_second", "Good and recent volume flow of a channel.", channel},
		{"air_pressure_pascals", "Good and recent pressure difference of a channel.", channel},
		{"relative_humidity_ratio", "Good and recent relative humidity of a channel, 0 to 1.", channel},
		{"gas_volume_ratio", "Good and recent volume fraction of a gas, 1e-6 being one part per million.", channel},
		{"gas_at_most_volume_ratio", "Bound of a gas below what its sensor detects, in place of the volume fraction.", channel},
		{"gas_at_least_volume_ratio", "Bound of a gas at the end of its sensor's range, in place of the volume fraction.", channel},
		{"contact_closed", "Good and recent state of a contact, 1 when closed.", channel},
		{"channel_info", "1 for each channel, with its name and what it measures.",
			append(channel, "name", "quantity")},
		{"channel_up", "1 while a channel gives good and recent readings, else 0.", channel},
		{"channel_last_reading_timestamp_seconds", "Time of the last good reading of a channel since the start.", channel},
		{"frames_total", "Frames of a line by what became of them.", append(line, "result")},
		{"readings_total", "Readings of every quality taken from a line.", line},
		{"line_received_bytes_total", "Bytes received on a line.", line},
		{"line_opens_total", "Times a line was opened.", line},
		{"line_state", "1 for the state a line is in, 0 for the others.", append(line, "state")},
		{"air_state", "1 for the state the air of a room is in, 0 for the others.", []string{"room", "state"}},
		{"air_changes_per_hour", "Air changes an hour from a good and recent flow.", []string{"room"}},
		{"air_changes_required_per_hour", "Air changes an hour that are asked for.", []string{"room"}},
		{"development_time_seconds", "Recommended development time; absent while refused. See bath_verdict and bath_range for whether it " +
			"may be used.", []string{"room", "bath"}},
		{"bath_verdict", "1 for whether the content of a tray may be used, 0 for the other answers; unknown where the book of chemicals " +
			"does not say.", []string{"room", "bath", "verdict"}},
		{"bath_range", "1 for how the temperature of a bath compares with its wanted range, 0 for the others; absent without a good and recent " +
			"reading.", []string{"room", "bath", "range"}},
		{"alarms", "Alarms that people are told of.", []string{"room", "urgency"}},
	}
}

// metricsOfTheProgram are how the program does, its history, and what it sends to others.
func metricsOfTheProgram() []metric {
	return []metric{
		{"loop_turns_total", "Turns of the loop of a room.", []string{"room"}},
		{"loop_busy_seconds_total", "Time that the loop of a room spent in its turns.", []string{"room"}},
		{"backup_last_timestamp_seconds", "Time of the newest verified backup that this program made; absent before the first.", nil},
		{"backup_agrees",
			"1 while every older backup in the folder is a beginning of the record book, else 0; absent before the first backup.", nil},
		{"time_stamp_last_timestamp_seconds", "Time of the newest time stamp of the record book; absent before the first.", nil},
		{"certificate_end_timestamp_seconds", "When the certificate of the pages ends; absent where the pages are not encrypted.", nil},
		{"duty_overdue", "1 while a duty is overdue, else 0.", []string{"duty", "owner"}},
		{"webhook_waiting", "Records that wait for the webhook, at most 1000.", nil},
		{"messages_waiting", "Messages to people outside that wait because a server did not take them.", nil},
		{"build_info", "1, with the version of the program and of Go.", []string{"version", "go"}},
		{"history_writable", "1 while history can be written, else 0.", nil},
		{"history_commit_duration_seconds", "Time of a commit: of samples, or durable, down to the disk.", []string{"kind"}},
		{"history_failed_commits_total", "Commits to the history that failed.", nil},
		{"history_queue_length", "Writes that wait for the history.", nil},
		{"history_size_bytes", "Size of the history file.", nil},
		{"remote_write_samples_total", "Samples that the receiver of remote write took, had already, refused because it had newer ones of " +
			"the series, or rejected.", []string{"result"}},
		{"remote_write_failed_total", "Attempts at remote write that did not get through.", nil},
		{"remote_write_behind_seconds", "How old the oldest reading is that may still wait for remote write.", nil},
		{"centre_sent_bytes_total", "Bytes of messages that the centre took.", nil},
		{"centre_failed_total", "Messages to the centre that did not get through or were refused.", nil},
		{"centre_answer_timestamp_seconds", "When the centre last took a message; absent before the first.", nil},
		{"simulated", "1 when the room is simulated, else 0.", nil},
	}
}

// Describe names every metric.
func (c *collector) Describe(out chan<- *prometheus.Desc) {
	for _, d := range c.d {
		out <- d
	}
}

// Collect gives the present state.
func (c *collector) Collect(out chan<- prometheus.Metric) {
	s := sample{c, out}
	now := c.site.Now()
	for _, room := range now.Rooms {
		s.room(room)
	}
	for _, r := range c.site.everyRoom() {
		s.counter("loop_turns_total", float64(r.turns.count.Load()), r.config.ID)
		s.counter("loop_busy_seconds_total", time.Duration(r.turns.spent.Load()).Seconds(), r.config.ID)
	}
	s.history(c.site)
	s.remoteWrite(c.site)
	s.outside(c.Daemon)
	s.uplink(c.site)
	s.gauge("simulated", asNumber(now.Simulated))
}

// sample is one collection under way.
type sample struct {
	c   *collector
	out chan<- prometheus.Metric
}

func (s sample) gauge(name string, v float64, labels ...string) {
	s.out <- prometheus.MustNewConstMetric(s.c.d[name], prometheus.GaugeValue, v, labels...)
}

func (s sample) counter(name string, v float64, labels ...string) {
	s.out <- prometheus.MustNewConstMetric(s.c.d[name], prometheus.CounterValue, v, labels...)
}

func asNumber(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

func (s sample) room(r *rules.Snapshot) {
	for _, c := range r.Channels {
		s.channel(r, c)
	}
	for _, l := range r.Lines {
		s.line(r.Room, l)
	}
	for _, b := range r.Baths {
		if t, ok := b.Recommendation.Time(); ok && b.Bath.Role == rules.Developer {
			s.gauge("development_time_seconds", t.Seconds(), r.Room, b.Bath.ID)
		}
		s.bath(r, b)
	}
	for _, state := range ventilation.States() {
		s.gauge("air_state", asNumber(r.Air.State == state), r.Room, string(state))
	}
	if r.Air.AirChanges != nil {
		s.gauge("air_changes_per_hour", float64(*r.Air.AirChanges), r.Room)
	}
	s.gauge("air_changes_required_per_hour", float64(r.Air.Required), r.Room)
	urgent, look := 0, 0
	for _, a := range r.Alarms {
		if a.Urgent {
			urgent++
		} else {
			look++
		}
	}
	s.gauge("alarms", float64(urgent), r.Room, "act now")
	s.gauge("alarms", float64(look), r.Room, "look")
}

func (s sample) channel(r *rules.Snapshot, c rules.ChannelView) {
	room, id := r.Room, string(c.Channel.ID)
	s.gauge("channel_info", 1, room, id, c.Channel.Name, string(c.Channel.Kind))
	reads, why := r.Reads(c)
	s.gauge("channel_up", asNumber(why == ""), room, id)
	if !c.GoodAt.IsZero() {
		s.gauge("channel_last_reading_timestamp_seconds", float64(c.GoodAt.UnixMilli())/1000, room, id)
	}
	put := func(name string, v *float64, convert func(float64) float64) {
		if v != nil {
			s.gauge(name, convert(*v), room, id)
		}
	}
	if m, ok := measures[c.Channel.Dimension]; ok {
		put(m.name, reads.Value, m.value)
		put("gas_at_most_volume_ratio", reads.AtMost, m.value)
		put("gas_at_least_volume_ratio", reads.AtLeast, m.value)
	}
}

func (s sample) line(room string, l rules.LineView) {
	id := string(l.Line.ID)
	for _, result := range sensors.FrameResults() {
		s.counter("frames_total", float64(l.Status.Frames.Count(result)), room, id, string(result))
	}
	s.counter("readings_total", float64(l.Status.Readings), room, id)
	s.counter("line_received_bytes_total", float64(l.Status.Bytes), room, id)
	s.counter("line_opens_total", float64(l.Status.Opens), room, id)
	for _, state := range sensors.LineStates() {
		s.gauge("line_state", asNumber(l.Status.State == state), room, id, string(state))
	}
}

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
	for kind, t := range map[string]history.Timing{"samples": h.Commits, "durable": h.Durable} {
		s.out <- prometheus.MustNewConstHistogram(s.c.d["history_commit_duration_seconds"], t.Count, t.Sum.Seconds(), t.Buckets, kind)
	}
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

// askWithin is how long a collection may wait for the history.
const askWithin = 5 * time.Second

// outside gives what the place owes to people and programs beyond the room.
func (s sample) outside(d *Daemon) {
	s.gauge("build_info", 1, d.options.Version, runtime.Version())
	if secure := d.entrance.secure; secure != nil {
		s.gauge("certificate_end_timestamp_seconds", float64(secure.Certificates[0].Leaf.NotAfter.Unix()))
	}
	if d.sender != nil {
		s.gauge("webhook_waiting", float64(d.sender.Standing().Waiting))
	}
	if d.site.keeping.teller != nil {
		s.gauge("messages_waiting", float64(d.site.keeping.teller.Standing().Waiting))
	}
	if stamps := d.site.keeping.stamps; stamps != nil && !stamps.Standing().Last.At.IsZero() {
		s.gauge("time_stamp_last_timestamp_seconds", float64(stamps.Standing().Last.At.Unix()))
	}
	ctx, cancel := context.WithTimeout(context.Background(), askWithin)
	defer cancel()
	duties, err := d.site.reports.Duties(ctx)
	if err != nil {
		d.options.Log.Warn("the duties can't be counted", zap.Error(err))
	}
	for _, u := range duties {
		s.gauge("duty_overdue", asNumber(u.Overdue), u.ID, u.Owner)
	}
}

// measure is how a channel of a dimension is given to other programs: the name of the
// metric, and its value from one in the inside unit, in the base unit that metrics have.
type measure struct {
	name  string
	value func(base float64) float64
}

var measures = map[quantity.Dimension]measure{
	quantity.Temperature: {"temperature_celsius", times(1)},
	quantity.Velocity:    {"air_velocity_meters_per_second", times(1)},
	quantity.VolumeFlow: {"air_flow_cubic_meters_per_second",
		func(base float64) float64 { return quantity.CubicMetrePerHour(base).CubicMetresPerSecond() }},
	quantity.Pressure:       {"air_pressure_pascals", times(1)},
	quantity.Ratio:          {"relative_humidity_ratio", times(1. / 100)},
	quantity.VolumeFraction: {"gas_volume_ratio", times(1e-6)},
	quantity.Contact:        {"contact_closed", times(1)},
}

func times(factor float64) func(float64) float64 {
	return func(base float64) float64 { return base * factor }
}

func metricName(name string) string { return "wetside_" + name }
