package rules_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules"
	"wetside/rules/session"
	"wetside/rules/ventilation"
	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

func noon() sensors.Instant {
	return sensors.Instant{Wall: time.Date(2026, 10, 14, 12, 0, 0, 0, time.UTC), Mono: time.Hour}
}

// stage is a board of the story room with its lines alive.
func stage() (rules.Room, rules.Board) {
	room, board := storyRoom(), rules.NewBoard()
	for _, l := range room.Lines {
		board.Lines[l.ID] = sensors.LineStatus{ID: l.ID, State: sensors.StateLive}
	}
	board.History.Kept = true
	return room, board
}

func good(id string, v float64, at sensors.Instant) sensors.Reading {
	return sensors.Reading{Channel: sensors.ChannelID(id), At: at, Raw: v, Value: v, Grade: sensors.Good}
}

func ago(d time.Duration) sensors.Instant {
	n := noon()
	return sensors.Instant{Wall: n.Wall.Add(-d), Mono: n.Mono - d}
}

func TestAChannelGivesAValueOnlyWhileItIsFreshAndGood(t *testing.T) {
	suspect := good("dev", 55, noon())
	suspect.Grade, suspect.Reason = sensors.Suspect, sensors.Jump
	for _, c := range []struct {
		name    string
		reading *sensors.Reading
		line    sensors.LineState
		grade   sensors.Grade
		why     string
	}{
		{"never seen", nil, sensors.StateLive, sensors.Missing, "not seen yet"},
		{"fresh", new(good("dev", 20, ago(time.Second))), sensors.StateLive, sensors.Good, "good"},
		{"as old as it may be", new(good("dev", 20, ago(15*time.Second))), sensors.StateLive, sensors.Good, "good"},
		{"older", new(good("dev", 20, ago(16*time.Second))), sensors.StateLive, sensors.Missing, "missing (silent, last heard 16 s ago)"},
		{"not believed", &suspect, sensors.StateLive, sensors.Suspect, "suspect (jump)"},
		{"on a line that is gone", new(good("dev", 20, ago(time.Second))), sensors.StateGone, sensors.Missing,
			"missing (line gone, last heard 1 s ago)"},
		{"on a line that fell silent", new(good("dev", 20, ago(time.Second))), sensors.StateSilent, sensors.Good, "good"},
	} {
		t.Run(c.name, func(t *testing.T) {
			room, board := stage()
			board.Lines["trays"] = sensors.LineStatus{ID: "trays", State: c.line}
			if c.reading != nil {
				board.Take(*c.reading)
			}
			s, _, _ := rules.Evaluate(room, board, noon())
			view := s.Channels[0]
			require.Equal(t, c.grade, view.Grade)
			require.Equal(t, c.why, view.Why().String())
			require.Equal(t, sensors.LineID("trays"), view.Line)
			v, ok := view.Good()
			require.Equal(t, c.grade == sensors.Good, ok)
			if !ok {
				require.Zero(t, v, "a value that is not good is not given away")
				require.Negative(t, s.Newest)
			}
		})
	}
}

// 1.02 m/s at 25 °C and 1500 m by 10·0.0492 Pa is not what is asked here: the conversions
// are checked in ventilation; this checks which probe a room believes, in what order.
func TestTheMostDirectGoodProbeGivesTheFlow(t *testing.T) {
	room, board := stage()
	addChannel(&room, 1, "velocity", "Duct velocity", sensors.DuctVelocity)
	addChannel(&room, 1, "pitot", "Velocity pressure", sensors.VelocityPressure)
	flow := func() *quantity.CubicMetrePerHour {
		s, _, _ := rules.Evaluate(room, board, noon())
		return s.Air.Flow
	}
	require.Nil(t, flow())
	board.Take(good("pitot", 10, noon())) // sqrt(2·10/1.204) = 4.075 m/s at 20 °C and sea level
	require.InDelta(t, 4.075*0.0177*0.9*3600, float64(*flow()), 0.5)
	board.Take(good("velocity", 5, noon()))
	require.InDelta(t, 5*0.0177*0.9*3600, float64(*flow()), 1e-6)
	board.Take(good("flow", 280, noon()))
	require.InDelta(t, 280, float64(*flow()), 1e-9)
	bad := good("flow", 9000, noon())
	bad.Grade, bad.Reason = sensors.Suspect, sensors.OutOfRange
	board.Take(bad)
	require.InDelta(t, 5*0.0177*0.9*3600, float64(*flow()), 1e-6, "the next probe stands in")
}

