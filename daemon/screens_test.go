package daemon

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/history"
	"wetside/rules/screentest"
	"wetside/sensors/clocktest"
)

func TestATestOfAScreenIsKnownAgainAfterAStart(t *testing.T) {
	ctx, clock := context.Background(), clocktest.New(time.Date(2026, 10, 14, 17, 0, 0, 0, time.UTC))
	options := history.Options{Dir: t.TempDir(), Clock: clock, Zone: time.UTC, Version: "test"}
	store, err := history.Open(ctx, options)
	require.NoError(t, err)
	s, err := openScreens(ctx, store)
	require.NoError(t, err)
	require.Empty(t, s.ScreenTests())
	after, err := screentest.ParseMarked("7")
	require.NoError(t, err)
	note := screentest.Note{Screen: "lab computer", Brightness: "lowest", Paper: "grade 2", Place: "beside the developer", After: after}
	number, err := s.KeepScreenTest(ctx, "Ida", note)
	require.NoError(t, err)
	_, err = s.KeepScreenTest(ctx, "Ida", screentest.Note{Screen: "lab computer"})
	require.ErrorContains(t, err, "brightness is missing")
	require.NoError(t, store.Close())

	store, err = history.Open(ctx, options)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, store.Close()) })
	s, err = openScreens(ctx, store)
	require.NoError(t, err)
	tests := s.ScreenTests()
	require.Len(t, tests, 1)
	require.Equal(t, note, tests[0].Note)
	require.Equal(t, number, tests[0].Record)
	require.Equal(t, "Ida", tests[0].By)
	require.True(t, tests[0].At.Equal(clock.Now().Wall))
}
