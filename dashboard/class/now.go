package class

import (
	"encoding/json"
	"net/http"
	"time"

	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity"
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
		ID          string   `json:"id"`
		Role        string   `json:"role"`
		Temperature *float64 `json:"temperature_celsius"`
		// Measured is when the channel gave a good reading last; null before the first.
		Measured *time.Time `json:"measured_at"`
		Quality  string     `json:"quality"`
		// Range says how the temperature stands to the wanted range: below, in or above.
		Range          *string           `json:"range"`
		Recommendation nowRecommendation `json:"recommendation"`
		// Content is null where nothing is entered for the tray.
		Content *nowContent `json:"content"`
	}
	// nowContent is what is in a tray and whether it may be used: pour, test first or
	// discard, and why. A verdict of null is not known.
	nowContent struct {
		Batch   string  `json:"batch"`
		Verdict *string `json:"verdict"`
		Because *string `json:"because"`
	}
	nowRecommendation struct {
		Seconds *float64 `json:"seconds"`
		Basis   *string  `json:"basis"`
		Refusal *string  `json:"refusal"`
	}
	nowAir struct {
		State    string   `json:"state"`
		Because  string   `json:"because"`
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

func (s *Pages) apiNow(w http.ResponseWriter, r *http.Request) {
	site := s.View.Now()
	out := nowSite{At: site.At.UTC(), Simulated: site.Simulated, Rooms: []nowRoom{}}
	for _, snap := range site.Rooms {
		out.Rooms = append(out.Rooms, s.roomNow(snap, s.Lost(snap)))
	}
	body, err := json.MarshalIndent(out, "", "  ")
	if err != nil {
		s.Fail(w, r, web.Failure{Status: http.StatusInternalServerError, Sentence: web.NotDrawn})
		return
	}
	w.Header().Set("Content-Type", "application/json")
	_, _ = w.Write(append(body, '\n')) // the reader went away: nobody to tell
}

func (s *Pages) roomNow(snap *rules.Snapshot, lost bool) nowRoom {
	room := nowRoom{ID: snap.Room, Baths: []nowBath{}, Alarms: []nowAlarm{},
		Air: nowAir{State: string(ventilation.NotProven), Because: "not known: wetside does not answer"}}
	for _, b := range snap.Baths {
		bath := s.bathNow(b, lost)
		bath.Content = contentNow(b.Portion, snap.At.Wall)
		room.Baths = append(room.Baths, bath)
	}
	if snap.Air.Required > 0 {
		room.Air.Required = new(quantity.Clean(float64(snap.Air.Required)))
	}
	if !lost {
		room.Air.State, room.Air.Because = string(snap.Air.State), snap.Air.Sentence.String()
		if snap.Air.AirChanges != nil {
			room.Air.Changes = new(quantity.Clean(float64(*snap.Air.AirChanges)))
		}
	}
	for _, a := range snap.Alarms {
		room.Alarms = append(room.Alarms, nowAlarm{a.ID, a.State, a.Text.String(), a.Act.String(), a.Since.UTC(), a.Urgent, a.Acknowledged})
	}
	return room
}

func (s *Pages) bathNow(b rules.BathView, lost bool) nowBath {
	out := nowBath{ID: b.Bath.ID, Role: string(b.Bath.Role), Quality: b.Channel.Grade.String()}
	if !b.Channel.GoodAt.IsZero() {
		out.Measured = new(b.Channel.GoodAt.UTC())
	}
	if lost {
		out.Quality, out.Recommendation.Refusal = sensors.Missing.String(), new("this room has not been updated lately")
		return out
	}
	if c, ok := b.Temperature(); ok && b.Bath.Channel != "" {
		out.Temperature = new(quantity.Clean(float64(c)))
		if b.Band != rules.BandUnknown {
			out.Range = new(string(b.Band))
		}
	}
	if b.Bath.Role != rules.Developer {
		return out
	}
	if t, ok := b.Recommendation.Time(); ok {
		out.Recommendation = nowRecommendation{Seconds: new(t.Round(time.Second).Seconds()), Basis: new(b.Recommendation.Basis().String())}
		return out
	}
	out.Recommendation.Refusal = new(b.Recommendation.Refusal().String())
	return out
}

func contentNow(p *rules.Portion, now time.Time) *nowContent {
	if p == nil {
		return nil
	}
	out := &nowContent{Batch: p.Batch}
	if p.Known == nil || p.Known.Limit.Verdict == "" {
		return out
	}
	out.Verdict, out.Because = new(string(p.Known.Limit.VerdictAt(now))), new(p.Known.Limit.Words.String())
	return out
}

// healthz answers 200 while every loop turns and history can be written.
func (s *Pages) healthz(w http.ResponseWriter, _ *http.Request) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	if err := s.Health.Health(); err != nil {
		w.WriteHeader(http.StatusServiceUnavailable)
		_, _ = w.Write([]byte(err.Error() + "\n")) // the reader went away: nobody to tell
		return
	}
	_, _ = w.Write([]byte("ok\n"))
}
