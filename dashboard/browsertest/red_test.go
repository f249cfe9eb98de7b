//go:build browser

package browsertest_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

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

func usual() values { return values{19.4, 19.1, 18.8, 2.9} }

func states() []state {
	return []state{
		{"board-quiet", func(s *site) { s.pour(); s.minutesOf(12, usual(), values{developer: -0.02}) },
			[]string{"MOVING", "Nothing needs doing", "in band", "SIMULATED ROOM"}, []string{"HALT", "CHECK"}},
		{"board-cooling", func(s *site) { s.pour(); s.minutesOf(20, values{20.2, 19.1, 18.8, 2.9}, values{developer: -0.06}) },
			[]string{"falling", "until it leaves"}, []string{"HALT"}},
		{"board-cold", func(s *site) { s.pour(); s.minutesOf(12, values{17.4, 19.1, 18.8, 2.9}, values{}) },
			[]string{"TOO COLD", "CHECK"}, []string{"HALT"}},
		{"board-halt", func(s *site) {
			s.pour()
			s.minutesOf(5, usual(), values{})
			s.minutesOf(2, values{19.4, 19.1, 18.8, 0.02}, values{})
		},
			[]string{"HALT", "STOPPED"}, []string{"MOVING"}},
		{"board-unplugged", func(s *site) {
			s.pour()
			s.minutesOf(5, usual(), values{})
			for range 30 {
				s.clock.Advance(2 * time.Second)
				s.status(sensors.StateGone)
				s.scene.Look(s.clock.Now())
			}
		}, []string{"--.-", "-:--", "NOT PROVEN", "no good reading since"}, []string{"19.4", "18.8"}},
		{"board-nothing-yet", func(*site) {}, []string{"no reading yet", "--.-", "no batch entered"}, []string{"0.0"}},
		{"board-two-developers", func(s *site) {
			second := s.scene.Room.Baths[0]
			second.ID, second.Name = "second", "Warm-tone developer"
			second.Channel = s.scene.Room.Baths[1].Channel
			s.scene.Room.Baths = append([]rules.Bath{s.scene.Room.Baths[0], second}, s.scene.Room.Baths[1:]...)
			s.pour()
			s.scene.Pour("second", rules.Portion{Record: 43, Batch: "WT-3", What: "Warm-tone developer", By: "Ida", Filled: evening()})
			s.minutesOf(12, usual(), values{})
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
				s.keepShowing(t)
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
