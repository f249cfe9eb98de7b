package past

import (
	"time"

	"wetside/rules/breathing"
	"wetside/sensors"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// GasCourse sums up by the minute what the probe of a gas read over a session, and sets it
// against the limits that were in force then, as the rules do while a session runs.
type GasCourse struct {
	Gas
	// Channel is the channel by the settings of the session's day.
	Channel Channel
	sensor  sensors.Channel
	probe   breathing.Probe
	begun   time.Time
	nanos   int64 // begun in nanoseconds
	length  time.Duration
	within  milliSpan
	course  breathing.Course
}

// GasCourse begins the course of a gas of the session's room; false where its channel has
// left the settings.
func (e Evening) GasCourse(g Gas) (*GasCourse, bool) {
	c := e.Settled.Channel(g.ID)
	if _, err := quantity.ParseUnit(c.Unit); err != nil {
		return nil, false
	}
	span, sensor := e.Span(), c.Sensor()
	return &GasCourse{Gas: g, Channel: c, sensor: sensor, begun: span.From, nanos: span.From.UnixNano(), length: span.Length(),
		within: milliSpan{span.From.UnixMilli(), span.To.UnixMilli()},
		probe: breathing.Probe{Sensor: breathing.Sensor{Resolution: g.Resolution, Detection: g.Detection, FullScale: g.FullScale},
			Silence: sensor.Silence}, course: breathing.Begin(0)}, true
}

// Read goes on by a reading; those of another time are passed over.
func (g *GasCourse) Read(r Reading) {
	if g.within.holds(r) {
		since := time.Duration(r.UnixMilli*int64(time.Millisecond) - g.nanos)
		g.course.Take(&g.probe, since, breathing.Reading{Value: value(&g.sensor, r), Good: r.Good})
	}
}

// Sensor is what the sensor can tell.
func (g *GasCourse) Sensor() breathing.Sensor { return g.probe.Sensor }

// Minutes are the minutes of the session, the last one too where it is cut short. A limit of
// which nothing was measured is judged too: whether the air was within it can't be told.
func (g *GasCourse) Minutes() []breathing.Minute {
	end := g.length
	if rest := end % time.Minute; rest > 0 {
		end += time.Minute - rest // so that the last minute is complete too
	}
	g.course.Stop(&g.probe, end)
	return g.course.Minutes()
}

// Judge sets the minutes against every limit in force when the session began: the worst
// average of the session for each.
func (g *GasCourse) Judge(minutes []breathing.Minute, vouched breathing.Vouched) ([]breathing.Finding, error) {
	ppm, err := quantity.ParseUnit("ppm")
	if err != nil {
		return nil, err
	}
	judged := breathing.Gas{Agent: breathing.Agent{Name: g.Agent, MolarMass: quantity.GramPerMole(g.MolarMass)}, Unit: ppm,
		Sensor: g.probe.Sensor, Vouched: vouched}
	var list []breathing.Finding
	laid := map[bool]breathing.Tape{} // of the highest values, and of the means
	for _, row := range g.InForce(g.begun) {
		tape, known := laid[row.Kind == breathing.Ceiling]
		if !known {
			if tape, err = g.probe.Lay(minutes, g.length, row.Kind); err != nil {
				return nil, phrase.Errorf("the readings of %s: %w", g.Agent, err)
			}
			laid[row.Kind == breathing.Ceiling] = tape
		}
		judged.Tape = tape
		found, err := judged.Judge(row)
		if err != nil {
			return nil, phrase.Errorf("the limits of %s: %w", g.Agent, err)
		}
		list = append(list, found)
	}
	return list, nil
}
