// Package campaign says how long the tests run that try the daemon's patience:
// programs killed at random, disks that fail, wires that lie, rooms that never
// rest. Each has a short form, which runs with every other test, and a long one,
// which a person asks for with the environment variable [Variable].
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
