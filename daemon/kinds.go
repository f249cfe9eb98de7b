package daemon

import (
	"slices"

	"wetside/chem/ledger"
	"wetside/daemon/history"
	"wetside/daemon/people"
	"wetside/rules"
	"wetside/rules/access"
	"wetside/rules/duty"
	"wetside/rules/past"
	"wetside/rules/record"
	"wetside/rules/screentest"
)

// Kinds puts together every kind of record that this program writes, each declared
// beside its content. One that is declared twice or in part keeps the program from starting.
func Kinds() (record.Registry, error) {
	return record.NewRegistry(slices.Concat(rules.Kinds(), ledger.Kinds(), history.Kinds(), people.Kinds(), ledger.NoteKinds(), []record.Kind{
		duty.Declared(), screentest.Declared(),
		{Name: past.Kind, Decode: record.JSON[past.Site], Recalled: record.Never, Least: record.Program, Judges: record.Place},
		{Name: backupKind, Decode: record.JSON[backupNote], Recalled: record.Never, Least: access.Keeper, Judges: record.Nothing},
	})...)
}
