package keep

import (
	"fmt"
	"math"
	"net/http"
	"strings"
	"time"

	"go.uber.org/zap"

	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/sensors"
)

// The picture of the last hour of a channel, in steps and units of its own drawing.
const (
	hourSteps              = 120
	hourWidth, hourHeight  = 240.0, 40.0
	hourKept               = "private, max-age=60"
	leastSpan              = 10 // resolutions that the height shows at least: noise is no mountain
	dayStroke, redStroke   = "#8a7f74", "#f00"
	hourBreak              = 2 * time.Minute // without a good reading the line breaks
	hourMargin, hourStroke = 3.0, 2.0
)

// hourHref is the address of the picture of a channel's last hour. It changes every minute, so
// that a page that stays open shows no old picture.
func (s *Pages) hourHref(room string, channel sensors.ChannelID, l web.Look) string {
	return l.Keep(fmt.Sprintf("/rooms/%s/probe/%s/hour.svg?to=%s", room, channel, s.Clock.Now().Wall.UTC().Format("1504")))
}

// hourPicture draws the good readings of a channel in the last hour as one line, with gaps where
// there were none.
func (s *Pages) hourPicture(w http.ResponseWriter, r *http.Request, in web.Visit, c rules.ChannelView) {
	to := s.Clock.Now().Wall
	series, err := s.Readings.Series(r.Context(), web.SeriesQuery{Channel: c.Channel.ID, From: to.Add(-time.Hour), To: to, Points: hourSteps})
	if err != nil {
		s.Log.Warn("the last readings of a probe could not be read", zap.String("channel", string(c.Channel.ID)), zap.Error(err))
		series = web.Series{}
	}
	stroke := dayStroke
	if web.LookOf(r) == web.Red {
		stroke = redStroke
	}
	w.Header().Set("Content-Type", "image/svg+xml")
	w.Header().Set("Cache-Control", hourKept)
	_, _ = fmt.Fprintf(w, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %g %g" preserveAspectRatio="none" fill="none" `+
		`stroke="%s" stroke-width="%g">%s</svg>`,
		hourWidth, hourHeight, stroke, hourStroke, hourLines(series.Points, to, c.Channel.Resolution))
}

func hourLines(points []web.SeriesPoint, to time.Time, resolution float64) string {
	low, high := math.Inf(1), math.Inf(-1)
	for _, p := range points {
		if !p.Suspect {
			low, high = min(low, p.Mean), max(high, p.Mean)
		}
	}
	if wider := (leastSpan*resolution - (high - low)) / 2; wider > 0 {
		low, high = low-wider, high+wider
	}
	var out strings.Builder
	var last time.Time
	for _, p := range points {
		if p.Suspect || p.Imported || high <= low {
			continue
		}
		switch {
		case last.IsZero():
			out.WriteString(`<polyline vector-effect="non-scaling-stroke" points="`)
		case p.At.Sub(last) > hourBreak:
			out.WriteString(`"/><polyline vector-effect="non-scaling-stroke" points="`)
		}
		last = p.At
		x := hourWidth * (1 - float64(to.Sub(p.At))/float64(time.Hour))
		y := hourMargin + (hourHeight-2*hourMargin)*(high-p.Mean)/(high-low)
		fmt.Fprintf(&out, "%.1f,%.1f ", x, y)
	}
	if !last.IsZero() {
		out.WriteString(`"/>`)
	}
	return out.String()
}
