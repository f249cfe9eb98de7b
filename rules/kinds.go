package rules

import (
	"encoding/json"

	"wetside/rules/access"
	"wetside/rules/record"
	"wetside/rules/truth"
	"wetside/sensors/quantity/phrase"
)

// Kinds declares every kind of record that the rules write or read. A new act or
// event is added here; all lists of kinds follow from it.
func Kinds() []record.Kind {
	kinds := acts()
	for _, e := range events() {
		kinds = append(kinds, record.Kind{Name: e.name, Decode: record.JSON[Event], Recalled: e.recalled, Least: record.Program,
			Judges: e.judges})
	}
	return kinds
}

// acts declares every act of a room: when it is recalled, and what is judged by it.
func acts() []record.Kind {
	const always, never = record.Always, record.Never
	return []record.Kind{
		act[trayFilled](always, record.Trays), act[trayEmptied](always, record.Trays), act[trayCovered](always, record.Trays),
		act[AnnounceTime](always, record.Trays), act[NameSeer](always, record.Alarms),
		act[StartSession](always, record.Sessions), act[EndSession](always, record.Sessions),
		act[CommissionAir](always, record.Air), act[RequireAir](always, record.Air), act[TestAirChanges](never, record.Nothing),
		act[LimitGas](always, record.Gases), act[StateUnexposed](always, record.Gases), act[ReportComplaint](never, record.Nothing),
		act[RecordDrill](never, record.Nothing), act[TestSounder](never, record.Nothing), act[ConfirmClock](never, record.Clock),
		onAlarm[AcknowledgeAlarm](), onAlarm[ResetAlarm](), onAlarm[ShelveAlarm](), onAlarm[DisableAlarm](), onAlarm[RestoreAlarm](),
		onProbe[truth.FitProbe](), onProbe[truth.RemoveProbe](), onProbe[truth.CheckProbe](), onProbe[truth.SetCorrection](),
		onProbe[truth.HandReading](), onProbe[truth.ConfirmFinding](), onProbe[truth.DismissFinding](),
	}
}

func act[A roomAct](recalled record.Recalled, judges record.Subject) record.Kind {
	return declare[A](recalled, judges)
}

func onAlarm[A alarmAct]() record.Kind { return declare[A](record.Always, record.Alarms) }

func onProbe[A truth.Act]() record.Kind { return declare[A](record.Always, record.Readings) }

func declare[A Act](recalled record.Recalled, judges record.Subject) record.Kind {
	var empty A
	return record.Kind{Name: empty.Kind(), Decode: record.JSON[A], Recalled: recalled, Least: empty.Least(), Judges: judges}
}

// actKinds finds the kind of an act by its name. It is made once, as a book is read act by act,
// and never changed.
var actKinds = func() map[string]record.Kind {
	known := map[string]record.Kind{}
	for _, k := range acts() {
		known[k.Name] = k
	}
	return known
}()

// DecodeAct reads an act from the content of its record.
func DecodeAct(kind string, content json.RawMessage) (Act, error) {
	k, known := actKinds[kind]
	if !known {
		return nil, phrase.Errorf("unknown kind of record %q", kind)
	}
	read, err := k.Decode(content)
	act, ok := read.(Act)
	if !ok {
		return nil, phrase.Errorf("the record of kind %q is not read into an act but into a %T", kind, read)
	}
	return act, err
}

// LeastFor is the lowest role that may enter an act as it is filled in.
func LeastFor(act Act) access.Role {
	if _, ok := inRoom(act); !ok {
		return record.Program
	}
	return act.Least()
}
