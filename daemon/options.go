// Package daemon runs a site all evening: it opens the history, watches every
// line, keeps one loop a room, and serves the pages. [New] builds and fails
// early, [Daemon.Run] works until its context ends and closes everything.
package daemon

import (
	"errors"
	"net"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"go.uber.org/zap"

	"wetside/daemon/config"
	"wetside/sensors"
)

// Options say what a daemon runs and with what means; everything that a test
// would swap is injected here, once.
type Options struct {
	Config config.Config
	// Simulated marks every page and every record of a start.
	Simulated bool
	Version   string

	Clock    sensors.Clock
	Opener   sensors.Opener
	Log      *zap.Logger
	Registry *prometheus.Registry
	// Listener takes the place of the configured address when not nil.
	Listener net.Listener
}

func (o Options) check() error {
	switch {
	case o.Clock == nil, o.Opener == nil, o.Log == nil, o.Registry == nil:
		return errors.New("a daemon needs a clock, an opener of lines, a log and a registry of metrics")
	case len(o.Config.Rooms) == 0:
		return errors.New("a daemon needs at least one room")
	}
	return nil
}

// address is where the pages are to be shown.
func (o Options) address() string {
	if o.Listener != nil {
		return o.Listener.Addr().String()
	}
	return o.Config.Listen
}

const (
	// tick is how often a room is judged when nothing comes in, since silence is a finding, and how
	// long samples wait at most to be written together.
	tick = time.Second
	// gather is how many updates of lines are taken into one turn at most.
	gather = 64
	// stuckAfter is how long a loop may go without a turn before it counts as stuck.
	stuckAfter = 5 * time.Second
)
