package cards

import "time"

// ClockCard is one clock. Left and Over are to the tenth of a second, for a page that counts on by itself.
type ClockCard struct {
	Number int
	BathID string
	Bath   string
	State  string // running, paused, done
	Word   string
	Text   string // the time left, or past the end
	Left   string
	Over   string
	// Follows is what the clock goes by: bath, trend, time or nothing; MovedBy the whole
	// seconds by which its end has moved since the start.
	Follows  string
	MovedBy  int
	Notice   string
	Plain    bool
	Up       bool // it only counts up, from nothing
	Doubted  bool // the computer may have slept meanwhile
	Room     string
	Revision int
	// Act is what the clock's own key does, and Button its word.
	Act, Button string
	// Paper is that of the sheet, Next the bath that the clock calls after this one; both are
	// empty where no paper was chosen. Behind is set behind the developer.
	Paper, Next string
	Behind      bool
	// Until is the time to its end, below zero past it.
	Until time.Duration
}
