package cards

import (
	"fmt"
	"slices"
	"time"

	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/truth"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// The acts on findings and the clock that a form may ask for.
const (
	ActConfirm = "confirm"
	ActDismiss = "dismiss"
	ActClock   = "clock"
)

// FindingCard is something found from the readings, with the forms that judge it.
type FindingCard struct {
	ID, What, Text, Basis string
	Confidence, Since     string
	Channels              []web.Link
	// Judged says in words who judged it; Forms are left out then.
	Judged string
	Forms  []web.AskForm
	// Earlier are those like it that were found before, of the same channels.
	Earlier []FindingCard
}

// like says whether both found the same of the same channels.
func (c FindingCard) like(d FindingCard) bool {
	return c.What == d.What && slices.EqualFunc(c.Channels, d.Channels, func(a, b web.Link) bool { return a.Href == b.Href })
}

// Shown is the card without its forms.
func (c FindingCard) Shown() FindingCard {
	c.Forms, c.Earlier = nil, slices.Clone(c.Earlier)
	for i := range c.Earlier {
		c.Earlier[i].Forms = nil
	}
	return c
}

// Asked says whether one of the earlier ones is being answered.
func (c FindingCard) Asked() bool {
	return slices.ContainsFunc(c.Earlier, func(e FindingCard) bool {
		return slices.ContainsFunc(e.Forms, func(f web.AskForm) bool { return f.Open })
	})
}

// Findings are those of a room, or of one channel where one is named; what waits comes first. A card holds the newest
// of its kind, with the earlier ones behind it.
func (f Figures) Findings(in web.Visit, l web.Look, only sensors.ChannelID, a web.Attempt) []FindingCard {
	var waiting, judged []FindingCard
	for _, o := range in.Snap.Probes.Findings() {
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
	return parted(append(waiting, judged...))
}

// parted puts cards that are alike behind the first of them.
func parted(all []FindingCard) (list []FindingCard) {
	for _, card := range all {
		if at := slices.IndexFunc(list, card.like); at >= 0 {
			list[at].Earlier = append(list[at].Earlier, card)
		} else {
			list = append(list, card)
		}
	}
	return list
}

// mostJudged is how many findings are shown that were judged already.
const mostJudged = 10

func (f Figures) findingCard(in web.Visit, l web.Look, o truth.Offer, a web.Attempt) FindingCard {
	card := FindingCard{ID: o.ID, What: phrase.Capital(f.Word(o.What)), Text: f.Text(o.Text), Basis: web.SentenceCase(f.Text(o.Basis)),
		Confidence: fmt.Sprintf("%d %% likely.", o.Percent()), Since: fmt.Sprintf("since %s", f.When(o.From))}
	for _, id := range o.Channels {
		if c, known := ChannelView(in.Snap, string(id)); known {
			card.Channels = append(card.Channels, web.Link{Href: ProbeHref(in.Snap.Room, id, l), Text: c.Channel.Name})
		}
	}
	if !o.Open() && !o.Still {
		card.Judged = fmt.Sprintf("Dismissed by %s, %s: %s", o.By, f.When(o.Decided), o.Why)
		if o.Confirmed {
			card.Judged = fmt.Sprintf("Confirmed by %s, %s: %s", o.By, f.When(o.Decided), o.Why)
		}
		return card
	}
	why := func(hint string) web.Ask {
		return web.Ask{Field: web.WhyField(), Hint: hint}
	}
	card.Forms = []web.AskForm{
		f.Asking(l, web.About{Act: ActConfirm, Alarm: o.ID, Summary: "Confirm", Button: "Yes, that is it"}, a,
			web.Ask{Field: StillField(), Choices: []web.Choice{{Value: "yes", Text: "is still wrong: show no value"},
				{Value: "no", Text: "is put right"}}}, why("what you saw, and what you did")),
		f.Asking(l, web.About{Act: ActDismiss, Alarm: o.ID, Summary: "Dismiss", Button: "No"}, a,
			why("what it really was")),
	}
	return card
}

// TimeCard is what is known of the computer's clock, with the form that confirms it.
type TimeCard struct {
	Shape, State, Sentence string
	Now                    string
	Form                   web.AskForm
}

// TimeCard says how far the clock is believed.
func (f Figures) TimeCard(c rules.ClockView, l web.Look, a web.Attempt) TimeCard {
	card := TimeCard{Shape: "unknown", State: "Not confirmed",
		Sentence: "Nobody has checked it against an accurate clock since start-up. Records say so."}
	switch {
	case c.Confirmed:
		card.Shape, card.State, card.Sentence = "moving", "Confirmed", "Somebody has checked it against an accurate clock since start-up."
	case c.Behind:
		card.Shape, card.State, card.Sentence = "stopped", "Behind an earlier record",
			"The last record has a later time than this clock: the clock's battery is empty, or somebody set it back."
	case c.Stepped:
		card.Shape, card.State, card.Sentence = "low", "Clock was changed",
			"The clock was changed while wetside ran, and nobody has checked it since. Ages and durations do not depend on it."
	}
	card.Now = f.Now.Wall.In(f.Zone).Format("Mon 2 Jan 2006 15:04:05 MST")
	card.Form = f.Asking(l, web.About{Act: ActClock, Summary: "Confirm the time", Button: "Same time: confirm"}, a,
		web.Ask{Field: seenField, Hint: "to the minute, like 18:20"},
		web.Ask{Field: AgainstField(), Hint: "such as: radio clock, phone on the network"})
	return card
}

// DueRow is the next check of a probe.
type DueRow struct {
	web.Link
	Due, State, Shape string
	at                time.Time
}

// DueState says in a word and a shape whether something is overdue.
func DueState(overdue bool) (word, shape string) {
	if overdue {
		return "Overdue", "stopped"
	}
	return "In time", "moving"
}

// Sooner puts first what is due first.
func Sooner(a, b DueRow) int { return a.at.Compare(b.at) }

// ChecksDue are the next checks of a room's probes that a check has set.
func (f Figures) ChecksDue(snap *rules.Snapshot, l web.Look) []DueRow {
	var list []DueRow
	for life := range snap.Probes.Lives() {
		due, overdue, ok := life.Due(f.Now.Wall)
		if !ok {
			continue
		}
		row := DueRow{Link: web.Link{Href: ProbeHref(snap.Room, life.Channel.ID, l), Text: life.Channel.Name}, Due: f.LastDay(due), at: due}
		row.State, row.Shape = DueState(overdue)
		list = append(list, row)
	}
	return list
}

// TraverseDue is when the duct of a room is to be traversed again; none where no day is set.
func (f Figures) TraverseDue(snap *rules.Snapshot, l web.Look) []DueRow {
	next := snap.Air.Commissioned.Next
	if next.IsZero() {
		return nil
	}
	row := DueRow{Link: l.Link("/rooms/"+snap.Room+"/air/traverse", "Traverse of the duct"), Due: f.Day(next), at: next}
	row.State, row.Shape = DueState(f.Now.Wall.After(next.AddDate(0, 0, 1)))
	return []DueRow{row}
}

// LastDay is the last day before a moment at which something is due.
func (f Figures) LastDay(due time.Time) string { return f.Day(due.Add(-time.Second)) }

// ProbeHref is the address of the page of one channel.
func ProbeHref(room string, id sensors.ChannelID, l web.Look) string {
	return l.Keep(fmt.Sprintf("/rooms/%s/probe/%s", room, id))
}

// ChannelView finds a channel of a room as the room shows it.
func ChannelView(snap *rules.Snapshot, id string) (rules.ChannelView, bool) {
	for _, c := range snap.Channels {
		if string(c.Channel.ID) == id {
			return c, true
		}
	}
	return rules.ChannelView{}, false
}
