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
	goleak.VerifyTestMain(m)
}