func TestLimitsComeFromTheCommissionedFlowAndSaySo(t *testing.T) {
	room, board := stage()
	board.Take(good("flow", 250, noon()))
	s, _, _ := rules.Evaluate(room, board, noon())
	// 80 % of the commissioned flow is low (common practice): 240 m³/h; the required 6 changes of 30 m³ are less.
	require.InDelta(t, 240, float64(s.Air.Limits.Low), 1e-9)
	require.Contains(t, s.Air.Limits.Derivation.String(), "commissioned 300.0 m³/h; low below 80 % of it = 240.0 m³/h")
	require.Equal(t, ventilation.Moving, s.Air.State)

	room.Required[0].Value = 9 // 270 m³/h
	s, _, _ = rules.Evaluate(room, board, noon())
	require.Equal(t, ventilation.Low, s.Air.State, "what is required binds where it asks for more")
	require.Contains(t, s.Air.Limits.Derivation.String(), "raised to the required 270.0 m³/h")

	room.Required = nil
	s, _, _ = rules.Evaluate(room, board, noon())
	require.Equal(t, ventilation.Moving, s.Air.State, "a commissioned room may do without a requirement")

	room.Commissioned = rules.Commissioned{}
	s, _, _ = rules.Evaluate(room, board, noon())
	require.Equal(t, ventilation.NotProven, s.Air.State)
	require.Contains(t, s.Air.Sentence.String(), "enter what your code or your house requires")

	board = holds(board, room.Baths[0].ID, rules.Portion{Record: 7, Filled: noon().Wall})
	for minute := range 4 {
		now := ago(time.Duration(-minute) * time.Minute)
		board.Take(good("flow", 250, now))
		s, board.Memory, _ = rules.Evaluate(room, board, now)
	}
	require.Equal(t, "No ventilation requirement is entered", s.Alarms[0].Text.String())
	require.Equal(t, "Enter what your code or your house requires, under Gases and limits.", s.Alarms[0].Act.String(),
		"the probe is as it should be")
}

// The room goes on to the session of the calendar at once; without its end on record the one before would run for ever.
func TestASessionThatSomebodyEndsIsRecordedAsOverAlsoWhereOneIsPlanned(t *testing.T) {
	for _, hours := range []time.Duration{0, 5} { // five hours on, the fan that still runs sets the planned session up
		room, board := stage()
		now := ago(-hours * time.Hour)
		var told []string
		turn := func(act rules.Act) {
			board = do(t, room, board, act, now)
			now.Wall, now.Mono = now.Wall.Add(time.Second), now.Mono+time.Second
			board.Take(good("flow", 250, now))
			var events []rules.Event
			_, board.Memory, events = rules.Evaluate(room, board, now)
			for _, e := range events {
				if e.Kind == rules.SessionPhase {
					told = append(told, e.To)
					require.Equal(t, e.To, string(e.Session.Phase))
				}
			}
		}
		turn(rules.StartSession{Phase: session.Open, Entry: session.Entry{Title: "Afternoon", Session: "class 1"}})
		turn(rules.EndSession{Phase: session.Closed})
		require.Contains(t, told, "closed", hours)
	}
}

