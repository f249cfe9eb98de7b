package cards

// Numeral is a result large enough to be read without glasses. Key names it for a machine, where one reads it.
type Numeral struct{ Value, Unit, Label, Other, Key string }
