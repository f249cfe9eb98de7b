package agreement_test

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/rules"
)

// look asks all readers.
const look = "look"

// names lists what may happen; a look is as likely as three other deeds.
func names() []string {
	return append(slices.Sorted(maps.Keys(deeds())), look, look, look)
}

// deeds are what may happen. The number picks one of several; what can't be done at the
// moment, such as to answer an alarm where none is up, is left undone.
func deeds() map[string]func(e *evening, pick int) {
	list := acts()
	maps.Copy(list, troubles())
	return list
}

// acts are what people enter.
func acts() map[string]func(e *evening, pick int) {
	return map[string]func(e *evening, pick int){
		"mix two fixing baths": func(e *evening, _ int) {
			if e.mixed.IsZero() && e.bath("fixer-1").Portion == nil && e.bath("fixer-2").Portion == nil {
				e.mixesFixers()
			}
		},
		"fix sheets": func(e *evening, pick int) {
			if !e.mixed.IsZero() {
				e.fixes(10 * (pick + 1))
			}
		},
		"enter sheets late": func(e *evening, pick int) {
			if earlier := e.clock.Now().Wall.Add(-5 * time.Minute).Truncate(time.Minute); !e.mixed.IsZero() && earlier.After(e.mixed) {
				e.fixesLate(pick+1, earlier)
			}
		},
		"fill a tray": func(e *evening, pick int) {
			if bath := baths()[pick%3]; e.bath(bath).Portion == nil {
				e.fills(bath)
			}
		},
		"empty a tray": func(e *evening, pick int) {
			e.empties(baths()[pick%3])
		},
		"begin the session": func(e *evening, _ int) {
			if !e.snapshot().Session.Phase.Running() {
				e.opens()
			}
		},
		"end the session": func(e *evening, _ int) {
			if e.snapshot().Session.Phase.Running() {
				for _, bath := range baths() {
					e.empties(bath)
				}
				if !e.mixed.IsZero() {
					return // their trays stay filled
				}
				// What a clock set back does not let anybody empty yet keeps the session open.
				if problem := e.tries(e.here()+"/air", entry{"act": "end"}, entry{"phase": "closed"}); !strings.Contains(problem,
					"rays are still filled") {
					require.Empty(e, problem)
				}
			}
		},
		"answer an alarm": func(e *evening, _ int) {
			for _, a := range e.snapshot().Alarms {
				if !a.Acknowledged {
					e.answers(a.ID)
					return
				}
			}
		},
		"correct sheets":     func(e *evening, pick int) { e.correctsSheets(7 * (pick + 1)) },
		"withdraw sheets":    func(e *evening, _ int) { e.withdrawsSheets() },
		"empty a tray, late": func(e *evening, pick int) { e.emptiesLate(baths()[pick%3]) },
		"correct a probe":    func(e *evening, pick int) { e.corrects("developer-tray", float64(pick+1)/4) },
	}
}

// troubles are what happens to the room, its probes and the computer.
func troubles() map[string]func(e *evening, pick int) {
	lines := []string{"trays", "air", "duct"}
	turns := func(what map[string]bool, line string) { what[line] = !what[line] }
	return map[string]func(e *evening, pick int){
		"the developer is":     func(e *evening, pick int) { e.probes.value["DEV"] = 17 + float64(pick)*1.7 },
		"the air moves by":     func(e *evening, pick int) { e.probes.value["VEL"] = []float64{0, 0.5, 2, 3, 4.2, 4.72}[pick] },
		"the acid is":          func(e *evening, pick int) { e.probes.value["HAC"] = []float64{0.05, 1, 9, 14, 20, 20}[pick] },
		"a line is silent":     func(e *evening, pick int) { turns(e.probes.silent, lines[pick%3]) },
		"a line is garbled":    func(e *evening, pick int) { turns(e.probes.garbled, lines[pick%3]) },
		"a probe stands still": func(e *evening, pick int) { turns(e.probes.still, []string{"DEV", "VEL", "HAC"}[pick%3]) },
		"a plug is pulled":     func(e *evening, pick int) { e.cabinet.unplug(e.wire(lines[pick%3]), true) },
		"a plug is put back":   func(e *evening, pick int) { e.cabinet.unplug(e.wire(lines[pick%3]), false) },
		"the clock is set": func(e *evening, pick int) {
			e.steps([]time.Duration{-17, -3, -1, 2, 9, 64}[pick] * time.Minute)
		},
		"the program starts again": func(e *evening, pick int) { e.restart(time.Duration(1+pick*20) * time.Second) },
	}
}

// empties pours a bath away, unless it is one of two fixing baths that were mixed.
func (e *evening) empties(bath string) {
	if p := e.bath(bath).Portion; p != nil && (e.mixed.IsZero() || bath == "developer") {
		e.shelf("discarded", entry{"container": e.tray(bath), "volume_ml": fmt.Sprintf("%.0f mL", float64(p.Volume)), "emptied": "on",
			"reason": "end of the session", "route": "collected (invented)"})
	}
}

func baths() []string { return []string{"developer", "fixer-1", "fixer-2"} }

// bath is what the board shows of a bath.
func (e *evening) bath(id string) rules.BathView {
	for _, b := range e.snapshot().Baths {
		if b.Bath.ID == e.mark+id {
			return b
		}
	}
	return rules.BathView{}
}
