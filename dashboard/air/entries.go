package air

import (
	"wetside/dashboard/web"
	"wetside/rules"
)

// entered is an act of a room that people enter on a card of its own on the page of alarms.
// A further act of this sort is one more row of [entries], with its fields, beside its type in the rules.
type entered struct {
	id          string // of the card
	title, lead string
	sounds      bool // the card plays the sounds too
	about       web.About
	asks        []web.Ask
	act         web.Act
}

func entries() []entered { return []entered{complaint(), soundTest(), drill()} }

func complaint() entered {
	noticed := web.Field{Name: "complaint", Label: "What do you notice?"}
	about := web.About{Act: "complain", Summary: "Report a smell or bad air", Button: "Report it"}
	return entered{id: "complain", title: "Smell or bad air", about: about,
		lead: "Your nose counts. The readings at this moment are saved with your report.",
		asks: []web.Ask{{Field: noticed, Hint: "such as: sharp smell at the fixer"}},
		act: web.Reads(about.Act, func(f *web.FormReader, _ web.Typed) rules.ReportComplaint {
			return rules.ReportComplaint{What: f.Line(noticed, true)}
		})}
}

func soundTest() entered {
	place := web.Field{Name: "place", Label: "Loudspeaker"}
	heard := web.Field{Name: "heard", Label: "Heard"}
	about := web.About{Act: "sounder", Summary: "Record a sound test", Button: "Save the sound test"}
	return entered{id: "sounds", title: "Sounds", sounds: true, about: about,
		lead: `The board has two sounds: "look" and "act now". Play them, walk through the room, and record whether you heard them.`,
		asks: []web.Ask{{Field: place, Hint: "such as: tablet at the sink"},
			{Field: heard, Choices: []web.Choice{{Value: "yes", Text: "Heard it"}, {Value: "no", Text: "Did not hear it"}}}},
		act: web.Reads(about.Act, func(f *web.FormReader, _ web.Typed) rules.TestSounder {
			return rules.TestSounder{Where: f.Line(place, true), Heard: web.PickOf(f, heard, "yes", "no") == "yes"}
		})}
}

func drill() entered {
	practised := web.Field{Name: "drill", Label: "What was practised"}
	found := web.Field{Name: "found", Label: "Result"}
	about := web.About{Act: "drill", Summary: "Record a drill", Button: "Save the drill"}
	return entered{id: "drills", title: "Drill", about: about,
		lead: "Practise with the people in the room what to do when an alarm comes.",
		asks: []web.Ask{{Field: practised, Hint: "such as: the fan was switched off"}, {Field: found}},
		act: web.Reads(about.Act, func(f *web.FormReader, _ web.Typed) rules.RecordDrill {
			return rules.RecordDrill{What: f.Line(practised, true), Found: f.Line(found, true)}
		})}
}

type entryCard struct {
	ID, Title, Lead string
	Sounds          bool
	Form            web.AskForm
}

func (f figures) entryCards(l web.Look, a web.Attempt) []entryCard {
	var list []entryCard
	for _, e := range entries() {
		list = append(list, entryCard{e.id, e.title, e.lead, e.sounds, f.Asking(l, e.about, a, e.asks...)})
	}
	return list
}

func entryActs() []web.Act {
	var acts []web.Act
	for _, e := range entries() {
		acts = append(acts, e.act)
	}
	return acts
}