func TestATrendNeedsMinutesAndEndsWithAJacket(t *testing.T) {
	room, board := stage()
	room.Baths[0].Band = sensors.Range{Low: 18, High: 24}
	now := sensors.Instant{Wall: noon().Wall}
	look := func(d time.Duration, c float64) rules.BathView {
		now.Mono, now.Wall = now.Mono+d, now.Wall.Add(d)
		board.Take(good("dev", c, now))
		s, memory, _ := rules.Evaluate(room, board, now)
		board.Memory = memory
		return s.Baths[0]
	}
	view := look(time.Second, 22)
	require.Nil(t, view.Trend)
	for i := range 20 {
		view = look(30*time.Second, 22-0.025*float64(i+1)) // 3 K an hour
	}
	require.InDelta(t, -3, *view.Trend, 0.01)
	in, ok := view.Forecast.Leaves()
	require.True(t, ok)
	require.InDelta(t, (21.5-18)/3*60, in.Minutes(), 10, "a straight line is a cooling of which the end is not seen yet")
	view = look(30*time.Second, 24)
	require.Nil(t, view.Trend, "hot water round the tray ends the old trend")
	require.False(t, view.Forecast.Known())
}

// The bath goes T(t) = 17 + 4 exp(-t/90 min); the edge at 18 °C is passed after
// 90 ln 4 = 124.8 min (arithmetic).
func TestTheForecastFollowsTheFirstOrderFitAndCountsDown(t *testing.T) {
	room, board := stage()
	room.Baths[0].Band = sensors.Range{Low: 18, High: 22}
	board = holds(board, room.Baths[0].ID, rules.Portion{Record: 1})
	begin := noon()
	var view rules.BathView
	step := func(d time.Duration) {
		now := sensors.Instant{Wall: begin.Wall.Add(d), Mono: begin.Mono + d}
		board.Take(good("dev", 17+4*math.Exp(-d.Minutes()/90), now))
		s, memory, _ := rules.Evaluate(room, board, now)
		board.Memory, view = memory, s.Baths[0]
	}
	for d := time.Duration(0); d <= 40*time.Minute; d += 10 * time.Second {
		step(d)
	}
	in, ok := view.Forecast.Leaves()
	require.True(t, ok)
	require.InDelta(t, 124.8-40, in.Minutes(), 4)
	require.LessOrEqual(t, view.Forecast.Stay.Earliest, in)
	require.GreaterOrEqual(t, view.Forecast.Stay.Latest, in)
	before := in
	step(40*time.Minute + 10*time.Second)
	in, _ = view.Forecast.Leaves()
	require.Equal(t, 10*time.Second, before-in, "it counts down between two fits")

	board = holds(board, room.Baths[0].ID, rules.Portion{Record: 1, Volume: 2500})
	step(40*time.Minute + 40*time.Second)
	require.False(t, view.Forecast.Known(), "a top-up ends what was known of the cooling")
	require.NotEmpty(t, view.Forecast.Refusal.String())
}

// The mixing valve of a wash wanders: what its water did last says nothing of where it goes. A wash of standing water cools.
func TestRunningWaterHasNoForecast(t *testing.T) {
	for _, standing := range []bool{false, true} {
		room, board := stage()
		room.Baths[0].Role, room.Baths[0].Band = rules.Wash, sensors.Range{Low: 18, High: 22}
		if standing {
			board = holds(board, room.Baths[0].ID, rules.Portion{Record: 1})
		}
		begin := noon()
		var view rules.BathView
		for d := time.Duration(0); d <= 40*time.Minute; d += 10 * time.Second {
			now := sensors.Instant{Wall: begin.Wall.Add(d), Mono: begin.Mono + d}
			board.Take(good("dev", 17+4*math.Exp(-d.Minutes()/90), now))
			s, memory, _ := rules.Evaluate(room, board, now)
			board.Memory, view = memory, s.Baths[0]
		}
		require.Equal(t, standing, view.Forecast.Known())
		require.Equal(t, rules.InBand, view.Band)
	}
}

