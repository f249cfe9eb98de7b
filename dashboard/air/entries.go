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
	kind        string
	asks        func() []web.Ask
	read        func(f *web.FormReader) rules.Act
}

func entries() []entered { return []entered{complaint(), soundTest(), drill()} }

func complaint() entered {
	noticed := web.Field{Name: "complaint", Label: "What do you notice?"}
	return entered{id: "complain", title: "Smell or bad air", lead: "Your nose counts. The readings at this moment are saved with your " +
		"report.",
		about: web.About{Act: "complain", Summary: "Report a smell or bad air", Button: "Report it"}, kind: rules.ReportComplaint{}.Kind(),
		asks: func() []web.Ask {
			return []web.Ask{{Field: noticed, Hint: "such as: sharp smell at the fixer"}}
		},
		read: func(f *web.FormReader) rules.Act {
			return rules.ReportComplaint{What: f.Line(noticed, true)}
		}}
}

func soundTest() entered {
	place := web.Field{Name: "place", Label: "Loudspeaker"}
	heard := web.Field{Name: "heard", Label: "Heard"}
	return entered{id: "sounds", title: "Sounds", sounds: true,
		lead:  `The board has two sounds: "look" and "act now". Play them, walk through the room, and record whether you heard them.`,
		about: web.About{Act: "sounder", Summary: "Record a sound test", Button: "Save the sound test"}, kind: rules.TestSounder{}.Kind(),
		asks: func() []web.Ask {
			return []web.Ask{{Field: place, Hint: "such as: tablet at the sink"},
				{Field: heard, Choices: []web.Choice{{Value: "yes", Text: "Heard it"}, {Value: "no", Text: "Did not hear it"}}}}
		},
		read: func(f *web.FormReader) rules.Act {
			return rules.TestSounder{Where: f.Line(place, true), Heard: f.Pick(heard, "yes", "no") == "yes"}
		}}
}

func drill() entered {
	practised := web.Field{Name: "drill", Label: "What was practised"}
	found := web.Field{Name: "found", Label: "Result"}
	return entered{id: "drills", title: "Drill", lead: "Practise with the people in the room what to do when an alarm comes.",
		about: web.About{Act: "drill", Summary: "Record a drill", Button: "Save the drill"}, kind: rules.RecordDrill{}.Kind(),
		asks: func() []web.Ask {
			return []web.Ask{{Field: practised, Hint: "such as: the fan was switched off"}, {Field: found}}
		},
		read: func(f *web.FormReader) rules.Act {
			return rules.RecordDrill{What: f.Line(practised, true), Found: f.Line(found, true)}
		}}
}

type entryCard struct {
	ID, Title, Lead string
	Sounds          bool
	Form            web.AskForm
}

func (f figures) entryCards(l web.Look, a web.Attempt) []entryCard {
	var list []entryCard
	for _, e := range entries() {
		list = append(list, entryCard{e.id, e.title, e.lead, e.sounds, f.entryForm(e, l, a)})
	}
	return list
}

func (f figures) entryForm(e entered, l web.Look, a web.Attempt) web.AskForm {
	return f.Asking(l, e.about, a, e.asks()...)
}

func entryActs() []web.Act {
	var acts []web.Act
	for _, e := range entries() {
		acts = append(acts, web.Act{Name: e.about.Act, Kind: e.kind,
			Read: func(f *web.FormReader, _ web.Typed) rules.Act { return e.read(f) }})
	}
	return acts
}
