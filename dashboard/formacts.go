package dashboard

import (
	"fmt"
	"slices"

	"wetside/rules"
	"wetside/rules/access"
	"wetside/rules/duty"
	"wetside/rules/record"
	"wetside/rules/screentest"
	"wetside/rules/truth"
)

// actKinds says which kind of record each act of a form becomes. It is the one place
// where the name in a form meets a record: who may enter the record may send the form.
func actKinds() map[string]string {
	return map[string]string{
		actFill: rules.FillTray{}.Kind(), actEmpty: rules.EmptyTray{}.Kind(),
		actCover: rules.CoverTray{}.Kind(), actUncover: rules.CoverTray{}.Kind(),
		actBegin: rules.StartSession{}.Kind(), actEnd: rules.EndSession{}.Kind(),
		actAcknowledge: rules.AcknowledgeAlarm{}.Kind(), actReset: rules.ResetAlarm{}.Kind(), actShelve: rules.ShelveAlarm{}.Kind(),
		actDisable: rules.DisableAlarm{}.Kind(), actRestore: rules.RestoreAlarm{}.Kind(),
		actDrill: rules.RecordDrill{}.Kind(), actSounder: rules.TestSounder{}.Kind(), actComplain: rules.ReportComplaint{}.Kind(),
		actRequire: rules.RequireAir{}.Kind(), actRequireChange: rules.RequireAir{}.Kind(), actRequireOff: rules.RequireAir{}.Kind(),
		actLimit: rules.LimitGas{}.Kind(), actLimitOff: rules.LimitGas{}.Kind(),
		actTest: rules.TestAirChanges{}.Kind(), actClock: rules.ConfirmClock{}.Kind(),
		actFit: truth.FitProbe{}.Kind(), actTakeOut: truth.RemoveProbe{}.Kind(), actHand: truth.HandReading{}.Kind(),
		actCheck: truth.CheckProbe{}.Kind(), actCorrect: truth.SetCorrection{}.Kind(),
		actConfirm: truth.ConfirmFinding{}.Kind(), actDismiss: truth.DismissFinding{}.Kind(),
		actDuty: duty.Kind, actScreen: screentest.Kind,
	}
}

// declareActs finds every act of a form among the kinds of record that people enter.
func declareActs() (record.Registry, error) {
	kinds, err := record.NewRegistry(slices.Concat(rules.Kinds(), []record.Kind{duty.Declared(), screentest.Declared()})...)
	if err != nil {
		return record.Registry{}, err
	}
	for act, kind := range actKinds() {
		if kinds.Least(kind) == record.Program {
			return record.Registry{}, fmt.Errorf("nobody may send the act %q of a form: no role may enter a record of the kind %q", act, kind)
		}
	}
	return kinds, nil
}

// leastOf is the lowest role that may send an act of a form; known is false for an act
// that becomes no record, which its route alone decides about.
func (s *Server) leastOf(act string) (least access.Role, known bool) {
	kind, known := actKinds()[act]
	return s.kinds.Least(kind), known
}
