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

func acts() []record.Kind {
	return []record.Kind{
		act[trayFilled](), act[trayEmptied](), act[trayCovered](), act[AnnounceTime](), act[NameSeer](),
		act[StartSession](), act[EndSession](),
		act[CommissionAir](), act[RequireAir](), act[LimitGas](), act[StateUnexposed](), act[TestAirChanges](),
		act[ReportComplaint](), act[RecordDrill](), act[TestSounder](), act[ConfirmClock](),
		onAlarm[AcknowledgeAlarm](), onAlarm[ResetAlarm](), onAlarm[ShelveAlarm](), onAlarm[DisableAlarm](), onAlarm[RestoreAlarm](),
		onProbe[truth.FitProbe](), onProbe[truth.RemoveProbe](), onProbe[truth.CheckProbe](), onProbe[truth.SetCorrection](),
		onProbe[truth.HandReading](), onProbe[truth.ConfirmFinding](), onProbe[truth.DismissFinding](),
	}
}

func act[A roomAct]() record.Kind {
	var empty A
	return declare(empty, record.JSON[A])
}

func onAlarm[A alarmAct]() record.Kind {
	var empty A
	return declare(ofAlarm{empty}, record.JSON[A])
}

func onProbe[A truth.Act]() record.Kind {
	var empty A
	return declare(ofProbe{empty}, record.JSON[A])
}

func declare(empty declared, decode func(json.RawMessage) (any, error)) record.Kind {
	return record.Kind{Name: empty.Kind(), Decode: decode, Recalled: empty.recalled(), Least: empty.Least(), Judges: empty.judges()}
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
