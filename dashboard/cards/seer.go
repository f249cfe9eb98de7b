package cards

import (
	"fmt"
	"net/http"
	"slices"
	"time"

	"wetside/dashboard/web"
	"wetside/rules"
)

// SeerCard asks who saw an alarm that one press on the board answered.
type SeerCard struct {
	Look                web.Look
	Room, Alarm, Raised string
	Text, Pressed       string
	Next, Token         string
	Names               []string
	Nobody              string
}

const (
	// ActNameSeer says who saw an alarm that was answered without a name.
	ActNameSeer = "name-seer"
	// nobody is the answer that nobody remembers who saw the alarm.
	nobody = "nobody remembers"
	// mostSeers is how many alarms are asked about at once: the newest.
	mostSeers = 3
)

// SeerCards asks about the alarms that were seen without a name, the newest first; next is the
// page that the answers lead back to. Nobody is asked who may not answer.
func (f Figures) SeerCards(s *web.Kit, r *http.Request, snap *rules.Snapshot, next string) []SeerCard {
	var list []SeerCard
	names, may := s.Answerers(r)
	for _, u := range slices.Backward(snap.Unnamed) {
		if !may || len(list) == mostSeers {
			break
		}
		list = append(list, SeerCard{Look: web.LookOf(r), Room: snap.Room, Alarm: u.ID, Raised: u.Raised.UTC().Format(time.RFC3339Nano),
			Text:    f.Text(u.Text) + ".",
			Pressed: fmt.Sprintf("Somebody pressed Seen at %s, %s.", u.Screen, f.When(u.Seen)), Next: next, Token: web.NewToken(), Names: names,
			Nobody: nobody})
	}
	return list
}

// NameSeer reads who saw an alarm, by a button or typed.
func NameSeer(f *web.FormReader, t web.Typed) rules.NameSeer {
	act := rules.NameSeer{Alarm: t.Alarm, Saw: f.Name(web.Field{Name: "named", Label: "Who saw the alarm"}, false)}
	raised, err := time.Parse(time.RFC3339Nano, t.More.Get("raised"))
	if act.Raised = raised; err != nil {
		f.Fail("act", "%s", web.Incomplete)
	}
	switch act.Saw {
	case nobody:
		act.Saw = ""
	case "":
		act.Saw = f.Name(web.Field{Name: "saw", Label: "Somebody else"}, true)
	}
	return act
}
