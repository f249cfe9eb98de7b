package programs

import (
	"encoding/json"
	"errors"
	"net/http"
	"time"

	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// The JSON of /api/channels. A null stands wherever there is no fresh good reading.
type (
	channelList struct {
		At       time.Time `json:"at"`
		Channels []channel `json:"channels"`
	}
	channel struct {
		ID       string  `json:"id"`
		Room     string  `json:"room"`
		Name     string  `json:"name"`
		Quantity string  `json:"quantity"`
		Unit     string  `json:"unit"`
		RawUnit  string  `json:"raw_unit"`
		Line     string  `json:"line"`
		Silence  float64 `json:"missing_after_seconds"`
		// Value is null unless Quality is good. It is null too where a gas sensor tells a bound
		// alone: AtMost below what it can detect, AtLeast at the end of its range.
		Value    *float64   `json:"value"`
		AtMost   *float64   `json:"at_most"`
		AtLeast  *float64   `json:"at_least"`
		Measured *time.Time `json:"measured_at"`
		Quality  string     `json:"quality"`
		// Reason is null for a good value.
		Reason    *string `json:"reason"`
		Simulated bool    `json:"simulated"`
	}
)

func (s *Pages) channels(w http.ResponseWriter, _ *http.Request) {
	site := s.View.Now()
	out := channelList{At: site.At.UTC(), Channels: []channel{}}
	for _, snap := range site.Rooms {
		lost := s.Lost(snap)
		for _, view := range snap.Channels {
			c := channelNow(snap, view, lost)
			c.Room, c.Simulated = snap.Room, site.Simulated
			out.Channels = append(out.Channels, c)
		}
	}
	w.Header().Set("Content-Type", "application/json")
	_ = json.NewEncoder(w).Encode(out) // no value of ours fails, and a reader that went away need not be told
}

// channelNow is a channel at this moment. A room that was not updated lately knows nothing.
func channelNow(snap *rules.Snapshot, v rules.ChannelView, lost bool) channel {
	c := channel{ID: string(v.Channel.ID), Name: v.Channel.Name, Quantity: string(v.Channel.Kind), Unit: insideUnit(*v.Channel).String(),
		RawUnit: v.Channel.Unit.String(), Line: string(v.Line), Silence: v.Channel.Silence.Seconds(), Quality: v.Grade.String()}
	if !v.GoodAt.IsZero() {
		c.Measured = new(v.GoodAt.UTC())
	}
	reads, reason := snap.Reads(v)
	switch {
	case lost:
		c.Quality, reason = sensors.Missing.String(), "this room has not been updated lately"
	case reason == "":
		c.Value, c.AtMost, c.AtLeast = reads.Value, reads.AtMost, reads.AtLeast
		return c
	case v.Grade == sensors.Good:
		c.Quality = sensors.Suspect.String()
	}
	c.Reason = &reason
	return c
}

// insideUnit is the unit in which values are given.
func insideUnit(c sensors.Channel) quantity.Unit { return quantity.UnitsOf(c.Dimension)[0] }

// find gives a channel of any room.
func find(site *web.Site, id string) (sensors.Channel, error) {
	for _, snap := range site.Rooms {
		for _, v := range snap.Channels {
			if string(v.Channel.ID) == id {
				return *v.Channel, nil
			}
		}
	}
	return sensors.Channel{}, errors.New("there is no such channel: /api/channels lists them")
}

// problem is how a refusal is written: RFC 9457.
type problem struct {
	Title  string `json:"title"`
	Status int    `json:"status"`
	Detail string `json:"detail"`
}

func refuse(w http.ResponseWriter, status int, detail string) {
	w.Header().Set("Content-Type", "application/problem+json")
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(problem{http.StatusText(status), status, detail})
}
