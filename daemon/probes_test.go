package daemon_test

import (
	"encoding/json"
	"math"
	"regexp"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history"
	"wetside/dashboard/formtest"
	"wetside/rules"
	"wetside/rules/truth"
	"wetside/sensors"
)

const tray sensors.ChannelID = "developer-tray"

// does has a person do something in the room.
func (e *evening) does(act rules.Act) rules.Receipt {
	receipt, err := e.daemon.Do(e.ctx, rules.Command{Room: "practice", Person: "Ida", Act: act})
	require.NoError(e, err)
	return receipt
}

// refuses has a person try what can't be done.
func (e *evening) refuses(act rules.Act) string {
	_, err := e.daemon.Do(e.ctx, rules.Command{Room: "practice", Person: "Ida", Act: act})
	require.Error(e, err)
	return err.Error()
}

// reads is what a channel says and what it counts as.
func (e *evening) reads(id sensors.ChannelID) (raw, value float64, view rules.ChannelView) {
	for _, c := range e.daemon.Now().Rooms[0].Channels {
		if c.Channel.ID == id {
			value, _ = c.Good()
			return c.Raw, value, c
		}
	}
	require.Fail(e, "no such channel")
	return 0, 0, rules.ChannelView{}
}

// becomes lets the room live on, second by second, until something holds.
func (e *evening) becomes(why string, holds func() bool) {
	for range 60 {
		if holds() {
			return
		}
		e.until(e.passed + time.Second)
	}
	require.Fail(e, "it did not become so within a minute", why)
}

// off says whether a channel reads by so much beside what its probe says.
func (e *evening) off(id sensors.ChannelID, by float64) func() bool {
	return func() bool {
		raw, value, view := e.reads(id)
		return view.Grade == sensors.Good && math.Abs(value-raw-by) < 1e-9
	}
}

func TestACheckCorrectsReadingsFromItsMomentOnAndOutlivesARestart(t *testing.T) {
	e := newEvening(t, "0s fill trays; 0s start fan")
	e.until(5 * time.Second)
	e.does(truth.FitProbe{Channel: tray, Probe: "P-1", Accuracy: 0.5})
	e.until(2*time.Minute + 10*time.Second)
	e.becomes("nothing is corrected yet", e.off(tray, 0))
	e.does(truth.CheckProbe{Channel: tray, Method: truth.IcePoint, Uncertainty: 0.1, AsFound: 0.9, Correct: true})
	e.becomes("the correction is in force", e.off(tray, -0.9))
	raw, value, view := e.reads(tray)
	require.Len(t, view.Channel.Corrections, 1)

	_, page := e.get("/rooms/practice/probe/developer-tray/check?method=ice&step=3")
	shown := regexp.MustCompile(`class="big-value">([0-9.]+) `).FindStringSubmatch(page)
	require.NotNil(t, shown)
	mean, err := strconv.ParseFloat(shown[1], 64)
	require.NoError(t, err)
	require.InDelta(t, raw, mean, 0.35, "the two minutes behind it keep the values that they had")

	receipt := e.does(truth.HandReading{Channel: tray, Value: value, With: "glass thermometer", Uncertainty: 0.1})
	e.does(truth.RemoveProbe{Channel: tray, Why: "for a check in ice"})
	e.becomes("it is out of service", func() bool { _, _, view := e.reads(tray); return view.Reason == sensors.OutOfService })
	for range 20 {
		_, _, before := e.reads(tray)
		e.becomes("it is heard in the ice", func() bool { _, _, view := e.reads(tray); return view.LastAt.After(before.LastAt) })
	}
	require.Empty(t, e.now().alarms(), "who took it out knows that it says nothing")
	refitted := e.clock.Now().Wall
	e.does(truth.FitProbe{Channel: tray, Probe: "P-1", Accuracy: 0.5})

	e.end()
	require.NoError(t, <-e.ended)
	e.start()
	e.becomes("the book brings the correction back", e.off(tray, -0.9))
	book := e.daemon.Now().Rooms[0].Probes
	life, _ := book.Life(tray)
	require.Len(t, life.Checks, 1)
	require.False(t, life.Checks[0].Verdict.Passed())

	store := e.stop()
	for _, r := range records(t, store, truth.HandReading{}.Kind()) {
		var h truth.HandReading
		require.NoError(t, json.Unmarshal(r.Content, &h))
		require.Equal(t, receipt.Number, r.Number)
		require.NotNil(t, h.Raw, "what the probe said stands beside it")
		require.InDelta(t, h.Value, *h.Raw-0.9, 0.2)
	}
	gaps, err := store.Gaps(e.ctx, tray, time.Time{}.AddDate(2000, 0, 0), e.clock.Now().Wall)
	require.NoError(t, err)
	require.Equal(t, string(sensors.OutOfService), gaps[0].Cause)
	doubted := 0
	for s, err := range store.Samples(e.ctx, tray, gaps[0].From.Add(2*time.Second), refitted) {
		require.NoError(t, err)
		require.Equal(t, sensors.Suspect, s.Grade, "what it says in ice is kept, and is no reading of its bath")
		doubted++ // on a busy computer some come late, which is another reason
	}
	require.GreaterOrEqual(t, doubted, 3)
}

