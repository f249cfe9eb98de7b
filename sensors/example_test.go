package sensors_test

import (
	"fmt"
	"time"

	"wetside/sensors"
	"wetside/sensors/quantity"
)

func ExampleGate() {
	celsius, err := quantity.ParseUnit("C")
	if err != nil {
		fmt.Println(err)
		return
	}
	traits, _ := sensors.BathTemperature.Traits()
	gate := sensors.NewGate(sensors.Channel{ID: "developer", Kind: sensors.BathTemperature, Unit: celsius, Traits: traits})
	at := sensors.Instant{Wall: time.Date(2030, 1, 7, 19, 0, 0, 0, time.UTC)}
	for _, value := range []float64{85, 20.1, -127, 29.5, 20.2} {
		r := gate.Judge(sensors.Measurement{Value: value}, at)
		fmt.Printf("%v %v %q\n", value, r.Grade, r.Reason)
		at.Mono += time.Second
	}
	// Output:
	// 85 suspect "power-on value"
	// 20.1 good ""
	// -127 suspect "out of range"
	// 29.5 suspect "jump"
	// 20.2 good ""
}
