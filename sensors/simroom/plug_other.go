//go:build !linux

package simroom

// havePseudoTerminals is false: elsewhere the room is reached over in-memory pipes.
func havePseudoTerminals() bool { return false }

func newPtyPlug(o plugOptions) plug { return newPipe(o) }
