package record

import (
	"cmp"
	"fmt"
	"html/template"
	"strings"
	"time"

	"wetside/dashboard/report"
	"wetside/dashboard/web"
)

// cellAt is where a cell stands: its name on the page, in which light, and the time
// that a whole bar stands for.
type cellAt struct {
	id      string
	look    web.Look
	longest time.Duration
}

func (f figures) eveningCell(s report.Session, at cellAt) eveningCell {
	c := eveningCell{Name: s.Title, Begun: s.Begun.UTC().Format(time.RFC3339),
		Times: fmt.Sprintf("%s to %s", f.TimeOfDay(s.Begun), f.Until(s.Begun, s.Ended)), Report: f.reportHref(s, at.look)}
	c.Name = cmp.Or(c.Name, "Session")
	if s.Running {
		c.Times = fmt.Sprintf("since %s, still running, as of %s", f.TimeOfDay(s.Begun), f.Until(s.Begun, s.AsOf))
	}
	to := historyAt{figures: f, look: at.look, span: f.eveningOf(s)}
	if f.place.Alone() {
		c.History = "/rooms/" + s.Room + "/" + to.toTime(to.span)
	}
	a := s.Air()
	switch {
	case a.Open() == 0:
		c.Verdict = "No tray uncovered"
		return c
	case a.Proven == 0:
		c.Verdict = "Nothing proven"
	case a.Low > 0:
		c.Verdict = "Not all proven"
	case a.Unknown > 0:
		c.Verdict = "Not all known"
	}
	c.Parts = append(c.Parts, dutyLine{"moving", "proven", report.Hours(a.Proven)})
	if a.Low > 0 {
		c.Parts = append(c.Parts, dutyLine{"stopped", "too low or stopped", report.Hours(a.Low)})
	}
	if a.Unknown > 0 {
		c.Parts = append(c.Parts, dutyLine{"unknown", "not known", report.Hours(a.Unknown)})
	}
	c.Picture = airPicture(a, at, fmt.Sprintf("%s uncovered: %s proven, %s too low or stopped, %s not known", report.Hours(a.Open()),
		report.Hours(a.Proven), report.Hours(a.Low),
		report.Hours(a.Unknown)))
	return c
}

// airPicture draws the uncovered time of a session as one bar, as long as the time:
// full where the flow was proven, hatched where it was not, an empty dashed box where
// nobody knows.
func airPicture(a report.Air, at cellAt, title string) template.HTML {
	const width, height, least = 200.0, 26.0, 6.0
	var out strings.Builder
	fmt.Fprintf(&out, `<svg class="air-bar" viewBox="0 0 %g %g" role="img" aria-label="%s">`+
		`<defs><pattern id="air-%s" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">`+
		`<path class="air-hatch" d="M0 0V6"/></pattern></defs>`,
		width+2, height, template.HTMLEscapeString(title), at.id)
	x := 1.0
	for _, part := range []struct {
		class string
		time  time.Duration
	}{{"air-proven", a.Proven}, {"air-unproven", a.Low}, {"air-unknown", a.Unknown}} {
		if part.time == 0 {
			continue
		}
		// The longest time leaves room for the short parts, which are drawn wide enough to be seen.
		w := max(part.time.Seconds()/at.longest.Seconds()*(width-2*least), least)
		fill := ""
		if part.class == "air-unproven" {
			fill = fmt.Sprintf(` fill="url(#air-%s)"`, at.id)
		}
		fmt.Fprintf(&out, `<rect class="%s"%s x="%.1f" y="1" width="%.1f" height="%g"/>`, part.class, fill, x, w, height-2)
		x += w
	}
	out.WriteString("</svg>")
	return template.HTML(out.String()) //nolint:gosec // the title is escaped
}
