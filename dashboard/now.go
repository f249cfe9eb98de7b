package dashboard

import (
	"encoding/json"
	"net/http"
	"time"

	"wetside/rules"
	"wetside/rules/ventilation"
	"wetside/sensors"
)

// The JSON of /api/now. A null stands wherever there is no fresh good reading.
type (
	nowSite struct {
		At        time.Time `json:"at"`
		Simulated bool      `json:"simulated"`
		Rooms     []nowRoom `json:"rooms"`
	}
	nowRoom struct {
		ID     string     `json:"id"`
		Baths  []nowBath  `json:"baths"`
		Air    nowAir     `json:"air"`
		Alarms []nowAlarm `json:"alarms"`
	}
	nowBath struct {
		ID             string            `json:"id"`
		Role           string            `json:"role"`
		Temperature    *float64          `json:"temperature_celsius"`
		Quality        string            `json:"quality"`
		Recommendation nowRecommendation `json:"recommendation"`
	}
	nowRecommendation struct {
		Seconds *float64 `json:"seconds"`
		Basis   *string  `json:"basis"`
		Refusal *string  `json:"refusal"`
	}
	nowAir struct {
		State    string   `json:"state"`
		Changes  *float64 `json:"air_changes_per_hour"`
		Required *float64 `json:"required_air_changes_per_hour"`
	}
	nowAlarm struct {
		ID           string    `json:"id"`
		State        string    `json:"state"`
		Text         string    `json:"text"`
		Act          string    `json:"act"`
		Since        time.Time `json:"since"`
		Urgent       bool      `json:"urgent"`
		Acknowledged bool      `json:"acknowledged"`
	}
)

func (s *Server) apiNow(w http.ResponseWriter, r *http.Request) {
	site := s.view.Now()
	out := nowSite{At: site.At.UTC(), Simulated: site.Simulated, Rooms: []nowRoom{}}
	for _, snap := range site.Rooms {
		out.Rooms = append(out.Rooms, s.roomNow(snap, s.hub.sightings.lost(snap)))
	}
	body, err := json.MarshalIndent(out, "", "  ")
	if err != nil {
		s.fail(w, r, failure{http.StatusInternalServerError, s.words.Say("error.page")})
		return
	}
	w.Header().Set("Content-Type", "application/json")
	_, _ = w.Write(append(body, '\n')) // the reader went away: nobody to tell
}

func (s *Server) roomNow(snap *rules.Snapshot, lost bool) nowRoom {
	room := nowRoom{ID: snap.Room, Baths: []nowBath{}, Alarms: []nowAlarm{}, Air: nowAir{State: string(ventilation.NotProven)}}
	for _, b := range snap.Baths {
		room.Baths = append(room.Baths, s.bathNow(b, lost))
	}
	if snap.Air.Required > 0 {
		required := float64(snap.Air.Required)
		room.Air.Required = &required
	}
	if !lost {
		room.Air.State = string(snap.Air.State)
		room.Air.Changes = (*float64)(snap.Air.AirChanges)
	}
	for _, a := range snap.Alarms {
		room.Alarms = append(room.Alarms, nowAlarm{a.ID, a.State, a.Text.String(), a.Act.String(), a.Since.UTC(), a.Urgent, a.Acknowledged})
	}
	return room
}

func (s *Server) bathNow(b rules.BathView, lost bool) nowBath {
	out := nowBath{ID: b.Bath.ID, Role: string(b.Bath.Role), Quality: b.Channel.Grade.String()}
	if lost {
		refusal := s.words.Say("lost.refusal")
		out.Quality, out.Recommendation.Refusal = sensors.Missing.String(), &refusal
		return out
	}
	if c, ok := b.Temperature(); ok && b.Bath.Channel != "" {
		v := float64(c)
		out.Temperature = &v
	}
	if b.Bath.Role != rules.Developer {
		return out
	}
	if t, ok := b.Recommendation.Time(); ok {
		seconds, basis := t.Round(time.Second).Seconds(), b.Recommendation.Basis().String()
		out.Recommendation = nowRecommendation{Seconds: &seconds, Basis: &basis}
		return out
	}
	refusal := b.Recommendation.Refusal().String()
	out.Recommendation.Refusal = &refusal
	return out
}

// healthz answers 200 while every loop turns and history can be written.
func (s *Server) healthz(w http.ResponseWriter, _ *http.Request) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	if err := s.view.Health(); err != nil {
		w.WriteHeader(http.StatusServiceUnavailable)
		_, _ = w.Write([]byte(err.Error() + "\n")) // the reader went away: nobody to tell
		return
	}
	_, _ = w.Write([]byte("ok\n"))
}