// A purge counted on a steady flow takes -ln(1 - share)·K/n (CDC text on air changes).
func TestTheCountdownOfASteadyFlowIsTheFormula(t *testing.T) {
	room, board := stage()
	room.Airing = rules.Airing{Remove: 95, Mixing: 3}
	now := sensors.Instant{Wall: noon().Wall}
	var view *rules.PurgeView
	took := time.Duration(0)
	for ; view == nil || !view.Done; took += 5 * time.Second {
		now.Mono, now.Wall = now.Mono+5*time.Second, now.Wall.Add(5*time.Second)
		board.Take(good("flow", 270, now))
		s, memory, _ := rules.Evaluate(room, board, now)
		board.Memory, view = memory, s.Purge
		require.Less(t, took, 4*time.Hour)
	}
	want, err := ventilation.PurgeTime(9, 95, 3)
	require.NoError(t, err)
	require.InDelta(t, want.Minutes(), took.Minutes(), 0.2)
	require.Contains(t, view.Sentence.String(), "done, at least 95 % of the old air has gone")
	for ; float64(view.Removed) < 99.999; took += 5 * time.Second {
		now.Mono, now.Wall = now.Mono+5*time.Second, now.Wall.Add(5*time.Second)
		board.Take(good("flow", 270, now))
		s, memory, _ := rules.Evaluate(room, board, now)
		board.Memory, view = memory, s.Purge
		require.Less(t, took, 24*time.Hour)
	}
	require.Contains(t, view.Sentence.String(), "at least 99 % of the old air has gone", "never all of it")
}

func TestASlowDeclineOverWeeksIsSaid(t *testing.T) {
	room, board := stage()
	for week := range 12 {
		at := noon().Wall.AddDate(0, 0, 7*(week-12))
		tally := session.Tally{Moved: 2 * (300 - 6*float64(week)), FanTime: 2 * time.Hour}
		board = recallEvent(t, board, rules.SessionPhase, rules.Event{Session: &session.Session{Phase: session.Closed, Begun: at, Since: at,
			Tally: tally}})
	}
	board.Take(good("flow", 232, noon()))
	s, _, _ := rules.Evaluate(room, board, noon())
	require.Condition(t, func() bool {
		for _, n := range s.Notices {
			if strings.HasPrefix(n.String(), "The flow declines:") {
				return true
			}
		}
		return false
	}, "%q", s.Notices)
}

func TestAHoodThatDrawsInTheMiddleAloneIsNamed(t *testing.T) {
	room, board := stage()
	for _, place := range []string{"hood-left", "hood-middle", "hood-right"} {
		addChannel(&room, 1, place, "Hood, "+place[5:], sensors.DuctVelocity)
	}
	room.Hood = rules.Hood{Left: "hood-left", Middle: "hood-middle", Right: "hood-right"}
	board.Take(good("hood-left", 0.5, noon()))
	board.Take(good("hood-middle", 0.6, noon()))
	board.Take(good("hood-right", 0.2, noon()))
	s, _, _ := rules.Evaluate(room, board, noon())
	require.Nil(t, s.Air.Flow, "a velocity at the hood is none in the duct")
	require.Len(t, s.Air.Contradictions, 1)
	require.Equal(t, "The hood draws up to 0.60 m/s, but 0.20 m/s at its right end: the trays there get too little extraction.",
		s.Air.Contradictions[0].Sentence.String())
	board.Take(good("hood-right", 0.4, noon()))
	s, _, _ = rules.Evaluate(room, board, noon())
	require.Empty(t, s.Air.Contradictions)
}

