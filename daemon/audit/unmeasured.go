package audit

import (
	"slices"
	"strings"
	"time"

	"wetside/rules/coverage"
	"wetside/rules/past"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// unmeasured says what nobody measured, so that silence is not taken for good news.
func (g *gathering) unmeasured() {
	g.unmeasuredBook()
	last := g.known.At(g.To)
	if last == nil {
		g.say("The settings of this period were never recorded. Without them neither coverage nor air changes can be worked out.")
		return
	}
	first := g.known.Versions[0]
	switch {
	case !first.At.Before(g.To):
		g.say("No settings were recorded before %s, after this period: the ones shown are those.", g.moment(first.At))
	case slices.ContainsFunc(g.evenings, func(s evening) bool { return s.Record < first.Record }):
		g.say("No settings were recorded before %s; earlier events are judged by the first recorded settings.", g.moment(first.At))
	}
	for _, r := range last.Rooms {
		g.unmeasuredRoom(r)
	}
	if len(g.unchecked) > 0 {
		g.say("No check of the probes of %s is recorded by the end of this period: their accuracy is unknown.", strings.Join(g.unchecked, "; "))
	}
	g.unmeasuredSessions()
	g.nobodyThere()
}

// nobodyThere says how much of the time lies in no session, so that no reading was
// required in it. It begins with the first settings that are known.
func (g *gathering) nobodyThere() {
	whole := coverage.Span{From: g.From, To: g.To}.Within(coverage.Span{From: g.known.Versions[0].At, To: g.Now})
	sessions, until := time.Duration(0), whole.From
	for _, s := range slices.SortedFunc(slices.Values(g.evenings), func(a, b evening) int { return a.Span().From.Compare(b.Span().From) }) {
		rest := s.Span().Within(coverage.Span{From: until, To: whole.To})
		sessions += rest.Length()
		if rest.Length() > 0 {
			until = rest.To
		}
	}
	idle := whole.Length() - sessions
	switch {
	case idle < time.Hour:
	case g.begun.After(g.From):
		g.say("%.0f of the %.0f hours that the record book covers lie outside any session, so no reading was required in them.", idle.Hours(),
			whole.Length().Hours())
	default:
		g.say("%.0f of the %.0f hours of this period lie outside any session, so no reading was required in them.", idle.Hours(),
			whole.Length().Hours())
	}
}

func (g *gathering) say(form string, values ...any) {
	g.data.NotMeasured = append(g.data.NotMeasured, phrase.Say(form, values...))
}

// moment is a local time with its zone, written as the report writes one.
func (g *gathering) moment(t time.Time) string {
	return t.In(g.zone()).Format("2 Jan 2006 15:04 MST")
}

func (g *gathering) unmeasuredBook() {
	if g.To.After(g.Now) && !g.From.After(g.Now) {
		g.say("The period was not over when this report was made: the report ends at %s.", g.moment(g.Now))
	}
	switch {
	case g.From.After(g.Now):
		g.say("The period was still in the future when this report was made.")
	case g.data.Book.Records == 0:
		g.say("Nothing was recorded in this period. That does not mean that nothing happened.")
	case g.noClock == g.data.Book.Records:
		g.say("Nobody confirmed the computer's clock in this period: every time of day is by that clock, unchecked.")
	case g.noClock > 0:
		g.say("%d of %d records were written while nobody had confirmed the computer's clock.", g.noClock, g.data.Book.Records)
	}
	if g.begun.After(g.From) {
		g.say("The record book begins at %s: nothing is known of the time before it.", g.moment(g.begun))
	}
	if g.sounders == 0 {
		g.say("No sound test and no alarm drill was recorded: whether an alarm would have been heard is unknown.")
	}
	for _, d := range g.data.Duties {
		if d.Last.IsZero() {
			g.say("The duty %q was not recorded as done by the end of this period.", d.Name)
		}
	}
}

func (g *gathering) unmeasuredRoom(r past.Room) {
	has := func(kinds ...sensors.Kind) bool {
		return slices.ContainsFunc(r.Channels, func(c past.Channel) bool { return slices.Contains(kinds, sensors.Kind(c.Kind)) })
	}
	if !has(sensors.VolumeFlow, sensors.DuctVelocity, sensors.VelocityPressure) {
		g.say("In %s no airflow is measured.", r.Name)
	} else if r.Commissioned == nil {
		g.say("The air of %s was never commissioned by a traverse: it is judged by the required ventilation alone.", r.Name)
	}
	if !slices.ContainsFunc(r.Channels, func(c past.Channel) bool { return sensors.Kind(c.Kind).IsGas() }) {
		g.say("In %s no gas is measured: nothing in this report says what anybody breathed.", r.Name)
	}
	for _, b := range r.Baths {
		if b.Channel == "" {
			g.say("In %s the temperature of the bath %s is not measured.", r.Name, b.Name)
		}
	}
}

func (g *gathering) unmeasuredSessions() {
	valid, name := map[string]bool{}, map[string]string{}
	for _, c := range g.data.Coverage {
		valid[c.Channel] = valid[c.Channel] || c.Valid > 0
		if c.Required > 0 {
			name[c.Channel] = c.Name
		}
	}
	for _, c := range g.data.Coverage {
		if !valid[c.Channel] && name[c.Channel] != "" {
			g.say("%s gave no valid reading in any session.", c.Name)
			delete(name, c.Channel)
		}
	}
	without := 0
	for _, s := range g.data.Sessions {
		if s.Uncovered > 0 && s.FlowKnown == 0 {
			without++
		}
	}
	if without > 0 {
		g.say("In %d of %d sessions trays were uncovered and the airflow was not known at any time.", without, len(g.data.Sessions))
	}
}
