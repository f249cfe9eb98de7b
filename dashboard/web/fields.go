package web

// Field is a field of a form: its name, and what a person reads beside the field and in a
// sentence about what was typed there.
type Field struct{ Name, Label string }

// In is a field whose label names the unit too, in brackets.
func (f Field) In(unit string) Field { return Field{f.Name, f.Label + " (" + unit + ")"} }

// WhoField is the field of whoever enters something.
func WhoField() Field { return Field{NameField, "Your name"} }

// DoneField is the field for what somebody did about an alarm.
func DoneField() Field { return Field{"done", "What was done"} }

// WhyField is the field for a reason.
func WhyField() Field { return Field{"why", "Reason"} }

// NoteField is the field for a note.
func NoteField() Field { return Field{"note", "Note"} }

// OnField is the field for a day of the past.
func OnField() Field { return Field{"on", "Day"} }

// whoseField is the field for the code, standard or decision behind a figure.
func whoseField() Field { return Field{"whose", "Source"} }

// EditionField is the field for the edition of a source.
func EditionField() Field { return Field{"edition", "Edition"} }

// effectiveField is the field for the day from which a row is in force.
func effectiveField() Field { return Field{"effective", "In force from"} }
