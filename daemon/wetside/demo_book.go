package main

import (
	"context"
	"time"

	"go.uber.org/zap"

	"wetside/daemon"
	"wetside/daemon/config"
	"wetside/sensors"
	"wetside/sensors/simroom"
)

// probesOf are the simulated probes, by the channels that they are read as.
func probesOf(site config.Config) map[sensors.ChannelID]string {
	probes := map[sensors.ChannelID]string{}
	for _, room := range site.Rooms {
		for _, line := range room.Lines {
			for address, channel := range line.Channels {
				probes[channel.ID] = address
			}
		}
	}
	return probes
}

// lookEvery is how often the book is looked at, in real time.
const lookEvery = 200 * time.Millisecond

type simulatedTray struct{ filled, covered bool }

// followBook lets the simulated trays hold what the book says: who fills a tray on a page
// sees its temperature a moment later, and who empties it sees the air's.
func followBook(ctx context.Context, d *daemon.Daemon, sim *simroom.Room, site config.Config) {
	told, probes, look := map[string]simulatedTray{}, probesOf(site), time.NewTicker(lookEvery)
	defer look.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-look.C:
		}
		for _, room := range d.Now().Rooms {
			for _, bath := range room.Baths {
				probe := probes[bath.Bath.Channel]
				is := simulatedTray{bath.Portion != nil, bath.Portion != nil && bath.Portion.Covered}
				for _, act := range told[probe].becomes(is) {
					if err := tellRoom(sim, act+" "+probe); err != nil && ctx.Err() == nil {
						d.Log().Warn("a simulated tray does not follow the book", zap.Error(err))
					}
				}
				told[probe] = is
			}
		}
	}
}

// becomes are the verbs of the simulated room that lead from one state of a tray to another.
func (was simulatedTray) becomes(is simulatedTray) (verbs []string) {
	switch {
	case is.filled && !was.filled:
		verbs = append(verbs, "fill")
	case !is.filled && was.filled:
		return []string{"empty"}
	}
	switch {
	case is.covered && !was.covered:
		verbs = append(verbs, "cover")
	case !is.covered && was.covered:
		verbs = append(verbs, "uncover")
	}
	return verbs
}

func tellRoom(sim *simroom.Room, text string) error {
	t, err := simroom.ParseTrouble(text)
	if err != nil {
		return err
	}
	return sim.Do(t)
}
