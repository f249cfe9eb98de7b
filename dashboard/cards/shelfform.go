package cards

// Option is one choice.
type Option struct {
	Value, Text string
	Chosen      bool
}