// suspected says whether the tray's probe gives no value because its readings look wrong.
func (e *evening) suspected() bool {
	_, _, view := e.reads(tray)
	return view.Grade == sensors.Suspect && view.Reason == sensors.LooksWrong
}

// reasonsOf are the reasons with which readings of the tray are kept.
func reasonsOf(e *evening, store *history.Store) map[sensors.Reason]int {
	reasons := map[sensors.Reason]int{}
	for s, err := range store.Samples(e.ctx, tray, e.clock.Now().Wall.Add(-time.Hour), e.clock.Now().Wall) {
		require.NoError(e, err)
		reasons[s.Reason]++
	}
	return reasons
}

func records(t *testing.T, store *history.Store, kinds ...string) []history.Record {
	list, err := store.Records(t.Context(), history.Query{Kinds: kinds})
	require.NoError(t, err)
	require.NotEmpty(t, list)
	return list
}

func TestAFindingIsOfferedOnceTakesItsProbesOutOfUseAndWaitsForAPersonOverARestart(t *testing.T) {
	e := newEvening(t, "0s fill trays; 0s start fan; 13m swap DEV-STP 6h")
	e.until(2 * time.Second)
	e.fillTrays()
	e.until(19 * time.Minute)
	found := e.daemon.Now().Rooms[0].Probes.Waiting()
	require.Len(t, found, 1)
	require.Equal(t, truth.Exchanged, found[0].What)
	e.becomes("nothing rests on it", e.suspected)
	require.Contains(t, e.refuses(truth.ConfirmFinding{Finding: truth.Finding{ID: found[0].ID}}), "reason")
	e.end()
	require.NoError(t, <-e.ended)
	e.start()
	e.until(19*time.Minute + 2*time.Second)
	require.Len(t, e.daemon.Now().Rooms[0].Probes.Waiting(), 1)
	e.becomes("nothing rests on it after a restart either", e.suspected)
	page := formtest.At(t, e.daemon.URL()).Open("/rooms/practice/probes")
	dismissing := page.Form(formtest.Doing("dismiss"), formtest.Having("alarm", found[0].ID)).FillIn("why", "no", "who", "Ida")
	confirming := page.Form(formtest.Doing("confirm"), formtest.Having("alarm", found[0].ID))
	accepted(t, confirming.FillIn("still", "no", "why", "cables crossed after washing", "who", "Ida").Send())
	e.becomes("it is put right", e.off(tray, 0))
	require.Contains(t, dismissing.Send().Problem(), "judged that finding already")
	store := e.stop()
	require.Contains(t, reasonsOf(e, store), sensors.LooksWrong, "the readings are kept with their reason")
	require.Len(t, records(t, store, rules.FindingOffered), 1)
	var kept truth.ConfirmFinding
	require.NoError(t, json.Unmarshal(records(t, store, kept.Kind())[0].Content, &kept))
	require.Equal(t, "cables crossed after washing", kept.Why)
	require.Equal(t, found[0].Text.String(), kept.Finding.Text.String(), "the record says what was confirmed")
}

// TestProgramsAreGivenNoGasBelowZero: its zero is off, the board says, and gives no figure.
func TestProgramsAreGivenNoGasBelowZero(t *testing.T) {
	const gas sensors.ChannelID = "room-acetic-acid"
	e := newEvening(t, "0s fill trays; 0s start fan")
	e.until(5 * time.Second)
	e.does(truth.FitProbe{Channel: gas, Probe: "G-1", Accuracy: 0.5})
	e.until(30 * time.Second)
	e.does(truth.CheckProbe{Channel: gas, Method: truth.ZeroPoint, Uncertainty: 0.1, AsFound: 3, Correct: true})
	e.becomes("the correction is in force", e.off(gas, -3))
	_, list := e.get("/api/channels")
	require.Regexp(t, `"id":"room-acetic-acid"[^}]*"value":null,"at_most":null,"at_least":null,[^}]*"suspect","reason":"below zero`, list)
	_, metrics := e.get("/metrics")
	require.NotRegexp(t, `gas_[a-z_]*ratio\{channel="room-acetic-acid"`, metrics)
	require.Contains(t, metrics, `wetside_channel_up{channel="room-acetic-acid",room="practice"} 0`)
}
