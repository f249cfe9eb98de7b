//go:build browser

package browsertest_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/viewtest"
	"wetside/rules"
	"wetside/sensors"
)

// state is a room in a state that the red page must show.
type state struct {
	name  string
	make  func(*site)
	shows []string // words on the page
	never []string // what must not be on it
}

func states() []state {
	return []state{
		{"board-quiet", func(s *site) { s.FillTrays(); s.Minutes(12, viewtest.Usual(), viewtest.Values{Developer: -0.02}) },
			[]string{"MOVING", "Nothing needs doing", "in band", "SIMULATED ROOM"}, []string{"HALT", "CHECK"}},
		{"board-cooling", func(s *site) {
			s.FillTrays()
			s.Minutes(20, viewtest.Values{Developer: 20.2, Stop: 19.1, Fixer: 18.8, Duct: 2.9}, viewtest.Values{Developer: -0.06})
		},
			[]string{"falling", "until it leaves"}, []string{"HALT"}},
		{"board-cold", func(s *site) {
			s.FillTrays()
			s.Minutes(12, viewtest.Values{Developer: 17.4, Stop: 19.1, Fixer: 18.8, Duct: 2.9}, viewtest.Values{})
		},
			[]string{"TOO COLD", "CHECK"}, []string{"HALT"}},
		{"board-halt", func(s *site) {
			s.FillTrays()
			s.Minutes(5, viewtest.Usual(), viewtest.Values{})
			s.Minutes(2, viewtest.Values{Developer: 19.4, Stop: 19.1, Fixer: 18.8, Duct: 0.02}, viewtest.Values{})
		},
			[]string{"HALT", "STOPPED"}, []string{"MOVING"}},
		{"board-unplugged", func(s *site) {
			s.FillTrays()
			s.Minutes(5, viewtest.Usual(), viewtest.Values{})
			s.Silence(time.Minute, sensors.StateGone)
		}, []string{"--.-", "-:--", "NOT PROVEN", "no good reading since"}, []string{"19.4", "18.8"}},
		{"board-nothing-yet", func(*site) {}, []string{"no reading yet", "--.-", "no batch entered"}, []string{"0.0"}},
		{"board-two-developers", func(s *site) {
			second := s.Room.Baths[0]
			second.ID, second.Name = "second", "Warm-tone developer"
			second.Channel = s.Room.Baths[1].Channel
			s.Room.Baths = append([]rules.Bath{s.Room.Baths[0], second}, s.Room.Baths[1:]...)
			s.FillTrays()
			s.Pour("second", rules.Portion{Record: 43, Batch: "WT-3", What: "Warm-tone developer", By: "Ida", Filled: viewtest.Evening()})
			s.Minutes(12, viewtest.Usual(), viewtest.Values{})
		}, []string{"Warm-tone"}, nil},
	}
}

func TestEveryStateOfTheBoardIsPureRedAndSaysItsWords(t *testing.T) {
	b := browser(t)
	for _, st := range states() {
		for _, scr := range screens() {
			t.Run(st.name+" "+scr.name, func(t *testing.T) {
				s := newSite(t)
				st.make(s)
				s.keepShowing()
				p := open(t, b, s.host(), scr)
				p.visit(s.server.URL + "/")
				p.eventually(`document.documentElement.dataset.beat !== undefined`, 3*time.Second)
				requireRed(t, p.shoot(st.name, true), st.name)
				text := p.text("main")
				for _, words := range st.shows {
					require.Contains(t, text, words)
				}
				for _, words := range st.never {
					require.NotContains(t, text, words)
				}
				require.LessOrEqual(t, value[float64](p, `document.documentElement.scrollWidth`), float64(scr.width), "nothing sticks out sideways")
				p.blameless()
			})
		}
	}
}