// An end of the hood is covered for twenty minutes: the trays there are not proven, an alarm
// tells of it, and the state is recorded.
func TestTraysAtACoveredEndOfTheHoodAreNotProven(t *testing.T) {
	for name, c := range map[string]struct {
		left      []string
		trays     time.Duration
		alarmText string
	}{
		"nobody said which trays are there": {nil, 2 * 20 * time.Minute, "The hood draws too little air at its left end"},
		"one tray is there":                 {[]string{"dev"}, 20 * time.Minute, "The hood draws too little air at its left end"},
	} {
		t.Run(name, func(t *testing.T) {
			y := &year{T: t, dice: rand.New(rand.NewPCG(1, 2)), raised: map[string]int{}, events: map[string]int{}}
			y.room, y.board = stage()
			addChannel(&y.room, 1, "hood-left", "Hood, left", sensors.DuctVelocity)
			addChannel(&y.room, 1, "hood-middle", "Hood, middle", sensors.DuctVelocity)
			y.room.Hood = rules.Hood{Left: "hood-left", Middle: "hood-middle", LeftTrays: c.left}
			y.now = sensors.Instant{Wall: time.Date(2026, 1, 7, 17, 0, 0, 0, time.UTC)}
			y.calm(true)
			y.say["hood-left"], y.say["hood-middle"] = 1.4, 1.5
			y.step(time.Second)
			for _, b := range []string{"dev", "stop"} {
				y.fill(b)
			}
			for range 10 * 4 {
				y.step(15 * time.Second)
			}
			require.Zero(t, y.board.Memory.Session.Tally.Trays.Unproven)
			y.say["hood-left"] = 0.3
			for range 20 * 4 {
				y.step(15 * time.Second)
			}
			tally := y.board.Memory.Session.Tally
			require.InDelta(t, 20, tally.Trays.Unproven.Minutes(), 0.3)
			require.InDelta(t, c.trays.Minutes(), tally.Trays.TrayUnproven.Minutes(), 0.6)
			require.Equal(t, tally.Watched, tally.Known, "the flow in the duct was known all the while")
			require.Equal(t, map[string]int{"hood": 1}, y.raised)
			s, _, _ := rules.Evaluate(y.room, y.board, y.now)
			require.Equal(t, c.alarmText, s.Alarms[0].Text.String())
			require.Equal(t, ventilation.Uneven, s.Air.State)
			require.Equal(t, 2, y.events[rules.AirState], "moving, then uneven")
		})
	}
}

func TestASentenceNamesItsReason(t *testing.T) {
	room, board := stage()
	board.Take(good("flow", 300, ago(10*time.Minute)))
	s, _, _ := rules.Evaluate(room, board, noon())
	require.Equal(t, "Airflow unknown: Exhaust is missing (silent, last heard 10 min ago).", s.Air.Sentence.String())
}

func TestAViewSaysHowLongAValueMayStandStill(t *testing.T) {
	room, board := stage()
	after := map[sensors.ChannelID]time.Duration{"dev": 7 * time.Minute}
	board.FlatAfter = after
	s, _, _ := rules.Evaluate(room, board, noon())
	require.Equal(t, after, s.FlatAfter)
}

// Whoever reads the log or an alarm takes the cause for that of the state which stands beside it.
func TestAnOldErrorIsNoCauseOfWhatALineDoesNow(t *testing.T) {
	room, board := stage()
	causes := map[sensors.LineState]string{}
	for i, state := range sensors.LineStates() {
		board.Lines["gas"] = sensors.LineStatus{ID: "gas", State: state, LastError: phrase.Plain("no such device")}
		var events []rules.Event
		_, board.Memory, events = rules.Evaluate(room, board, at(time.Duration(i)*time.Second))
		for _, e := range events {
			if e.Kind == rules.LineState && e.Subject == "gas" {
				causes[state] = e.Cause
			}
			if e.Kind == rules.DevelopmentTime {
				require.NotContains(t, e.Cause, "()")
			}
		}
	}
	require.Equal(t, map[sensors.LineState]string{sensors.StateOpening: "", sensors.StateWaiting: "", sensors.StateLive: "",
		sensors.StateSilent: "", sensors.StateGone: "no such device"}, causes)
}
