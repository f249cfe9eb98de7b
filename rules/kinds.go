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

// acts declares every act of a room: the lowest role that may enter it with nothing filled in,
// when it is recalled, and what is judged by it.
func acts() []record.Kind {
	const always, never = record.Always, record.Never
	// all help in an evening, teacher answers for a class, manager for the place: evenings and
	// past readings are judged by what only the manager may enter.
	const none, all, teacher, manager = record.Program, access.Volunteer, access.Instructor, access.Manager
	return []record.Kind{
		act[trayFilled](none, always, record.Trays), act[trayEmptied](none, always, record.Trays),
		act[trayCovered](none, always, record.Trays), act[AnnounceTime](all, always, record.Trays), act[NameSeer](all, always, record.Alarms),
		act[StartSession](all, always, record.Sessions), act[EndSession](all, always, record.Sessions),
		act[CommissionAir](manager, always, record.Air), act[RequireAir](manager, always, record.Air),
		act[TestAirChanges](all, never, record.Nothing), act[LimitGas](manager, always, record.Gases),
		act[StateUnexposed](manager, always, record.Gases), act[ReportComplaint](all, never, record.Nothing),
		act[RecordDrill](all, never, record.Nothing), act[TestSounder](all, never, record.Nothing), act[ConfirmClock](all, never, record.Clock),
		onAlarm[AcknowledgeAlarm](all), onAlarm[ShelveAlarm](teacher), onAlarm[DisableAlarm](manager), onAlarm[RestoreAlarm](teacher),
		onProbe[truth.FitProbe](all), onProbe[truth.RemoveProbe](all), onProbe[truth.CheckProbe](teacher),
		onProbe[truth.SetCorrection](manager), onProbe[truth.HandReading](all), onProbe[truth.ConfirmFinding](all),
		onProbe[truth.DismissFinding](all),
	}
}

func act[A roomAct](least access.Role, recalled record.Recalled, judges record.Subject) record.Kind {
	return declare[A](least, recalled, judges)
}

func onAlarm[A alarmAct](least access.Role) record.Kind {
	return declare[A](least, record.Always, record.Alarms)
}

func onProbe[A truth.Act](least access.Role) record.Kind {
	return declare[A](least, record.Always, record.Readings)
}

func declare[A Act](least access.Role, recalled record.Recalled, judges record.Subject) record.Kind {
	var empty A
	return record.Kind{Name: empty.Kind(), Decode: record.JSON[A], Recalled: recalled, Least: least, Judges: judges}
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
	if a, filled := act.(interface{ Least() access.Role }); filled {
		return a.Least()
	}
	return actKinds[act.Kind()].Least
}
