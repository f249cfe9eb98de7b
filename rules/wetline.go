package rules

import (
	"cmp"

	"wetside/chem"
	"wetside/sensors/quantity/phrase"
)

// WetLine is what the times behind the developer depend on now, for prints on a paper: the
// baths that the room has, their temperatures, and the last clearing test of the first fixer.
// A second fixer that stays empty and a wash aid that is not there do nothing for a print.
// It is false for a room that has no fixer.
func (s *Snapshot) WetLine(paper chem.Paper) (chem.Line, bool) {
	line, fixers, filled := chem.Line{Way: chem.Way{Paper: paper}, Condemned: s.condemned(), Own: s.stageTimes.of(paper)}, 0, 0
	for _, b := range s.Baths {
		switch b.Bath.Role {
		case Fixer:
			if b.Portion != nil {
				filled++
			}
			if fixers++; fixers > 1 {
				continue
			}
			line.Fixer, line.Way.FixerShare = b.content(), b.fixerShare()
			if b.Portion != nil && b.Portion.Known != nil {
				line.ClearingFresh, line.ClearingNow = b.Portion.Known.ClearingFresh, b.Portion.Known.ClearingNow
			}
		case WashAid:
			line.Way.WashAid = b.Portion != nil
		case Wash:
			line.Wash = b.content()
		}
	}
	line.Way.TwoBaths = fixers > 1 && filled != 1
	return line, fixers > 0
}

// fixerShare is the share of concentrate in a fixer. Before it is poured, or where a label alone is known of it, it is
// taken as the weaker of the usual dilutions: a print that was fixed too short is found out years later.
func (b BathView) fixerShare() chem.Strength {
	switch {
	case b.Portion == nil:
		return chem.WeakFixer
	case b.Portion.Known == nil:
		return 0
	}
	return cmp.Or(b.Portion.Known.Made, chem.WeakFixer)
}

// StageTimes are what a place goes by behind the developer, at 20 °C, in the stead of the published times.
type StageTimes struct{ RC, Fibre []chem.StageTime }

func (t StageTimes) of(paper chem.Paper) []chem.StageTime {
	if paper == chem.ResinCoated {
		return t.RC
	}
	return t.Fibre
}

// condemned gives the stages whose bath must not be used, each with the reason.
func (s *Snapshot) condemned() map[chem.Stage]phrase.Sentence {
	var found map[chem.Stage]phrase.Sentence
	for stage := chem.Stopping; stage <= chem.Washing; stage++ {
		b := s.bathOf(stage)
		if b == nil {
			continue
		}
		if why, bad := b.condemned(); bad {
			if found == nil {
				found = map[chem.Stage]phrase.Sentence{}
			}
			found[stage] = why
		}
	}
	return found
}

// BehindDeveloper lists the stages of a print on a paper, each with its time now or the reason
// why there is none; nothing for a room that has no fixer.
func (s *Snapshot) BehindDeveloper(paper chem.Paper) []chem.StageTime {
	line, known := s.WetLine(paper)
	if !known {
		return nil
	}
	return line.Times()
}

// StageBath is the bath of the room in which a print is at a stage; false where it has none.
func (s *Snapshot) StageBath(stage chem.Stage) (Bath, bool) {
	if b := s.bathOf(stage); b != nil {
		return b.Bath, true
	}
	return Bath{}, false
}

// bathOf is the bath in which a print is at a stage; nil where the room has none.
func (s *Snapshot) bathOf(stage chem.Stage) *BathView {
	var role Role
	before := 0
	switch stage { // no table: it is asked of every stage at each drawing
	case chem.Stopping:
		role = StopBath
	case chem.FirstFixing:
		role = Fixer
	case chem.SecondFixing:
		role, before = Fixer, 1
	case chem.WashAiding:
		role = WashAid
	case chem.Rinsing, chem.Washing:
		role = Wash
	}
	for i := range s.Baths {
		switch {
		case role == "" || s.Baths[i].Bath.Role != role:
		case before > 0:
			before--
		default:
			return &s.Baths[i]
		}
	}
	return nil
}

// content is the temperature of a bath as far as a good probe says it. The probe of an empty
// tray reads the air; wash water stands in no tray.
func (b BathView) content() chem.BathTemperature {
	c, known := b.Temperature()
	if !known || b.Empty() {
		return chem.BathTemperature{}
	}
	if b.still != nil {
		c = *b.still
	}
	return chem.Measured(c, b.Bath.Accuracy)
}
