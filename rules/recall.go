package rules

import (
	"encoding/json"
	"time"

	"wetside/rules/alarm"
	"wetside/rules/record"
	"wetside/rules/truth"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// Recorded is a record of the book.
type Recorded = record.Record

// acts lists every act by the kind of its record, with how it is read.
func acts() map[string]func(json.RawMessage) (Act, error) {
	return map[string]func(json.RawMessage) (Act, error){
		FillTray{}.Kind():         unmarshalAct[FillTray],
		EmptyTray{}.Kind():        unmarshalAct[EmptyTray],
		AnnounceTime{}.Kind():     unmarshalAct[AnnounceTime],
		CoverTray{}.Kind():        unmarshalAct[CoverTray],
		AcknowledgeAlarm{}.Kind(): unmarshalAct[AcknowledgeAlarm],
		ResetAlarm{}.Kind():       unmarshalAct[ResetAlarm],
		ShelveAlarm{}.Kind():      unmarshalAct[ShelveAlarm],
		DisableAlarm{}.Kind():     unmarshalAct[DisableAlarm],
		RestoreAlarm{}.Kind():     unmarshalAct[RestoreAlarm],
		RecordDrill{}.Kind():      unmarshalAct[RecordDrill],
		TestSounder{}.Kind():      unmarshalAct[TestSounder],
		StartSession{}.Kind():     unmarshalAct[StartSession],
		EndSession{}.Kind():       unmarshalAct[EndSession],
		ReportComplaint{}.Kind():  unmarshalAct[ReportComplaint],
		CommissionAir{}.Kind():    unmarshalAct[CommissionAir],
		TestAirChanges{}.Kind():   unmarshalAct[TestAirChanges],
		RequireAir{}.Kind():       unmarshalAct[RequireAir],
		LimitGas{}.Kind():         unmarshalAct[LimitGas],
		ConfirmClock{}.Kind():     unmarshalAct[ConfirmClock],

		truth.FitProbe{}.Kind():       unmarshalAct[truth.FitProbe],
		truth.RemoveProbe{}.Kind():    unmarshalAct[truth.RemoveProbe],
		truth.CheckProbe{}.Kind():     unmarshalAct[truth.CheckProbe],
		truth.SetCorrection{}.Kind():  unmarshalAct[truth.SetCorrection],
		truth.HandReading{}.Kind():    unmarshalAct[truth.HandReading],
		truth.ConfirmFinding{}.Kind(): unmarshalAct[truth.ConfirmFinding],
		truth.DismissFinding{}.Kind(): unmarshalAct[truth.DismissFinding],
	}
}

// ProbeKinds lists the kinds of record that tell of probes.
func ProbeKinds() []string {
	return []string{truth.FitProbe{}.Kind(), truth.RemoveProbe{}.Kind(), truth.CheckProbe{}.Kind(), truth.SetCorrection{}.Kind(), truth.HandReading{}.Kind(),
		truth.ConfirmFinding{}.Kind(), truth.DismissFinding{}.Kind(), FindingOffered}
}

// RecalledKinds lists the kinds of record from which a board is brought back.
func RecalledKinds() []string {
	return append(ProbeKinds(), FillTray{}.Kind(), EmptyTray{}.Kind(), CoverTray{}.Kind(), AnnounceTime{}.Kind(), AcknowledgeAlarm{}.Kind(), ResetAlarm{}.Kind(), ShelveAlarm{}.Kind(),
		DisableAlarm{}.Kind(), RestoreAlarm{}.Kind(), StartSession{}.Kind(), EndSession{}.Kind(), CommissionAir{}.Kind(), RequireAir{}.Kind(), LimitGas{}.Kind(), AlarmChange, FanRun, SessionPhase)
}

// LatelyKinds lists the kinds of record that matter for a few days alone, however long
// the book is; they are recalled after those of [RecalledKinds].
func LatelyKinds() (kinds []string, within time.Duration) {
	return []string{SessionCounts}, 48 * time.Hour
}

// Recall brings one record back onto the board; records come in the order of their
// numbers. A record that no longer makes sense is passed over: it stays in the book.
func Recall(board Board, r Recorded) Board {
	switch r.Kind {
	case AlarmChange, FanRun, SessionPhase, SessionCounts, FindingOffered:
		return recallEvent(board, r)
	}
	act, err := DecodeAct(r.Kind, r.Content)
	if err != nil {
		return board
	}
	after, err := Apply(board, Done{Command{Person: r.Person, Act: act}, r.Number, r.At}, sensors.Instant{Wall: r.At})
	if err != nil {
		return board
	}
	after.Memory.acted = nil // on record already
	return after
}

// AlarmTransitions reads the life of the alarms from their records, for [alarm.Count].
func AlarmTransitions(records []Recorded) []alarm.Transition {
	var list []alarm.Transition
	for _, r := range records {
		var e Event
		if r.Kind != AlarmChange || json.Unmarshal(r.Content, &e) != nil || e.Alarm == nil {
			continue
		}
		list = append(list, alarm.Transition{ID: e.Subject, From: alarm.State(e.From), To: alarm.State(e.To),
			At: sensors.Instant{Wall: r.At}, Cause: phrase.Plain(e.Cause), Alarm: *e.Alarm})
	}
	return list
}

func recallEvent(board Board, r Recorded) Board {
	var e Event
	if json.Unmarshal(r.Content, &e) != nil {
		return board
	}
	m := &board.Memory
	switch {
	case r.Kind == AlarmChange && e.Alarm != nil && e.Alarm.ID != "":
		m.Alarms = m.Alarms.Restore(*e.Alarm)
		if e.Alarm.ID == lowAlarm || e.Alarm.ID == airAlarm {
			m.air.recall(m.Alarms)
		}
	case r.Kind == FindingOffered && e.Finding != nil:
		board.Probes = board.Probes.Offered(e.Finding.Recalled())
	case r.Kind == FanRun && e.Run != nil && e.Run.Length() > 0:
		m.air.fan = m.air.fan.with(*e.Run)
	case e.Session != nil && r.Kind == SessionPhase:
		m.addSession(*e.Session)
	case e.Session != nil && r.Kind == SessionCounts && m.Session.Begun.Equal(e.Session.Begun) && e.Session.Tally.To.After(m.Session.Tally.To):
		m.Session = *e.Session
	}
	return board
}

// DecodeAct reads an act from the content of its record.
func DecodeAct(kind string, content json.RawMessage) (Act, error) {
	read, known := acts()[kind]
	if !known {
		return nil, phrase.Errorf("unknown kind of record %q", kind)
	}
	return read(content)
}

func unmarshalAct[A Act](content json.RawMessage) (Act, error) {
	var act A
	err := json.Unmarshal(content, &act)
	return act, err
}
