package daemon

import (
	"context"
	"sync/atomic"
	"time"

	"wetside/daemon/audit"
	"wetside/daemon/config"
	"wetside/daemon/history"
	"wetside/daemon/remotewrite"
	"wetside/daemon/uplink"
	"wetside/dashboard"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/record"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// site is what the pages see of a daemon: the newest snapshot of each room, and
// the way back for acts and questions. Its rooms change when the configuration is read again.
type site struct {
	clock     sensors.Clock
	store     *history.Store
	kinds     record.Registry
	chronicle *audit.Chronicle
	simulated bool
	version   string
	started   sensors.Instant

	inForce atomic.Pointer[inForce]

	shelf     *shelf
	reports   reports
	remote    *remotewrite.Sender // nil when no engine gets the readings
	uplink    *uplink.Sender      // nil when the book is sent to no centre
	screens   *screens
	keeping   keeping
	listeners web.Listeners
}

// inForce is a configuration with its rooms; nothing in it ever changes.
type inForce struct {
	config config.Config
	rooms  []*room
}

var _ dashboard.View = (*site)(nil)

// Now is the newest state of every room.
func (s *site) Now() *web.Site {
	now := s.present()
	view := &web.Site{
		At: s.started.Wall, Simulated: s.simulated, Version: s.version, Started: s.started.Wall, Address: now.config.Address,
		Zone: now.config.Zone, Units: web.Units(now.config.Units),
		Rooms: make([]*rules.Snapshot, len(now.rooms)),
	}
	for i, r := range now.rooms {
		view.Rooms[i] = r.shown.Load()
		if at := view.Rooms[i].At.Wall; at.After(view.At) {
			view.At = at
		}
	}
	return view
}

// Changes tells of each newer state until ctx ends.
func (s *site) Changes(ctx context.Context) <-chan struct{} { return s.listeners.Add(ctx) }

// Do hands an act to its room.
func (s *site) Do(ctx context.Context, c rules.Command) (rules.Receipt, error) {
	r, err := s.room(c.Room)
	if err != nil {
		return rules.Receipt{}, err
	}
	return s.startClass(ctx, r, c)
}

func (s *site) room(id string) (*room, error) {
	for _, r := range s.everyRoom() {
		if r.config.ID == id {
			return r, nil
		}
	}
	return nil, phrase.Errorf("there is no room %q: choose one from the first page", id)
}

// Series gives a channel's history in its inside unit, corrected by the record in force then.
func (s *site) Series(ctx context.Context, q web.SeriesQuery) (web.Series, error) {
	c, err := s.channel(q.Channel)
	if err != nil {
		return web.Series{}, err
	}
	// A column of a chart is read by one correction, so it may not reach across the date of another.
	var out web.Series
	from := q.From
	for _, to := range append(datesWithin(c, q.From, q.To), q.To) {
		share := to.Sub(from).Seconds() / q.To.Sub(q.From).Seconds()
		raw, err := s.kept(ctx, history.SeriesQuery{Channel: q.Channel, From: from, To: to, Points: max(int(share*float64(q.Points)), 1)})
		if err != nil {
			return web.Series{}, err
		}
		part := corrected(c, raw)
		out.Points, out.Gaps = append(out.Points, part.Points...), append(out.Gaps, part.Gaps...)
		from = to
	}
	return out, nil
}

// Records gives what the record book holds of a room.
func (s *site) Records(ctx context.Context, q web.RecordsQuery) ([]record.Record, error) {
	list := []record.Record{}
	for r, err := range s.store.EachTold(ctx, history.Query{Room: q.Room, Kinds: q.Kinds, From: q.From}) {
		if err != nil {
			return nil, err
		}
		list = append(list, r)
	}
	return list, nil
}

func (s *site) channel(id sensors.ChannelID) (sensors.Channel, error) {
	for _, r := range s.everyRoom() {
		if l, known := r.shown.Load().Probes.Life(id); known {
			return l.True(), nil
		}
	}
	return sensors.Channel{}, phrase.Errorf("there is no channel %q: choose one from the page of probes", id)
}

func (s *site) bathSeries(ctx context.Context, bath string, q web.SeriesQuery) (web.Series, error) {
	for _, r := range s.everyRoom() {
		for _, b := range r.config.Baths {
			if b.ID == bath && b.Channel != "" {
				q.Channel = b.Channel
				return s.Series(ctx, q)
			}
		}
	}
	return web.Series{}, phrase.Errorf("no probe is fitted to the bath %q", bath)
}

// present is what is in force; zero before anything is.
func (s *site) present() inForce {
	if now := s.inForce.Load(); now != nil {
		return *now
	}
	return inForce{}
}

func (s *site) everyRoom() []*room { return s.present().rooms }

// settle waits until every room shows what the book of the shelf says by now.
func (s *site) settle(ctx context.Context) {
	ctx, cancel := context.WithTimeout(ctx, 5*time.Second)
	defer cancel()
	for _, r := range s.everyRoom() {
		_ = r.ask(ctx, func(*room) error { return nil }) // a room that has ended shows it from its next start on
	}
}

// Health is nil while every loop turns and history can be written.
func (s *site) Health() error {
	if err := s.turning(); err != nil {
		return err
	}
	switch problem, broken := s.store.Trouble(); {
	case problem != "":
		return phrase.Errorf("history is not being kept: %s", problem)
	case broken != "":
		return phrase.Errorf("the record book is damaged or was changed: %s: leave the data folder as it is and run wetside verify", broken)
	}
	return nil
}

// turning is nil while every loop turns.
func (s *site) turning() error {
	now := s.clock.Now()
	for _, r := range s.everyRoom() {
		if idle := now.Mono - time.Duration(r.turns.last.Load()); idle > stuckAfter {
			return phrase.Errorf("room %s has not updated for %s: restart wetside", r.config.ID, rules.Age(idle))
		}
	}
	return nil
}

func (s *site) swap(c config.Config, rooms []*room) {
	s.inForce.Store(&inForce{c, rooms})
	s.listeners.Tell()
}
