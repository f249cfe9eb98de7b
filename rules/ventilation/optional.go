package ventilation

// Optional is a value that may be unknown. The zero Optional is unknown, so a
// forgotten one never passes for a measurement.
type Optional[T any] struct {
	value T
	known bool
}

// Known makes a known value.
func Known[T any](value T) Optional[T] { return Optional[T]{value: value, known: true} }

// Get gives the value; false where there is none.
func (o Optional[T]) Get() (T, bool) { return o.value, o.known }

// IsKnown says whether there is a value.
func (o Optional[T]) IsKnown() bool { return o.known }
