package rules_test

import (
	"fmt"
	"time"

	"wetside/rules"
	"wetside/rules/ventilation"
	"wetside/sensors"
)

func ExampleEvaluate() {
	traits, _ := sensors.VolumeFlow.Traits()
	room := rules.Room{ID: "practice", Volume: 30,
		Required: []ventilation.Requirement{{Kind: ventilation.AirChangeRate, Value: 6, Source: "decision of the place"}},
		Channels: []sensors.Channel{{ID: "duct", Name: "Exhaust", Kind: sensors.VolumeFlow, Traits: traits}}}
	board := rules.NewBoard()
	now := sensors.Instant{Wall: time.Date(2026, 10, 14, 18, 0, 0, 0, time.UTC)}

	board.Take(sensors.Reading{Channel: "duct", At: now, Value: 254.5, Grade: sensors.Good})
	snapshot, memory, _ := rules.Evaluate(room, board, now)
	fmt.Printf("%s, %.2f air changes an hour\n", snapshot.Air.State, float64(*snapshot.Air.AirChanges))

	board.Memory = memory
	now.Mono += 16 * time.Second // a tick, and no word from the duct
	snapshot, _, events := rules.Evaluate(room, board, now)
	fmt.Println(snapshot.Air.State)
	fmt.Println(events[0].Kind, "to", events[0].To+":", events[0].Cause)
	// Output:
	// moving, 8.48 air changes an hour
	// not proven
	// air state to not proven: Airflow unknown: Exhaust is missing (silent, last heard 16 s ago).
}
