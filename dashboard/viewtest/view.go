// Package viewtest is a view of an invented site that stands still until a test
// moves it, so that every page can be drawn in every state. Nothing in it is real.
package viewtest

import (
	"context"
	"encoding/json"
	"errors"
	"slices"
	"sync"

	"wetside/dashboard"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/record"
)

// View is a [dashboard.View] whose every answer a test may set.
type View struct {
	mu       sync.Mutex
	site     web.Site
	watchers web.Listeners
	health   error
	series   func(web.SeriesQuery) (web.Series, error)
	records  []record.Record
}

var _ dashboard.View = (*View)(nil)

// New makes a view of a place.
func New(site web.Site) *View {
	return &View{site: site,
		series: func(web.SeriesQuery) (web.Series, error) { return web.Series{}, nil }}
}

// Now is the site as it was set last.
func (v *View) Now() *web.Site {
	v.mu.Lock()
	defer v.mu.Unlock()
	site := v.site
	return &site
}

// Changes tells of each [View.Show] until ctx ends.
func (v *View) Changes(ctx context.Context) <-chan struct{} { return v.watchers.Add(ctx) }

// Show sets the rooms and tells everybody who watches.
func (v *View) Show(rooms ...*rules.Snapshot) {
	v.mu.Lock()
	defer v.mu.Unlock()
	v.site.Rooms = rooms
	if len(rooms) > 0 {
		v.site.At = rooms[0].At.Wall
	}
	v.watchers.Tell()
}

// Do takes nothing: forms are tested on a whole daemon.
func (*View) Do(context.Context, rules.Command) (rules.Receipt, error) {
	return rules.Receipt{}, errors.New("this place only shows")
}

// Series answers as [View.Remember] set it.
func (v *View) Series(_ context.Context, q web.SeriesQuery) (web.Series, error) {
	v.mu.Lock()
	series := v.series
	v.mu.Unlock()
	return series(q)
}

// Remember sets what the history holds.
func (v *View) Remember(series func(web.SeriesQuery) (web.Series, error)) {
	v.mu.Lock()
	defer v.mu.Unlock()
	v.series = series
}

// Records are those that [View.Write] added, of the kinds asked for and from then on.
func (v *View) Records(_ context.Context, q web.RecordsQuery) ([]record.Record, error) {
	v.mu.Lock()
	defer v.mu.Unlock()
	if v.health != nil {
		return nil, v.health
	}
	var list []record.Record
	for _, r := range v.records {
		if slices.Contains(q.Kinds, r.Kind) && !r.At.Before(q.From) {
			list = append(list, r)
		}
	}
	return list, nil
}

// Write adds a record to the book of the one room.
func (v *View) Write(r record.Record, content any) error {
	text, err := json.Marshal(content)
	if err != nil {
		return err
	}
	v.mu.Lock()
	defer v.mu.Unlock()
	r.Number, r.Content = uint64(len(v.records)+1), text
	v.records = append(v.records, r)
	return nil
}

// Health is what [View.Ail] set.
func (v *View) Health() error {
	v.mu.Lock()
	defer v.mu.Unlock()
	return v.health
}

// Ail sets what is wrong; nil for nothing.
func (v *View) Ail(err error) {
	v.mu.Lock()
	defer v.mu.Unlock()
	v.health = err
}
