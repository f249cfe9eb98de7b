package class

import (
	"time"

	"wetside/chem"
	"wetside/rules"
	"wetside/sensors/quantity/phrase"
)

// wetLine is what follows the developer: how long a print of each paper stays in each bath
// tonight, and whether the white light may go on.
type wetLine struct {
	Rows  []wetStage
	Light string
}

// wetStage is one bath for both papers, resin-coated and fibre-based.
type wetStage struct {
	Name      string
	RC, Fibre wetTime
}

// wetTime is a time, or the dashes of one that is refused. Normal is set for a published time
// at 20 °C where the temperature of tonight is not known.
type wetTime struct {
	Text   string
	Normal bool
}

// wetLine works out the times behind the developer; nil for a room that has no such bath.
func (f figures) wetLine(snap *rules.Snapshot, running int) *wetLine {
	way, line, any := chem.Way{}, chem.Line{}, false
	for _, b := range snap.Baths {
		switch b.Bath.Role {
		case rules.Fixer:
			if any {
				way.TwoBaths = true
			} else {
				line.Fixer = measuredBath(b)
			}
			any = true
		case rules.WashAid:
			way.WashAid = true
		case rules.Wash:
			line.Wash = measuredBath(b)
		}
	}
	if !any {
		return nil
	}
	rc, fibre := line, line
	rc.Way, fibre.Way = way, way
	rc.Way.Paper, fibre.Way.Paper = chem.ResinCoated, chem.FibreDoubleWeight
	out := &wetLine{}
	for _, stage := range []chem.Stage{chem.Stopping, chem.FirstFixing, chem.SecondFixing, chem.Washing} {
		r, known := f.wetTime(rc, stage)
		fb, _ := f.wetTime(fibre, stage)
		if known {
			out.Rows = append(out.Rows, wetStage{f.stageName(stage, way), r, fb})
		}
	}
	sheets := make([]chem.SheetAt, running)
	for i := range sheets {
		sheets[i].Stage = chem.Developing
	}
	_, why := chem.WhiteLight(rc.Times(), sheets)
	out.Light = phrase.Capital(f.Text(why)) + "."
	return out
}

// measuredBath is the temperature of a bath as far as a good probe says it. The probe of an empty
// tray reads the air; wash water stands in no tray.
func measuredBath(b rules.BathView) chem.BathTemperature {
	c, known := b.Temperature()
	if empty := b.Portion == nil && b.Bath.Role != rules.Wash; !known || empty {
		return chem.BathTemperature{}
	}
	return chem.Measured(c, b.Bath.Accuracy)
}

// wetTime is the time of a stage; known is false where the way of the paper has no such stage.
func (f figures) wetTime(line chem.Line, stage chem.Stage) (t wetTime, known bool) {
	published := stageOf(chem.PublishedTimes(line.Way), stage)
	tonight := stageOf(line.Times(), stage)
	if published == nil || tonight == nil {
		return wetTime{}, false
	}
	if tonight.Refusal.IsZero() {
		return wetTime{Text: chem.MinutesSeconds(tonight.Time)}, true
	}
	bath := line.Fixer
	if stage == chem.Washing {
		bath = line.Wash
	}
	if _, measured := bath.Value(); !measured && published.Time > 0 {
		return wetTime{chem.MinutesSeconds(published.Time.Round(time.Second)), true}, true
	}
	return wetTime{}, true
}

func stageOf(times []chem.StageTime, stage chem.Stage) *chem.StageTime {
	for i := range times {
		if times[i].Stage == stage {
			return &times[i]
		}
	}
	return nil
}

// stageName is the short name of a stage on the board.
func (f figures) stageName(s chem.Stage, way chem.Way) string {
	switch {
	case s == chem.Stopping:
		return "stop"
	case s == chem.FirstFixing && way.TwoBaths:
		return "fix 1"
	case s == chem.FirstFixing:
		return "fix"
	case s == chem.SecondFixing:
		return "fix 2"
	}
	return "wash"
}
