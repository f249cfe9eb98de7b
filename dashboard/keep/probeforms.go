package keep

import (
	"context"
	"net/http"
	"strings"
	"time"

	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/truth"
	"wetside/sensors"
	"wetside/sensors/quantity"
)

// The acts on probes that a form may ask for.
const (
	actFit     = "fit"
	actTakeOut = "take-out"
	actHand    = "hand"
	actCheck   = "check"
	actCorrect = "correct"
)

type probeReader struct {
	*web.FormReader
	channel sensors.Channel
	unit    quantity.Unit
}

// value reads a value in the place's unit; the unit may stand behind it.
func (f probeReader) value(field web.Field) float64 {
	text := f.Line(field, true)
	if text == "" {
		return 0
	}
	if v, _, err := quantity.Parse(f.channel.Dimension, text); err == nil {
		return v
	}
	v, err := quantity.Number(strings.TrimSuffix(text, f.unit.Label()))
	if err != nil {
		f.Unread(field, err, "is not a number. Write it like 20.4.")
	}
	return f.unit.ToBase(v)
}

// apart reads a difference in the place's unit; an empty one is zero.
func (f probeReader) apart(field web.Field, needed bool) float64 {
	text := f.Line(field, needed)
	if text == "" {
		return 0
	}
	v, err := quantity.Number(strings.TrimSpace(strings.NewReplacer(f.unit.Label(), "", "±", "").Replace(text)))
	if err != nil {
		f.Unread(field, err, "is not a number. Write it like 20.4.")
	}
	return f.unit.ToBase(v) - f.unit.ToBase(0)
}

func (f probeReader) number(field web.Field) float64 {
	text := f.Line(field, true)
	v, err := quantity.Number(text)
	if err != nil && text != "" {
		f.Unread(field, err, "is not a number. Write it like 20.4.")
	}
	return v
}

// date reads a day, with or without a time of the day; an empty one is zero.
func (f probeReader) date(field web.Field) time.Time {
	text := f.Get(field)
	if text == "" {
		return time.Time{}
	}
	for _, layout := range []string{"2006-01-02 15:04", time.DateOnly} {
		if t, err := time.ParseInLocation(layout, text, f.Zone); err == nil {
			return t.UTC()
		}
	}
	f.Unread(field, nil, "is not a date: write it like 2026-01-15, or with a time like 2026-01-15 18:30.")
	return time.Time{}
}

// act reads an act on the channel; nil for one that is not known.
func (f probeReader) act(name string) rules.Act {
	id := f.channel.ID
	switch name {
	case actFit:
		return truth.FitProbe{Channel: id, Probe: f.Name(probeField, true), Make: f.Name(makeField, false),
			Accuracy: f.apart(accuracyField, false), From: f.date(fromField), Uncorrected: true}
	case actTakeOut:
		return truth.RemoveProbe{Channel: id, Why: f.Line(web.WhyField(), true), From: f.date(fromField)}
	case actHand:
		return truth.HandReading{Channel: id, Value: f.value(valueField), With: f.Name(withField, true),
			Uncertainty: f.apart(uncertaintyField, false)}
	case actCheck:
		return f.check()
	case actCorrect:
		return truth.SetCorrection{Channel: id, From: f.date(fromField), Slope: f.number(slopeField), Offset: f.apart(offsetField, true),
			Why: f.Line(web.WhyField(), true)}
	}
	return nil
}

func (f probeReader) check() truth.CheckProbe {
	method := methodOf(f.Get(web.Field{Name: "method"}), f.channel.Kind)
	if method == truth.Switching {
		return f.switched()
	}
	act := truth.CheckProbe{Channel: f.channel.ID, Method: method, Uncertainty: f.apart(referenceUncertaintyField, false),
		Certificate: f.Name(certificateField, false), AsFound: f.value(asFoundField), Next: f.endOf(nextField),
		Note: f.Line(web.NoteField(), false)}
	act.Correct = web.PickOf(f.FormReader, correctField, "no", "yes") == "yes"
	if act.Method == truth.Reference {
		act.Reference, act.Instrument = f.value(referenceField), f.Name(instrumentField, true)
	}
	if f.Get(asLeftField) != "" {
		act.AsLeft = new(f.value(asLeftField))
	}
	return act
}

