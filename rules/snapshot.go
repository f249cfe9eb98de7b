package rules

import (
	"time"

	"wetside/chem"
	"wetside/rules/alarm"
	"wetside/rules/breathing"
	"wetside/rules/session"
	"wetside/rules/truth"
	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Snapshot is everything that may be shown of a room at one moment. It is never
// changed once made, so any number of pages may read it.
type Snapshot struct {
	At       sensors.Instant
	Room     string
	Name     string
	Baths    []BathView
	Air      AirView
	Channels []ChannelView
	Lines    []LineView
	// Session is the evening under way, planned or just over.
	Session SessionView
	// Purge is the airing before trays are uncovered or after they are covered; nil
	// when none is configured or none is under way.
	Purge *PurgeView
	// Breathing sets each gas channel against the limits switched on for it.
	Breathing []BreathingView
	// Unexposed are the statements about the time outside of classes, oldest first.
	Unexposed []breathing.Vouched
	// Mixtures add up irritants of the airways, where at least two are measured.
	Mixtures []MixtureView
	// Armed says whether alarms are wanted now: a tray is filled or a session is open.
	Armed bool
	// Alarms that somebody must act on, the most urgent first.
	Alarms []AlarmView
	// Aside are the alarms that somebody shelved or took out of service.
	Aside []AlarmView
	// Unnamed are the alarms that one press answered and of which nobody has said yet who
	// saw them, oldest first.
	Unnamed []UnnamedAlarm
	// History says whether what is seen is being kept.
	History HistoryView
	// Probes is what is known of the devices and their corrections, with what their
	// readings give away.
	Probes truth.Book
	// Clock says how far the wall clock may be believed.
	Clock ClockView
	// FlatAfter is how long a value of a channel may stand still before it counts as that of a
	// dead probe; none where that can't be told.
	FlatAfter map[sensors.ChannelID]time.Duration
	// stageTimes are the place's own, see WetLine.
	stageTimes StageTimes
	// Newest is the age of the newest good reading of the room; negative when there is none.
	Newest time.Duration
	// Notices are worth saying, but nobody has to act on them now.
	Notices []phrase.Sentence
}

// ChannelView is one channel as it may be shown.
type ChannelView struct {
	Channel *sensors.Channel
	// Line that the channel depends on; empty when none is configured.
	Line   sensors.LineID
	Grade  sensors.Grade
	Reason sensors.Reason
	// Doubt says in few words why the channel is suspected; empty unless Reason is [sensors.LooksWrong].
	Doubt phrase.Sentence
	// apart is set for a probe of the hood or of the supply, which is none of the duct.
	apart bool
	// alarm names the channel's own alarm, lineAlarm that of its line.
	alarm, lineAlarm string
	// Value in the inside unit; only [ChannelView.Good] gives it away.
	value float64
	// Raw is what the probe last sent, in the channel's unit, for the keeper alone.
	Raw float64
	// Seen is false when no reading has ever come.
	Seen bool
	// Age of the newest reading of any grade; meaningless unless Seen.
	Age time.Duration
	// LastAt is the wall time of the newest reading; meaningless unless Seen.
	LastAt time.Time
	// GoodAt is the wall time of the newest good reading; zero when there was none.
	GoodAt time.Time
}

// Good gives the value in the inside unit when there is a good and recent one.
func (c ChannelView) Good() (value float64, ok bool) {
	return c.value, c.Grade == sensors.Good
}

// BathView is one bath as it may be shown.
type BathView struct {
	Bath    Bath
	Channel ChannelView
	// Portion that stands in the tray, nil when no batch is known.
	Portion *Portion
	// Recommendation of the development time; a refusal for a bath that is no
	// developer is not shown.
	Recommendation chem.Recommendation
	// Told is the developing time announced last for what stands in the tray, nil when
	// none was; Announce is set when the people at the tray are to be told the time now.
	Told     *Told
	Announce bool
	// Trend in kelvin an hour over the last minutes; nil when it can't be told.
	Trend *float64
	// Forecast is where the temperature goes, and when it leaves the band.
	Forecast Forecast
	// Band says how the temperature stands to the wanted band.
	Band BandState
	// still is a temperature of the bath near the present one, see stillWithin.
	still *quantity.Celsius
	alarm string // the name of its alarm
}

// RunningWater says that it is the wash of a place that enters no batch of it, as running water is none.
func (b BathView) RunningWater() bool { return b.Portion == nil && b.Bath.Role == Wash }

// Empty says that nothing stands in the tray as far as anybody said: its probe reads the air.
func (b BathView) Empty() bool { return b.Portion == nil && !b.RunningWater() }

// BandState says how a temperature stands to the band that the place wants.
type BandState string

// The states of a temperature against its band; BandUnknown when either is not known.
const (
	BandUnknown BandState = ""
	BelowBand   BandState = "below"
	InBand      BandState = "in"
	AboveBand   BandState = "above"
)

// Temperature gives the bath's temperature when there is a good and recent reading.
func (b BathView) Temperature() (quantity.Celsius, bool) {
	v, ok := b.Channel.Good()
	return quantity.Celsius(v), ok
}

// AirView is the state of the room's air.
type AirView struct {
	State ventilation.State
	// Sentence says in words what is known and why.
	Sentence phrase.Sentence
	// Since is when the state began.
	Since sensors.Instant
	// Flow and AirChanges are nil unless they rest on a fresh good reading.
	Flow       *quantity.CubicMetrePerHour
	AirChanges *quantity.PerHour
	// Probe is the channel that the flow rests on, or would if it were good; empty
	// without one. It sits in Duct.
	Probe sensors.ChannelID
	Duct  Duct
	// Volume of the room, against which air changes are counted.
	Volume quantity.CubicMetre
	// Required air changes an hour.
	Required quantity.PerHour
	// Limits are the flows at which the state changes; their Derivation says in words
	// how they follow from the commissioned or the required flow.
	Limits ventilation.Limits
	// Commissioned is what the newest traverse has proven; its zero when there was none.
	Commissioned Commissioned
	// Rows are what is asked of the air and what each comes to.
	Rows []RequiredRow
	// Hood are the velocities along the hood, as far as they are measured, by the
	// channels HoodAt.
	Hood   ventilation.Hood
	HoodAt Hood
	// MakeUp sets the supply against the exhaust; nil unless both are measured.
	MakeUp *MakeUpView
	// Estimate is what a model says of the acetic acid, nil unless it is switched on.
	Estimate *EstimateView
	// Trend is how the flow has changed over the sessions of weeks; empty while there are too few.
	Trend phrase.Sentence
	// Basis says on which readings a known flow rests.
	Basis phrase.Sentence
	// Weak is the place of the hood that draws too little while enough air moves.
	Weak ventilation.Optional[ventilation.SignKind]
	// MayStand is set when readings disagree and one of them says that no air moves.
	MayStand bool
	// Contradictions in what is known of the air, each with what to look at.
	Contradictions []ventilation.Contradiction
	// FanStop is when the fan is expected to stop by itself; nil unless a timer is recognised.
	FanStop *FanStop
}

// LineView is one serial line as the keeper sees it.
type LineView struct {
	Line   Line
	Status sensors.LineStatus
	alarm  string // the name of its alarm
}

// HistoryView says whether readings and acts are being kept.
type HistoryView struct {
	Kept     bool
	Sentence phrase.Sentence // what is wrong and what to do, empty when kept
	// Broken is the first record of the book that does not hold; empty while none is known.
	Broken phrase.Sentence
}

// AlarmView is one alarm as it may be shown.
type AlarmView struct {
	ID    string          // stable, such as "air" or "line:trays"
	State string          // the state's name in words
	Text  phrase.Sentence // what is wrong
	Act   phrase.Sentence // what to do
	Since time.Time       // UTC
	// Over says what was wrong and from when to when; empty while it lasts.
	Over phrase.Sentence
	// Urgent is set when somebody must act now, and so never once the cause is over.
	Urgent bool
	// Acknowledged is set once somebody has said that he saw it.
	Acknowledged bool
	// By and Note belong to the last act of a person: who, and what was done or why.
	By, Note string
	// Until is the end of the shelving; zero for an alarm that is not shelved. UTC.
	Until time.Time
}

// Kinds of event, as the record book names them.
const (
	AirState        = "air state"
	ChannelQuality  = "channel quality"
	LineState       = "line state"
	DevelopmentTime = "development time"
	AlarmChange     = "alarm"
	AlarmsArmed     = "alarms armed"
	// FanRun is a run of the fan seen from its start to its stop.
	FanRun = "fan run"
	// SessionPhase is a phase of a session that began, SessionCounts what was counted so far.
	SessionPhase  = "session"
	SessionCounts = "session counts"
	// ComplaintReadings is what the probes read when somebody complained.
	ComplaintReadings = "readings at a complaint"
	// FindingOffered is a finding from the readings that waits for a person's judgement.
	FindingOffered = "finding offered"
)

// Event is a change worth a record. It is recorded before it is shown.
type Event struct {
	Kind string `json:"-"` // the record's kind
	// Person is set when somebody's act brought it about.
	Person string `json:"-"`
	// Subject is the room, bath, line, channel or alarm that changed.
	Subject string `json:"subject"`
	From    string `json:"from"`
	To      string `json:"to"`
	// Cause says what it rests on: readings, batch, limit in force, rule.
	Cause string `json:"cause"`
	// Begun is when the new state truly began, such as the last good reading before a silence; UTC.
	Begun time.Time `json:"begun,omitzero"`
	// Alarm is the alarm after the change, enough to bring it back after a restart.
	Alarm *alarm.Alarm `json:"alarm,omitempty"`
	// Run is a run of the fan, Session the evening after the change.
	Run     *ventilation.Run `json:"run,omitempty"`
	Session *session.Session `json:"session,omitempty"`
	// Finding is what the readings gave away.
	Finding *truth.Finding `json:"finding,omitempty"`
}
