package air

import (
	"strconv"
	"strings"
	"time"

	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/session"
)

func readBegin(f *web.FormReader, get func(string) string) rules.Act {
	act := rules.StartSession{Phase: session.Phase(f.Pick(phaseField(), get("phase"), string(session.SetUp), string(session.Open)))}
	act.Title = f.Text(titleField(), get("title"), web.LongestName, false)
	if text := strings.TrimSpace(get("people")); text != "" {
		act.People = readCrowd(f, "people", text)
	}
	act.Until = f.Until(get("until"))
	return act
}

// readCrowd reads how many people there are.
func readCrowd(f *web.FormReader, field, text string) int {
	n, err := strconv.Atoi(strings.TrimSpace(text))
	if err != nil || n < 0 || n > web.MostPeople {
		f.Fail(field, "People: %q is not a whole number from 0 to %d.", web.Clip(text), web.MostPeople)
	}
	return n
}

func readMinutes(f *web.FormReader, text string) time.Duration {
	n, _ := strconv.Atoi(f.Pick(minutesField(), text, shelvings()...))
	return time.Duration(n) * time.Minute
}

// shelvings are for how many minutes an alarm may be put aside.
func shelvings() []string { return []string{"15", "30", "60", "120", "240", "720"} }
