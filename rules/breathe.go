package rules

import (
	"slices"
	"time"

	"wetside/rules/alarm"
	"wetside/rules/breathing"
	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// BreathingView is one gas channel against its limits. It is an aid: see [breathing.Statement].
type BreathingView struct {
	Channel sensors.ChannelID
	Name    string // of the channel
	Agent   string
	CAS     string // registry number of the agent, empty where the file of limits gives none
	// Now is what the sensor says now, such as "2.4 ppm" or "below 0.1 ppm"; why it
	// says nothing where it does not.
	Now phrase.Sentence
	// Level is the same as a figure, in ppm: a value or a bound; zero where the sensor says nothing.
	Level breathing.Level
	// Findings set the moving averages and the highest reading against each limit,
	// as of the last full minute; each with its interval, coverage and sentence.
	Findings []breathing.Finding
	// Limits are the rows that hold, or are to, as they are published.
	Limits []breathing.Limit
	// Outlook says when a limit is reached at this rate; empty when it is not near.
	Outlook phrase.Sentence
	// Sentence sums up the findings: the worst of them.
	Sentence phrase.Sentence
}

// class is the time that people have been in a room of which somebody vouches that they
// are exposed nowhere else; zero without a class under way, or without a statement.
type class struct {
	breathing.Vouched
	length time.Duration
}

func (s *Snapshot) class() class {
	if !s.Session.Phase.Running() {
		return class{}
	}
	begun := s.Session.Counted.Begun
	v := breathing.VouchedAt(s.Unexposed, begun)
	if !v.Holds() {
		return class{}
	}
	return class{v, max(0, s.At.Wall.Sub(begun))}
}

// MixtureView is the additive index of irritants of the airways by the long-term
// limits of one jurisdiction: above 1 they are too much together.
type MixtureView struct {
	Jurisdiction string
	Agents       []string
	Verdict      breathing.Verdict
	Sentence     phrase.Sentence
}

// breathe goes on with every gas channel and sets it against its limits.
func breathe(room Room, before map[sensors.ChannelID]gasMemory, s *Snapshot) ([]BreathingView, map[sensors.ChannelID]gasMemory) {
	if len(room.Gases) == 0 {
		return nil, nil
	}
	list := make([]BreathingView, len(room.Gases))
	after := make(map[sensors.ChannelID]gasMemory, len(room.Gases))
	for i, g := range room.Gases {
		c := views(s.Channels).get(g.Channel)
		m, fresh := before[g.Channel].take(g, c, s.At.Mono)
		if fresh {
			m.judged, m.outlook = m.judge(g, s.At.Wall, s.class()), m.ahead(g, s.At.Wall)
		}
		after[g.Channel] = m
		list[i] = BreathingView{Channel: g.Channel, Name: c.Channel.Name, Agent: g.Agent.Name, CAS: g.Agent.CAS,
			Findings: m.judged, Outlook: m.outlook, Limits: g.rows(s.At.Wall)}
		list[i].Now, list[i].Level = present(g, c)
		list[i].Sentence = list[i].sum()
	}
	return list, after
}

// rows lists the limits that hold at a moment, or are to later.
func (g Gas) rows(at time.Time) []breathing.Limit {
	over := func(l breathing.Limit) bool { return l.Off || l.Over(at) }
	if !slices.ContainsFunc(g.Limits, over) {
		return slices.Clip(g.Limits)
	}
	return slices.DeleteFunc(slices.Clone(g.Limits), over)
}

// Reads is what a channel tells now, in its inside unit: a value, or the bound of a gas sensor that can tell no
// more. All are nil where it tells nothing.
type Reads struct{ Value, AtMost, AtLeast *float64 }

// Reads is what a channel of the room tells; why says why it tells nothing, in few words.
func (s *Snapshot) Reads(c ChannelView) (r Reads, why string) {
	v, good := c.Good()
	if !good {
		return Reads{}, c.Cause()
	}
	level := breathing.Measured(v)
	for _, b := range s.Breathing {
		if b.Channel == c.Channel.ID {
			level, why = b.Level, b.Now.String()
		}
	}
	of := func(v float64, is bool) *float64 {
		if v = quantity.Clean(v); is {
			why = ""
			return &v
		}
		return nil
	}
	r.Value, r.AtMost, r.AtLeast = of(level.Value()), of(level.AtMost()), of(level.AtLeast())
	return r, why
}

// present is what a sensor says now, in words and as a figure.
func present(g Gas, c ChannelView) (phrase.Sentence, breathing.Level) {
	v, ok := c.Good()
	if !ok {
		return c.Why(), breathing.Level{}
	}
	level, ok := g.Sensor.Level(v)
	if !ok {
		return phrase.Say("below zero: the sensor's zero is off"), breathing.Level{}
	}
	if at, is := level.Value(); is && g.Sensor.Resolution > 0 {
		return phrase.Say("%s ppm", quantity.Decimal(quantity.Digits(at, quantity.Decimals(g.Sensor.Resolution)))), level
	}
	return level.Text("ppm"), level
}

// ceilingWindow is how far back the highest reading counts.
const ceilingWindow = 15 * time.Minute

// judge sets the day so far against every limit. A row that can't be judged is left
// out here because the configuration refuses it.
func (m gasMemory) judge(g Gas, now time.Time, c class) []breathing.Finding {
	found := make([]breathing.Finding, 0, len(g.Limits))
	for _, l := range breathing.InForce(g.Limits, now, g.Shift) {
		t, err := m.laid(g, l, c)
		if err != nil {
			continue
		}
		f, err := breathing.Gas{Agent: g.Agent, Tape: t, Unit: ppmUnit(), Sensor: g.Sensor, Vouched: c.Vouched}.Judge(l)
		if err == nil {
			found = append(found, f)
		}
	}
	return found
}

// laid is the tape on which a limit is judged: an average needs the sums of its
// window, a ceiling the highest reading of late, also within the minute under way.
func (m gasMemory) laid(g Gas, l breathing.Limit, c class) (breathing.Tape, error) {
	if l.Kind == breathing.LongTerm && c.Holds() {
		return m.ofClass(g, min(l.Window, c.length))
	}
	if l.Kind != breathing.Ceiling {
		return g.Sensor.Sum(m.course.Last(l.Window))
	}
	t, err := g.Sensor.Highest(m.course.Last(ceilingWindow))
	if now, good := m.course.UnderWay(); err == nil && good {
		err = t.Sampled(time.Second, g.Sensor.Peak(now))
	}
	return t, err
}

// ofClass is the tape of the class under way; what was not read of it is not known.
func (m gasMemory) ofClass(g Gas, length time.Duration) (breathing.Tape, error) {
	minutes := m.course.Last(length)
	t, err := g.Sensor.Sum(minutes)
	if missing := length.Truncate(time.Minute) - time.Duration(len(minutes))*time.Minute; err == nil && missing > 0 {
		err = t.Unsampled(missing, phrase.Say("no usable reading"))
	}
	return t, err
}

const (
	outlookBase = 5 * time.Minute  // of readings that the forecast goes on from
	outlookNear = 30 * time.Minute // a limit reached later is not worth a word yet
	// outlookShare of a limit must be in the air before a rise counts for anything.
	outlookShare = 0.25
)

// ahead says when the first of the averages reaches its limit at this rate.
func (m gasMemory) ahead(g Gas, now time.Time) phrase.Sentence {
	sentence, soonest := phrase.Sentence{}, outlookNear+1
	minutes := m.course.Minutes()
	if len(minutes) == 0 {
		return sentence
	}
	latest := minutes[len(minutes)-1].Mean()
	for _, l := range breathing.InForce(g.Limits, now, g.Shift) {
		if l.Window == 0 || latest < outlookShare*g.ppm(l) {
			continue
		}
		window := m.course.Last(l.Window)
		t, err := g.Sensor.Lay(window, time.Duration(len(window))*time.Minute, l.Kind)
		if err != nil {
			continue
		}
		f, err := t.Forecast(g.ppm(l), l.Window, outlookBase, breathing.WorstObserved())
		if err == nil && f.Reached && f.In > 0 && f.In < soonest {
			sentence, soonest = phrase.Say("%s, %s: %s", g.Agent.Name, l.Jurisdiction, f.Sentence()), f.In
		}
	}
	return sentence
}

// rank orders verdicts from the worst.
func rank(v breathing.Verdict) int {
	return slices.Index([]breathing.Verdict{breathing.Over, breathing.CantTell, breathing.Within}, v)
}

// worst is the finding that matters most, nil without any.
func (b BreathingView) worst() *breathing.Finding {
	var worst *breathing.Finding
	for i := range b.Findings {
		if worst == nil || rank(b.Findings[i].Verdict) < rank(worst.Verdict) {
			worst = &b.Findings[i]
		}
	}
	return worst
}

func (b BreathingView) sum() phrase.Sentence {
	if w := b.worst(); w != nil {
		return w.Sentence
	}
	if len(b.Limits) == 0 {
		return phrase.Say("%s: no limit is set here.", b.Agent)
	}
	return phrase.Say("%s: not a full minute of readings yet.", b.Agent)
}

// over lists the limits that are passed among those of some kinds.
func (b BreathingView) over(kinds ...breathing.LimitKind) (rows []breathing.Finding) {
	for _, f := range b.Findings {
		if f.Verdict == breathing.Over && slices.Contains(kinds, f.Limit.Kind) {
			rows = append(rows, f)
		}
	}
	return rows
}

// truth says whether limits of some kinds are passed; while it can't be told of one
// of them, neither that they are nor that they are not.
func (b BreathingView) truth(kinds ...breathing.LimitKind) alarm.Truth {
	truth := alarm.Unknown
	for _, f := range b.Findings {
		if !slices.Contains(kinds, f.Limit.Kind) {
			continue
		}
		switch f.Verdict {
		case breathing.Over:
			return alarm.True
		case breathing.CantTell:
			truth = alarm.Between // as it was before
		case breathing.Within:
			if truth == alarm.Unknown {
				truth = alarm.False
			}
		}
	}
	return truth
}

func breathingAlarm(id sensors.ChannelID) string { return "breathing:" + string(id) }

func dayAlarm(id sensors.ChannelID) string { return "breathing-day:" + string(id) }

// breathingOff is how long an average must be back before its alarm is over.
const breathingOff = 5 * time.Minute

// breathingSignals have no delay: an average is delayed already, and a ceiling must
// not wait. Passing an action level begins duties, but nobody has to leave: a notice.
// What is passed now explains the average of the day.
func breathingSignals(b *BreathingView, armed bool) []alarm.Signal {
	now := alarm.Signal{ID: breathingAlarm(b.Channel), Says: breathingSpeaker{b}, Armed: armed, Profile: alarm.Average.Profile(),
		Holds: b.truth(breathing.ShortTerm, breathing.Ceiling)}
	now.Profile.OffDelay, now.Profile.Urgent = breathingOff, true
	day := alarm.Signal{ID: dayAlarm(b.Channel), Says: breathingSpeaker{b}, Armed: armed, Profile: alarm.Average.Profile(),
		Holds: b.truth(breathing.LongTerm)}
	day.Profile.OffDelay = breathingOff
	if now.Holds == alarm.True {
		day.Parent = now.ID
	}
	return []alarm.Signal{now, day}
}

type breathingSpeaker struct{ *BreathingView }

// Words of a breathing limit that is passed.
func (s breathingSpeaker) Words() alarm.Words {
	w := alarm.Words{Text: phrase.Say("Too much %s in the air", s.Agent), Cause: s.Sentence,
		Act: phrase.Say("Cover the trays, check that the fan runs, and send everybody out until it is below the limit.")}
	if over := s.over(breathing.ShortTerm, breathing.Ceiling, breathing.LongTerm); len(over) > 0 {
		w.Cause = over[0].Sentence
	}
	return w
}

// breathingNotices tell of limits that come near and of action levels, while people are at work.
func breathingNotices(s *Snapshot) []phrase.Sentence {
	if !s.Session.Phase.Running() {
		return nil
	}
	var list []phrase.Sentence
	for _, b := range s.Breathing {
		for _, f := range b.over(breathing.ActionLevel) {
			list = append(list, f.Sentence)
		}
		if !b.Outlook.IsZero() && len(b.over(breathing.ShortTerm, breathing.Ceiling)) == 0 {
			list = append(list, b.Outlook)
		}
	}
	return list
}

// mixtures add up the irritants by jurisdiction, where there are at least two.
func mixtures(room Room, list []BreathingView) []MixtureView {
	var found []MixtureView
	parts := map[string][]breathing.Part{}
	for i, g := range room.Gases {
		for _, f := range list[i].Findings {
			if !g.Agent.Irritant || f.Limit.Kind != breathing.LongTerm || f.Average.Open {
				continue
			}
			j := f.Limit.Jurisdiction
			at := slices.IndexFunc(found, func(v MixtureView) bool { return v.Jurisdiction == j })
			if at < 0 {
				at, found = len(found), append(found, MixtureView{Jurisdiction: j})
			}
			found[at].Agents = append(found[at].Agents, g.Agent.Name)
			parts[j] = append(parts[j], breathing.Part{Low: f.Average.Low, High: f.Average.High, Limit: f.Limit.Value})
		}
	}
	for i := range found {
		if index, err := breathing.Mixture(parts[found[i].Jurisdiction]); err == nil {
			found[i] = found[i].with(index)
		}
	}
	return slices.DeleteFunc(found, func(v MixtureView) bool { return len(v.Agents) < 2 || v.Verdict == "" })
}

func (v MixtureView) with(x breathing.Index) MixtureView {
	v.Verdict = x.Verdict()
	all := phrase.Plain(v.Agents[0])
	for _, agent := range v.Agents[1:] {
		all = phrase.Say("%s and %s", all, agent)
	}
	index := phrase.Say("index %.2f to %.2f, ", x.Low, x.High)
	if v.Verdict == breathing.CantTell && x.High > 10*x.Low { // too wide to say anything
		index = phrase.Sentence{}
	}
	v.Sentence = phrase.Say("%s together by the long-term limits of %s: %s%s.", all, v.Jurisdiction, index, v.Verdict)
	return v
}

// ppmUnit is the inside unit of gas channels.
func ppmUnit() quantity.Unit { return quantity.UnitsOf(quantity.VolumeFraction)[0] }

// Estimate describes the stop bath for a model of the acetic acid in the air. The
// model speaks only where somebody switched it on.
type Estimate struct {
	On       bool
	Area     quantity.SquareMetre  // of the bath's surface
	Strength quantity.GramPerLitre // acetic acid
}

// EstimateView is what the model says; it is never a measurement and never without
// its label.
type EstimateView struct{ Sentence phrase.Sentence }

// usualBath is taken where the stop bath has no usable thermometer, °C.
const usualBath = 20

// estimate is nil while the model is off or no stop bath stands uncovered.
func estimate(room Room, s *Snapshot) *EstimateView {
	temp, open := s.stopBath()
	if !room.Estimate.On || !open {
		return nil
	}
	model := breathing.StopBathModel{On: true, Area: room.Estimate.Area, Strength: room.Estimate.Strength, Temp: temp, Volume: room.Volume}
	air := phrase.Say("assuming no air movement, since the airflow is unknown")
	if s.Air.Flow != nil {
		model.Flow, air = *s.Air.Flow, phrase.Say("at %s", s.Air.Flow.To(1))
	}
	got, err := model.After(s.Session.Open)
	if err != nil {
		return &EstimateView{phrase.Say("Acetic acid: no estimate: %s.", err)}
	}
	return &EstimateView{phrase.Say("Acetic acid: %s, with %g g/L over %.2f m² at %s, %s, after %.0f min with trays uncovered. The "+
		"model's figures are from memory; it came out four to five times above the one published survey of a photo laboratory.",
		got, float64(room.Estimate.Strength), float64(room.Estimate.Area), temp.To(0.1), air, s.Session.Open.Minutes())}
}

// stopBath gives the temperature of the first stop bath that stands uncovered.
func (s *Snapshot) stopBath() (quantity.Celsius, bool) {
	for i := range s.Baths {
		b := &s.Baths[i]
		if b.Bath.Role != StopBath || b.Portion == nil || b.Portion.Covered {
			continue
		}
		if c, known := b.Temperature(); known {
			return c, true
		}
		return usualBath, true
	}
	return 0, false
}
