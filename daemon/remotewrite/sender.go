// Package remotewrite hands the readings of a site on to a time-series engine that
// speaks the Remote-Write protocol of Prometheus, version 2.0 or 1.0. It reads from the history
// and remembers how far it came, so that an outage of hours loses nothing: what waits
// is sent in the order of time. Only good values go out; where a channel stops
// giving them, its series is ended instead of standing still.
package remotewrite

import (
	"context"
	"fmt"
	"time"

	"github.com/prometheus/client_golang/exp/api/remote"
	"go.uber.org/zap"

	"wetside/daemon/history"
	"wetside/daemon/outgoing"
	"wetside/sensors"
)

const (
	look       = 5 * time.Second  // how often the history is asked
	settle     = 3 * time.Second  // how long a reading may take into the history
	longest    = 15 * time.Minute // the longest window of one request
	least      = time.Second      // and the shortest
	mostAtOnce = 5000             // samples of a request, as long as the window can be shorter
	shortWait  = time.Second      // after a first failure
	longWait   = 5 * time.Minute  // after many
	answerTime = 30 * time.Second // for one answer
)

// Series is a channel as it is handed on.
type Series struct {
	Channel sensors.ChannelID
	Room    string
	// Metric is the name of what is measured, with its unit.
	Metric string
	// Value turns a raw value into one of the metric.
	Value func(raw float64, at time.Time) float64
	// Silence is how long a value stands.
	Silence time.Duration
}

// Source is where samples come from.
type Source interface {
	Between(ctx context.Context, w history.Window) ([][]history.Sample, error)
	NextSample(ctx context.Context, w history.Window) (time.Time, bool, error)
}

// Options say whom to send to, what, and by what means.
type Options struct {
	// URL is the whole address, such as https://host/api/v1/write.
	URL string
	// Token is sent as a bearer token unless it is empty.
	Token string
	// Labels go with every series, such as the site.
	Labels map[string]string
	// Series gives what is to be sent; it may change while the program runs.
	Series func() []Series
	Source Source
	// Cursor keeps how far the sender came, in milliseconds since 1970.
	Cursor outgoing.Bookmark
	Clock  sensors.Clock
	Log    *zap.Logger
}

// Sender sends. One goroutine, in Run, owns everything but its standing.
type Sender struct {
	options Options
	api     *remote.API
	answer  *answering
	// at is up to when everything was sent or refused.
	at     time.Time
	window time.Duration
	wait   sensors.Backoff
	last   map[sensors.ChannelID]tip
	// version is what the receiver takes; confirmed that it has once said so of 2.0.
	version   protocol
	confirmed bool
	// sending is the end of the window of the present request; unsure is up to when values
	// were sent in a request whose answer nobody got.
	sending, unsure time.Time
	standing        outgoing.Standing[Standing]
}

// New prepares a sender. Without a cursor it begins with what comes next.
func New(o Options) (*Sender, error) {
	s := &Sender{options: o, window: longest, wait: sensors.Backoff{First: shortWait, Longest: longWait},
		last: map[sensors.ChannelID]tip{}, answer: &answering{token: o.Token}}
	client := outgoing.Client(answerTime, s.answer)
	var err error
	// Waiting is done here, by the injected clock.
	s.api, err = remote.NewAPI(o.URL, remote.WithAPIPath(""), remote.WithAPIHTTPClient(client),
		remote.WithAPIBackoff(remote.BackoffConfig{Min: time.Millisecond, Max: time.Millisecond, MaxRetries: 1}))
	if err != nil {
		return nil, fmt.Errorf("the address for remote write: %w", err)
	}
	place, found, err := o.Cursor.Read()
	if err != nil {
		return nil, err
	}
	if s.at = time.UnixMilli(place).UTC(); !found {
		s.at = o.Clock.Now().Wall.UTC()
		err = o.Cursor.Write(s.at.UnixMilli())
	}
	if found {
		s.unsure = s.at.Add(longest) // the run before may have ended before an answer came
	}
	return s, err
}

// Run sends until ctx ends.
func (s *Sender) Run(ctx context.Context) {
	for wait := look; ctx.Err() == nil; sensors.Pause(ctx, s.options.Clock, wait) {
		wait = look
		err := s.catchUp(ctx)
		switch {
		case err != nil && ctx.Err() == nil:
			if !s.wait.Failing() {
				s.options.Log.Warn("remote write does not get through; readings wait in the history", zap.Error(err))
			}
			wait = s.wait.Next()
		case err == nil && s.wait.Failing():
			s.options.Log.Info("remote write gets through again")
			s.wait.Reset()
		}
		s.note(err, s.options.Clock.Now().Wall.Sub(s.at))
	}
}

// catchUp sends everything up to now, oldest first.
func (s *Sender) catchUp(ctx context.Context) error {
	for ctx.Err() == nil {
		end := s.options.Clock.Now().Wall.Add(-settle)
		series := s.options.Series()
		if !s.at.Before(end) || len(series) == 0 {
			return nil
		}
		if err := s.advance(ctx, series, end); err != nil {
			return err
		}
	}
	return ctx.Err()
}

// advance sends one window and notes that it is done. A window that holds too much is
// made shorter; over a time without any sample it jumps.
func (s *Sender) advance(ctx context.Context, series []Series, end time.Time) error {
	to := s.at.Add(s.window)
	if to.After(end) {
		to = end
	}
	w := history.Window{Channels: channelsOf(series), From: s.at, To: to}
	samples, err := s.options.Source.Between(ctx, w)
	if err != nil {
		return fmt.Errorf("reading what waits: %w", err)
	}
	b := s.batch(series, samples, to)
	switch {
	case b.count > mostAtOnce && s.shorten():
		return nil
	case b.count > 0:
		if err := s.send(ctx, b); err != nil {
			return err
		}
	case to.Before(end):
		w.From, w.To = to, end
		next, found, err := s.options.Source.NextSample(ctx, w)
		if err != nil {
			return fmt.Errorf("reading what waits: %w", err)
		}
		if to = end; found {
			to = next
		}
	}
	if b.count < mostAtOnce/4 {
		s.window = min(2*s.window, longest)
	}
	s.last = b.tips
	s.at = to
	return s.options.Cursor.Write(s.at.UnixMilli())
}

// shorten halves the window; false when it is as short as it may be.
func (s *Sender) shorten() bool {
	if s.window <= least {
		return false
	}
	s.window = max(s.window/2, least)
	return true
}

func channelsOf(series []Series) []sensors.ChannelID {
	ids := make([]sensors.ChannelID, len(series))
	for i := range series {
		ids[i] = series[i].Channel
	}
	return ids
}
