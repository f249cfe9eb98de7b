package simroom

// plug is the probe's end of a line.
type plug interface {
	// say sends to whoever listens, and tells whether anybody does. It never waits:
	// what nobody takes is lost, as on a real line.
	say(p []byte) bool
	// pull takes the plug out; the other end sees the device vanish.
	pull()
	// insert puts it back under the same name.
	insert() error
}

// heard are bytes that came over a line.
type heard struct {
	line string
	data []byte
}

// plugOptions say what a plug belongs to.
type plugOptions struct {
	line  string
	path  string       // what a configuration names
	hears chan<- heard // nil for a line that only speaks
}