// switched reads whether a contact followed what was switched: it reads 1 where 1 is right, else 0.
func (f probeReader) switched() truth.CheckProbe {
	act := truth.CheckProbe{Channel: f.channel.ID, Method: truth.Switching, Reference: 1, Next: f.endOf(nextField),
		Note: f.Line(web.NoteField(), false)}
	if web.PickOf(f.FormReader, followedField, "yes", "no") == "yes" {
		act.AsFound = 1
	}
	return act
}

// endOf is the end of a day: what is due on a day is due until it is over.
func (f probeReader) endOf(field web.Field) time.Time {
	day := f.date(field)
	if day.IsZero() {
		return day
	}
	return day.In(f.Zone).AddDate(0, 0, 1).UTC()
}

func (s *Pages) probePost(w http.ResponseWriter, r *http.Request, in web.Visit, c rules.ChannelView) {
	s.Once(w, r, func(ctx context.Context, t web.Typed) (string, *web.Problem) {
		figures := s.figures(in.Site)
		f := figures.Reader(t.More)
		act := probeReader{f, *c.Channel, figures.Unit(c.Channel.Dimension)}.act(t.Act)
		return s.enterAct(ctx, in, f, rules.Command{Act: act, Person: f.Who()})
	})
}

func (s *Pages) probesPost(w http.ResponseWriter, r *http.Request, in web.Visit) {
	s.Once(w, r, func(ctx context.Context, t web.Typed) (string, *web.Problem) {
		figures := s.figures(in.Site)
		f := figures.Reader(t.More)
		c := rules.Command{}
		switch t.Act {
		case cards.ActConfirm:
			still := web.PickOf(f, cards.StillField(), "yes", "no") == "yes"
			c.Act = truth.ConfirmFinding{Finding: truth.Finding{ID: t.Alarm}, Why: f.Line(web.WhyField(), true), Still: still}
		case cards.ActDismiss:
			c.Act = truth.DismissFinding{Finding: truth.Finding{ID: t.Alarm}, Why: f.Line(web.WhyField(), true)}
		case cards.ActClock:
			c.Act = rules.ConfirmClock{Seen: readSeen(f, t.More.Get("seen")),
				Against: f.Name(cards.AgainstField(), true)}
		}
		c.Person = f.Who()
		return s.enterAct(ctx, in, f, c)
	})
}

// readSeen reads what a good clock shows now, as a day with a time or as a time of today.
func readSeen(f *web.FormReader, text string) time.Time {
	text = strings.TrimSpace(text)
	if t, err := time.ParseInLocation("2006-01-02 15:04", text, f.Zone); err == nil {
		return t
	}
	t, err := time.Parse("15:04", strings.ReplaceAll(text, ".", ":"))
	if err != nil {
		f.Fail("seen", `"%s" is not a time: write what the accurate clock shows, like 18:20, or with the day like 2026-01-15 18:20.`,
			web.Clip(text))
		return time.Time{}
	}
	y, m, d := f.Now.In(f.Zone).Date()
	at := time.Date(y, m, d, t.Hour(), t.Minute(), 0, 0, f.Zone)
	// Round midnight the nearer of the two days is meant.
	for _, other := range []time.Time{at.AddDate(0, 0, -1), at.AddDate(0, 0, 1)} {
		if other.Sub(f.Now).Abs() < at.Sub(f.Now).Abs() {
			at = other
		}
	}
	return at
}

// enterAct hands an act to the room, once it could be read.
func (s *Pages) enterAct(ctx context.Context, in web.Visit, f *web.FormReader, c rules.Command) (string, *web.Problem) {
	if c.Act == nil {
		f.Fail("act", web.UnknownAct)
	}
	if f.Problem != nil {
		return "", f.Problem
	}
	c.Room = in.Snap.Room
	return s.HandOver(ctx, c)
}
