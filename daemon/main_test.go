package daemon_test

import (
	"fmt"
	"os"
	"testing"

	"go.uber.org/goleak"

	"wetside/daemon"
)

func TestMain(m *testing.M) {
	if dir := os.Getenv(shelfChild); dir != "" {
		fmt.Fprintln(os.Stderr, takeDownUntilKilled(dir))
		os.Exit(1)
	}
	daemon.ShareCores() // as the program does
	goleak.VerifyTestMain(m)
}
