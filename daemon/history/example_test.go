package history_test

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"time"

	"wetside/daemon/history"
)

func Example() {
	dir, err := os.MkdirTemp("", "history")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(dir)
	ctx := context.Background()
	clock := newHandClock(time.Date(2026, 10, 14, 19, 15, 0, 0, time.UTC))
	s, err := history.Open(ctx, history.Options{Dir: dir, Clock: clock, Zone: time.UTC, Version: "1.0"})
	if err != nil {
		fmt.Println(err)
		return
	}
	defer s.Close()
	r, err := s.Record(ctx, history.Entry{
		Kind: "eyewash activated", Person: "A. Volunteer", Content: json.RawMessage(`{"minutes": 3}`),
	})
	fmt.Println(r.Number, r.At.Format(time.DateTime), r.Kind, string(r.Content), err)
	report, err := history.Verify(ctx, dir)
	fmt.Println(report.Last.Number, report.Last.Hash == r.Hash, report.Err(), err)
	// Output:
	// 3 2026-10-14 19:15:00 eyewash activated {"minutes":3} <nil>
	// 3 true <nil> <nil>
}
