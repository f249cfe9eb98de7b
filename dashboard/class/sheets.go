package class

import (
	"slices"
	"time"

	"wetside/chem"
	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/rules"
	"wetside/rules/timers"
)

// paperChoice is a paper that sheets may be started on: with one, the timer calls the whole
// line for each sheet; with none, the developer alone.
type paperChoice struct {
	Value  chem.Paper
	Text   string
	Chosen bool
}

// washLine is the prints on one paper in the wash.
type washLine struct {
	Paper, Sheets string
	Value         chem.Paper
	cards.TimerCard
}

func paperName(p chem.Paper) string {
	return map[chem.Paper]string{chem.ResinCoated: "RC", chem.FibreSingleWeight: "fibre", chem.FibreDoubleWeight: "fibre"}[p]
}

// sheets fills in the paper and the wash; a room without a fixer has no line to call.
func (f figures) sheets(b *timerBoard, snap *rules.Snapshot, v timers.View) {
	if _, any := snap.WetLine(v.Paper); !any {
		return
	}
	offered := []paperChoice{{0, "not set", v.Paper == 0}, {chem.ResinCoated, "RC", v.Paper == chem.ResinCoated},
		{chem.FibreDoubleWeight, "fibre", v.Paper == chem.FibreDoubleWeight}}
	b.Papers = offered
	if at := slices.IndexFunc(offered, func(p paperChoice) bool { return p.Chosen }); at >= 0 {
		b.Paper, b.Other = offered[at].Text, offered[(at+1)%len(offered)]
	}
	for _, w := range v.Wash {
		line := washLine{Paper: paperName(w.Paper), Sheets: web.Count(w.Sheets, "%d sheet", "%d sheets"), Value: w.Paper,
			TimerCard: f.timerCard(timers.Timer{TimerView: w.TimerView})}
		b.Wash = append(b.Wash, line)
	}
}

// behind says where a sheet is behind the developer, and what its own key does there.
func (f figures) behind(card *cards.TimerCard, c timers.Timer, snap *rules.Snapshot) {
	card.Paper = paperName(c.Paper)
	if c.Paper != 0 {
		card.Next = f.nextStage(c, snap)
	}
	if c.Stage == chem.Developing {
		return
	}
	card.Behind, card.Bath, card.BathID = true, f.Word(c.Stage), ""
	if bath, here := snap.StageBath(c.Stage); here {
		card.BathID, card.Bath = bath.ID, bath.Name
	}
	card.Act, card.Button = string(timers.Again), "Goes in now"
	if card.Up {
		card.Act, card.Button = string(timers.Next), "Next bath"
	}
}

// nextStage is the bath that a timer calls after the present one, with its time as it is now.
func (f figures) nextStage(c timers.Timer, snap *rules.Snapshot) string {
	for _, t := range snap.BehindDeveloper(c.Paper) {
		switch {
		case t.Stage <= c.Stage:
		case t.Time > 0:
			return f.Word(t.Stage) + " " + chem.MinutesSeconds(t.Time.Round(time.Second))
		default:
			return f.Word(t.Stage) + ", no time: " + f.Text(t.Refusal)
		}
	}
	return ""
}
