package config

import (
	"slices"
	"strings"
	"time"

	"wetside/chem"
	"wetside/rules"
	"wetside/sensors/quantity/phrase"
)

// readStage reads how long a print on a paper stays in a bath behind the developer, as the place has it.
func readStage(s section, all *rules.StageTimes) {
	papers := map[string]*[]chem.StageTime{"RC": &all.RC, "fibre": &all.Fibre}
	paper := s.text("paper", true)
	if paper != "" && papers[paper] == nil {
		s.complain("paper", "%q is no paper with times of its own: expected RC or fibre", paper)
	}
	name := s.text("stage", true)
	var stages []string
	t := chem.StageTime{Standing: chem.OfThePlace}
	for stage := chem.Stopping; stage <= chem.Washing; stage++ {
		stages = append(stages, stage.Said().String())
		if stage.Said().String() == name {
			t.Stage = stage
		}
	}
	if name != "" && t.Stage == chem.Developing {
		s.complain("stage", "%q is no bath behind the developer: expected %s", name, strings.Join(stages, ", "))
	}
	t.Time, t.Most = s.duration("time", 0, time.Second, 2*time.Hour), s.duration("at-most", 0, time.Second, 2*time.Hour)
	t.Source = phrase.Plain(s.text("source", true))
	if t.Time == 0 {
		s.complain("time", "is missing: how long a print stays at 20 °C, such as \"1m\"")
	}
	if t.Most > 0 && t.Most < t.Time {
		s.complain("at-most", "is shorter than the time itself")
	}
	list := papers[paper]
	if list == nil {
		return
	}
	if slices.ContainsFunc(*list, func(o chem.StageTime) bool { return o.Stage == t.Stage }) {
		s.complain("stage", "%s has a time for %s already", name, paper)
	}
	*list = append(*list, t)
}
