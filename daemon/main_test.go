package daemon_test

import (
	"fmt"
	"os"
	"testing"

	"go.uber.org/goleak"
)

func TestMain(m *testing.M) {
	if dir := os.Getenv(shelfChild); dir != "" {
		fmt.Fprintln(os.Stderr, takeDownUntilKilled(dir))
		os.Exit(1)
	}
	// A form that came while its room ended waits for an answer for some seconds more.
	goleak.VerifyTestMain(m, goleak.IgnoreAnyFunction("wetside/daemon.(*room).ask"))
}
