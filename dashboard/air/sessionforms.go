package air

import (
	"strconv"
	"time"

	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/session"
)

func readBegin(f *web.FormReader, _ web.Typed) rules.StartSession {
	act := rules.StartSession{Phase: session.Phase(f.Pick(phaseField, string(session.SetUp), string(session.Open)))}
	act.Title = f.Name(titleField, false)
	if f.Get(peopleField) != "" {
		act.People = readCrowd(f, peopleField)
	}
	act.Until = f.Until(f.Get(untilField))
	return act
}

// readCrowd reads how many people there are.
func readCrowd(f *web.FormReader, field web.Field) int {
	n, err := strconv.Atoi(f.Get(field))
	if err != nil || n < 0 || n > web.MostPeople {
		f.Unread(field, err, "is not a whole number from 0 to %d.", web.MostPeople)
	}
	return n
}

func readMinutes(f *web.FormReader) time.Duration {
	n, _ := strconv.Atoi(f.Pick(minutesField, shelvings()...))
	return time.Duration(n) * time.Minute
}

// shelvings are for how many minutes an alarm may be put aside.
func shelvings() []string { return []string{"15", "30", "60", "120", "240", "720"} }
