package pack

// Sample is one value of one channel.
type Sample struct {
	// At is in milliseconds since 1970-01-01T00:00:00Z.
	At int64
	// Raw is kept to the last bit.
	Raw float64
	// Grade and Word say how far it may be trusted; the caller knows what they mean.
	Grade uint8
	Word  uint8
}
