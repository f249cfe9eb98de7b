package dashboard

import (
	"fmt"
	"slices"
	"time"

	"wetside/rules"
	"wetside/rules/truth"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// The acts on findings and the clock that a form may ask for.
const (
	actConfirm = "confirm"
	actDismiss = "dismiss"
	actClock   = "clock"
)

// findingCard is something found from the readings, with the forms that judge it.
type findingCard struct {
	ID, What, Text, Basis string
	Confidence, Since     string
	Channels              []link
	// Judged says in words who judged it; Forms are left out then.
	Judged string
	Forms  []askForm
}

// findings are those of a room, or of one channel where one is named; what waits comes first.
func (f figures) findings(in visit, l look, only sensors.ChannelID, a attempt) []findingCard {
	var waiting, judged []findingCard
	for _, o := range in.snap.Probes.Findings() {
		if only != "" && !slices.Contains(o.Channels, only) {
			continue
		}
		card := f.findingCard(in, l, o, a)
		if o.Open() || o.Still {
			waiting = append(waiting, card)
		} else if len(judged) < mostJudged {
			judged = append(judged, card)
		}
	}
	return append(waiting, judged...)
}

// mostJudged is how many findings are shown that were judged already.
const mostJudged = 10

func (f figures) findingCard(in visit, l look, o truth.Offer, a attempt) findingCard {
	card := findingCard{ID: o.ID, What: phrase.Capital(f.word(o.What)), Text: f.tell(o.Text), Basis: sentenceCase(f.tell(o.Basis)),
		Confidence: f.words.Say("finding.sure", o.Percent()), Since: f.words.Say("since", f.when(o.From))}
	for _, id := range o.Channels {
		if c, known := channelView(in.snap, string(id)); known {
			card.Channels = append(card.Channels, link{Href: probeHref(in.snap.Room, id, l), Text: c.Channel.Name})
		}
	}
	if !o.Open() && !o.Still {
		card.Judged = f.words.Say("finding.dismissed", o.By, f.when(o.Decided), o.Why)
		if o.Confirmed {
			card.Judged = f.words.Say("finding.confirmed", o.By, f.when(o.Decided), o.Why)
		}
		return card
	}
	why := func(hint string) ask {
		return ask{Name: "why", Label: f.words.Say("field.why"), Hint: hint}
	}
	card.Forms = []askForm{
		f.asking(l, about{act: actConfirm, alarm: o.ID, summary: f.words.Say("finding.confirm"), button: f.words.Say("button.confirm")}, a,
			ask{Name: "still", Label: f.words.Say("field.still"), Choices: []choice{{Value: "yes", Text: f.words.Say("choice.still")}, {Value: "no", Text: f.words.Say("choice.right")}}}, why(f.words.Say("hint.confirm"))),
		f.asking(l, about{act: actDismiss, alarm: o.ID, summary: f.words.Say("finding.dismiss"), button: f.words.Say("button.dismiss")}, a, why(f.words.Say("hint.dismiss"))),
	}
	return card
}

// timeCard is what is known of the computer's clock, with the form that confirms it.
type timeCard struct {
	Shape, State, Sentence string
	Now                    string
	Form                   askForm
}

func (f figures) timeCard(c rules.ClockView, l look, a attempt) timeCard {
	card := timeCard{Shape: "unknown", State: f.words.Say("clocktime.unconfirmed"), Sentence: f.words.Say("clocktime.unconfirmed-why")}
	switch {
	case c.Confirmed:
		card.Shape, card.State, card.Sentence = "moving", f.words.Say("clocktime.confirmed"), f.words.Say("clocktime.confirmed-why")
	case c.Behind:
		card.Shape, card.State, card.Sentence = "stopped", f.words.Say("clocktime.behind"), f.words.Say("clocktime.behind-why")
	case c.Stepped:
		card.Shape, card.State, card.Sentence = "low", f.words.Say("clocktime.stepped"), f.words.Say("clocktime.stepped-why")
	}
	card.Now = f.now.Wall.In(f.zone).Format("Mon 2 Jan 2006 15:04:05 MST")
	card.Form = f.asking(l, about{act: actClock, summary: f.words.Say("clocktime.enter"), button: f.words.Say("button.clock")}, a,
		ask{Name: "seen", Label: f.words.Say("field.seen"), Hint: f.words.Say("hint.seen")},
		ask{Name: "against", Label: f.words.Say("field.against"), Hint: f.words.Say("hint.against")})
	return card
}

// dueRow is the next check of a probe.
type dueRow struct {
	link
	Due, State, Shape string
}

// checksDue are the next checks of a room's probes that a check has set.
func (f figures) checksDue(snap *rules.Snapshot, l look) []dueRow {
	var list []dueRow
	for life := range snap.Probes.Lives() {
		due, overdue, ok := life.Due(f.now.Wall)
		if !ok {
			continue
		}
		row := dueRow{link{Href: probeHref(snap.Room, life.Channel.ID, l), Text: life.Channel.Name}, f.lastDay(due), f.words.Say("duties.in-time"), "moving"}
		if overdue {
			row.State, row.Shape = f.words.Say("duties.is-overdue"), "stopped"
		}
		list = append(list, row)
	}
	return list
}

// traverseDue is when the duct of a room is to be traversed again; none where no day is set.
func (f figures) traverseDue(snap *rules.Snapshot, l look) []dueRow {
	next := snap.Air.Commissioned.Next
	if next.IsZero() {
		return nil
	}
	row := dueRow{f.below(l, "/rooms/"+snap.Room+"/air/traverse", f.words.Say("title.traverse")), next.In(f.zone).Format("Mon 2 Jan 2006"), f.words.Say("duties.in-time"), "moving"}
	if f.now.Wall.After(next.AddDate(0, 0, 1)) {
		row.State, row.Shape = f.words.Say("duties.is-overdue"), "stopped"
	}
	return []dueRow{row}
}

// lastDay is the last day before a moment at which something is due.
func (f figures) lastDay(due time.Time) string {
	return due.Add(-time.Second).In(f.zone).Format("Mon 2 Jan 2006")
}

// probeHref is the address of the page of one channel.
func probeHref(room string, id sensors.ChannelID, l look) string {
	href := fmt.Sprintf("/rooms/%s/probe/%s", room, id)
	if l == red {
		href += "?look=red"
	}
	return href
}

func channelView(snap *rules.Snapshot, id string) (rules.ChannelView, bool) {
	for _, c := range snap.Channels {
		if string(c.Channel.ID) == id {
			return c, true
		}
	}
	return rules.ChannelView{}, false
}
