package history

import (
	"encoding/json"

	"wetside/rules/access"
	"wetside/rules/record"
)

// Kinds declares the kinds of record that the history itself writes. No form asks for
// one; samples are deleted and imported by a keeper at the command line.
func Kinds() []record.Kind {
	keeper := access.Keeper
	return []record.Kind{
		kind[json.RawMessage](KindBookOpened, record.Program, record.Nothing),
		kind[json.RawMessage](KindStarted, record.Program, record.Nothing),
		kind[json.RawMessage](KindStopped, record.Program, record.Nothing),
		kind[json.RawMessage](KindRestored, record.Program, record.Samples),
		kind[json.RawMessage](KindClockStepped, record.Program, record.Clock),
		kind[attested](KindAttested, record.Program, record.Samples),
		kind[Deleted](KindDeleted, keeper, record.Samples),
		kind[json.RawMessage](KindImported, keeper, record.Samples),
	}
}

func kind[T any](name string, least access.Role, judges record.Subject) record.Kind {
	return record.Kind{Name: name, Decode: record.JSON[T], Recalled: record.Never, Least: least, Judges: judges}
}
