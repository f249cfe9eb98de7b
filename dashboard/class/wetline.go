package class

import (
	"fmt"
	"slices"
	"time"

	"wetside/chem"
	"wetside/rules"
	"wetside/rules/timers"
	"wetside/sensors/quantity/phrase"
)

// wetLine is what follows the developer: how long a print of each paper stays in each bath
// tonight, and whether the white light may go on.
type wetLine struct {
	Rows  []wetStage
	Light string
}

// Short is the line without what comes between fixer and wash, for pages that are read from afar and have no place for it.
func (l wetLine) Short() wetLine {
	l.Rows = slices.DeleteFunc(slices.Clone(l.Rows), func(s wetStage) bool { return s.Between })
	return l
}

// wetStage is one bath for both papers, resin-coated and fibre-based. At is the temperature of
// published times, named where that of tonight is not known.
type wetStage struct {
	Name, At  string
	RC, Fibre wetTime
	Between   bool // fixer and wash
}

// wetTime is a time, or the dashes of one that is refused. Published is set for one that does
// not follow the temperature of tonight, None where the paper has no such stage.
type wetTime struct {
	Text            string
	Published, None bool
}

// wetLine works out the times behind the developer; nil for a room that has no such bath.
func (f figures) wetLine(snap *rules.Snapshot, running []timers.Timer) *wetLine {
	rc, any := snap.WetLine(chem.ResinCoated)
	fibre, _ := snap.WetLine(chem.FibreDoubleWeight)
	if !any {
		return nil
	}
	out := &wetLine{}
	timeRC, timeFibre := wetTimes(rc), wetTimes(fibre)
	for stage := chem.Stopping; stage <= chem.Washing; stage++ {
		r, fb := timeRC(stage), timeFibre(stage)
		if r.None && fb.None {
			continue
		}
		row := wetStage{Name: f.stageName(stage, rc.Way), RC: r, Fibre: fb, Between: stage == chem.Rinsing || stage == chem.WashAiding}
		if r.Published || fb.Published {
			row.At = f.WholeDegrees(float64(chem.PublishedAt))
		}
		out.Rows = append(out.Rows, row)
	}
	_, why := whiteLight(snap, running)
	out.Light = phrase.Capital(f.Text(why)) + "."
	return out
}

// lineSources says of each time behind the developer what it rests on and what changed it.
func (f figures) lineSources(snap *rules.Snapshot) []string {
	var told []string
	for _, paper := range []chem.Paper{chem.ResinCoated, chem.FibreDoubleWeight} {
		line, any := snap.WetLine(paper)
		if !any {
			return nil
		}
		all := line.Written()
		for i, t := range line.Times() {
			written := all[i]
			from := fmt.Sprintf("%s, %s: %s at %s [%s; %s]", phrase.Capital(f.Word(t.Stage)), paperName(paper),
				chem.MinutesSeconds(written.Time), f.WholeDegrees(float64(chem.PublishedAt)), f.Text(written.Source), f.Word(written.Standing))
			for _, cause := range t.Causes {
				from += "; " + f.Text(cause)
			}
			if !t.Refusal.IsZero() {
				from += "; no time: " + f.Text(t.Refusal)
			}
			told = append(told, from)
		}
	}
	return told
}

// whiteLight says whether the white light may go on while sheets are under way, each by the
// times of its paper; one whose paper nobody has said counts as in front of the fixer.
func whiteLight(snap *rules.Snapshot, running []timers.Timer) (may bool, why phrase.Sentence) {
	for _, c := range running {
		if may, why = chem.WhiteLight(snap.BehindDeveloper(c.Paper), []chem.SheetAt{{Stage: c.Stage, Since: c.Ran}}); !may {
			return may, why
		}
	}
	return chem.WhiteLight(nil, nil)
}

// wetTimes gives the time of each stage.
func wetTimes(line chem.Line) func(chem.Stage) wetTime {
	allPublished, allTonight := line.Written(), line.Times()
	return func(stage chem.Stage) wetTime {
		published, tonight := stageOf(allPublished, stage), stageOf(allTonight, stage)
		if published == nil || tonight == nil {
			return wetTime{None: true}
		}
		if tonight.Refusal.IsZero() {
			return wetTime{Text: chem.MinutesSeconds(tonight.Time)}
		}
		if _, condemned := line.Condemned[stage]; condemned {
			return wetTime{}
		}
		bath := line.Fixer
		if stage == chem.Rinsing || stage == chem.Washing {
			bath = line.Wash
		}
		if _, measured := bath.Value(); !measured && published.Time > 0 {
			return wetTime{Text: chem.MinutesSeconds(published.Time.Round(time.Second)), Published: true}
		}
		return wetTime{}
	}
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
	case s == chem.Rinsing:
		return "rinse"
	case s == chem.WashAiding:
		return "wash aid"
	}
	return "wash"
}
