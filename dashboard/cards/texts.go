package cards

// Numeral is a result large enough to be read without glasses. Key names it for a machine, where one reads it.
type Numeral struct{ Value, Unit, Label, Other, Key string }

// Fact is a line of what is known, under its name.
type Fact struct{ Name, Text string }

// Option is one choice.
type Option struct {
	Value, Text string
	Picture     string // the name of its drawing, if there is one
	Chosen      bool
}
