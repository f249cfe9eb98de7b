package people

import (
	"encoding/base32"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// The secret of the published values.
const published = "12345678901234567890"

// Source: RFC 4226, appendix D, the column of the truncated values with six digits.
func TestTheCodesOfACounterAreThoseOfRFC4226(t *testing.T) {
	for counter, want := range []string{"755224", "287082", "359152", "969429", "338314", "254676", "287922", "162583", "399871", "520489"} {
		require.Equal(t, want, codeAt([]byte(published), uint64(counter), 6), counter)
	}
}

// Source: RFC 6238, appendix B, the rows of SHA-1: eight digits, of which an account takes six.
func TestTheCodesOfATimeAreThoseOfRFC6238(t *testing.T) {
	for second, want := range map[int64]string{59: "94287082", 1111111109: "07081804", 1111111111: "14050471", 1234567890: "89005924",
		2000000000: "69279037", 20000000000: "65353130"} {
		require.Equal(t, want, codeAt([]byte(published), uint64(second/30), 8), second)
		s := secondStep{Key: base32.StdEncoding.EncodeToString([]byte(published))}
		step, right := s.stepOf(want[2:], time.Unix(second, 0))
		require.True(t, right, second)
		require.Equal(t, second/30, step)
	}
}

func TestACodeCountsAStepEarlyOrLateAndNeverTwice(t *testing.T) {
	s := secondStep{Key: newAppKey()}
	key, err := base32.StdEncoding.DecodeString(s.Key)
	require.NoError(t, err)
	require.Len(t, key, 20)
	now := time.Unix(1_800_000_015, 0)
	for off, want := range map[int64]bool{-2: false, -1: true, 0: true, 1: true, 2: false} {
		_, right := s.stepOf(codeAt(key, uint64(now.Unix()/30+off), 6), now)
		require.Equal(t, want, right, off)
	}
	s.Last = now.Unix() / 30
	for off, want := range map[int64]bool{-1: false, 0: false, 1: true} {
		_, right := s.stepOf(codeAt(key, uint64(now.Unix()/30+off), 6), now)
		require.Equal(t, want, right, "once a code counted, neither it nor an older one does")
	}
	_, right := secondStep{Key: "no key"}.stepOf("000000", now)
	require.False(t, right)
}

func TestACodeForALostPhoneCountsOnce(t *testing.T) {
	codes, kept := newRecovery()
	require.Len(t, codes, recoveryCodes)
	s := secondStep{Recovery: kept}
	require.NotContains(t, kept, codes[3])
	require.True(t, s.useRecovery(tidyCode(codes[3])))
	require.False(t, s.useRecovery(tidyCode(codes[3])))
	require.Len(t, s.Recovery, recoveryCodes-1)
}
