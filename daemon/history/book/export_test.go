package book

// ParseSlowly reads a record without the shorter way that most records take.
func ParseSlowly(text string) (Record, error) { return parse(text) }

// Quick is the shorter way.
func Quick(text string) (Record, bool) { return quick(text) }
