// Package campaign says how long the tests run that try the daemon's patience:
// programs killed at random, disks that fail, wires that lie, rooms that never
// rest. Each has a short form, which runs with every other test, and a long one,
// which a person asks for with the environment variable [Variable].
//
// # The long forms
//
//	WETSIDE_CAMPAIGN=1000 go test ./daemon/wetside -run TestNothingIsLostWhenTheWholeProgram -v -parallel 4 -timeout 2h
//
//	WETSIDE_CAMPAIGN=1000 go test ./daemon/history -run 'Acknowledged|MigrationThatIsKilled|DiskThatFails|PowerCut' -v -timeout 2h
//	WETSIDE_CAMPAIGN=10000 go test ./daemon -run TestWhateverHappensOnTheWire -v -timeout 1h
//	WETSIDE_CAMPAIGN=98 go test ./daemon -run TestWeeksPass -v -timeout 1h
//	WETSIDE_CAMPAIGN=600 go test ./daemon -run 'TestAFullHouse|TestFiftyRooms' -v
//	WETSIDE_CAMPAIGN=500 go test ./daemon/campaign/agreement -run TestEveryReaderGivesTheSameAnswer -v -timeout 2h
//	WETSIDE_CAMPAIGN=200 go test ./daemon/uplink -run TestNothingIsLostOrCountedTwiceWhatever -v -timeout 1h
//	WETSIDE_CAMPAIGN=50 go test ./daemon/uplink -run TestNothingIsLostOrCountedTwiceInATerm -v -timeout 2h
//
// Each prints what it found. What is tried, and what may be lost at most:
//
//   - The program is killed while it starts, serves pages, takes forms, seals, reports,
//     exports, verifies or copies: no acknowledged form; of the samples at most the second
//     that waits for the next tick.
//   - Killed in a migration, or after its copy: nothing; the next start does the step again.
//   - Stopped while months of readings wait to be sealed: nothing, and the stop does not wait
//     for them.
//   - The power is cut, also after a sync failed (a disk under SQLite that keeps what was
//     synced and of the rest each sector by chance): no acknowledged record; at most a second
//     of samples.
//   - The disk is full, read-only, torn or fails to read, write, sync or truncate: nothing
//     acknowledged; what was refused is a gap, the board says so, and writing resumes by
//     itself.
//   - A sync takes 500 ms: nothing; readings are shown as before, a form waits for the disk.
//   - Plugs pulled and back under another number, half lines, floods, flipped bits, wrong
//     speed, repeated and reordered frames, two talkers, another master (pseudo-terminals): no
//     wrong value shown or stored, none shown beyond its longest silence. XDR has a check of
//     eight bits, so there one bit flips at a time: more can pass by chance, and then only the
//     gate is left.
//   - The wall clock is set both ways, the night of the clock change, 49 days of monotonic
//     time, a computer that sleeps: nothing; each step is a record, and no value from before
//     is shown as live.
//   - A loop hangs: the service manager's watchdog starts the daemon again.
//   - Messages to a centre and its answers are lost, sites and the centre stop and start, the
//     centre is put back to an older copy of its database: nothing; in the end it has every
//     row of every site and no other.
//   - Fifty sites send at once for a term while their network is cut, slow or loses messages,
//     the program at the centre or its database server is killed, and a dump of an hour ago is
//     put back: the same; what the centre had answered for is there after each kill.
//   - Weeks pass: memory and goroutines as before.
package campaign

import (
	"os"
	"strconv"
	"testing"
)

// Variable names the environment variable that makes a campaign long: the number
// of kills, faults or events it is to try. Empty means the short form.
const Variable = "WETSIDE_CAMPAIGN"

// Size is how many things a campaign tries: short, unless the environment asks for another number.
func Size(t testing.TB, short int) int {
	t.Helper()
	text := os.Getenv(Variable)
	if text == "" {
		return short
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 {
		t.Fatalf("%s=%q is not usable: expected a whole number of 1 or more", Variable, text)
	}
	return n
}
