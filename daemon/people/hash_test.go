package people

import (
	"context"
	"errors"
	"net/netip"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// Test vectors of the reference implementation of Argon2 (P-H-C/phc-winner-argon2,
// src/test.c, version 0x13), as several other libraries repeat them.
func TestAPasswordIsDerivedAsTheReferenceImplementationDoes(t *testing.T) {
	for _, kept := range []string{
		"$argon2id$v=19$m=256,t=2,p=1$c29tZXNhbHQ$nf65EOgLrQMR/uIPnA4rEsF5h7TKyQwu9U1bMCHGi/4",
		"$argon2id$v=19$m=256,t=2,p=2$c29tZXNhbHQ$bQk8UB/VmZZF4Oo79iDXuL5/0ttZwg2f/5U52iv1cDc",
	} {
		h := newHasher(UsualCost())
		fits, err := h.fits(context.Background(), "password", kept)
		require.NoError(t, err)
		require.True(t, fits)
		fits, err = h.fits(context.Background(), "Password", kept)
		require.NoError(t, err)
		require.False(t, fits)
	}
}

func TestANewPasswordCostsWhatIsAskedForAndHasASaltOfItsOwn(t *testing.T) {
	h := newHasher(UsualCost())
	kept, err := h.keep(context.Background(), "four invented words")
	require.NoError(t, err)
	require.True(t, strings.HasPrefix(kept, "$argon2id$v=19$m=19456,t=2,p=1$"), kept)
	again, err := h.keep(context.Background(), "four invented words")
	require.NoError(t, err)
	require.NotEqual(t, kept, again)
}

func TestOnlyAFewHashesAreComputedAtATime(t *testing.T) {
	h := newHasher(UsualCost())
	for range atOnce {
		h.slots <- struct{}{}
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := h.keep(ctx, "four invented words")
	require.ErrorIs(t, err, errBusy)
}

func TestNobodyWithoutAPasswordIsLetInByNone(t *testing.T) {
	h := newHasher(Cost{Memory: 64, Time: 1, Lanes: 1})
	for _, typed := range []string{"", "x"} {
		fits, err := h.fits(context.Background(), typed, "")
		require.NoError(t, err)
		require.False(t, fits)
	}
}

func FuzzParseSecret(f *testing.F) {
	f.Add("$argon2id$v=19$m=256,t=2,p=1$c29tZXNhbHQ$nf65EOgLrQMR/uIPnA4rEsF5h7TKyQwu9U1bMCHGi/4")
	f.Add("$argon2id$v=19$m=4294967295,t=2,p=1$c29tZXNhbHQ$nf65EOgLrQMR/uIPnA4rEsF5h7TKyQwu9U1bMCHGi/4")
	f.Add("$$$$$")
	f.Fuzz(func(t *testing.T, text string) {
		s, err := parseSecret(text)
		if err != nil {
			if !errors.Is(err, errSecret) {
				t.Fatal(err)
			}
			return
		}
		if s.String() != text || s.cost.Memory > 256<<10 || s.cost.Time > 16 {
			t.Fatalf("%q was read as %+v", text, s.cost)
		}
	})
}

func FuzzNameAndCode(f *testing.F) {
	f.Add("Ida Example")
	f.Add("\u212bngstrom \u202e")
	f.Fuzz(func(t *testing.T, text string) {
		name, err := tidyName(text)
		if err == nil {
			if again, err := tidyName(name); err != nil || again != name {
				t.Fatalf("%q becomes %q and then %q, %v", text, name, again, err)
			}
			if folded(name) != folded(" "+name+"\t") {
				t.Fatalf("%q is not compared with itself", name)
			}
		}
		if code := tidyCode(text); tidyCode(code) != code {
			t.Fatalf("%q is tidied twice", text)
		}
	})
}

func TestTheMemoryOfTriesIsBounded(t *testing.T) {
	tries := newTries()
	for i := range 3 * mostTried {
		tries.failed(time.Duration(i), triedKeys{account: string(rune(i)) + "account"})
	}
	require.LessOrEqual(t, len(tries.counts), mostTried)
	tries.failed(2*forgottenAfter, triedKeys{account: "fresh"})
	require.Equal(t, 1, tries.counts["fresh"].failed)
}

func TestAHouseholdOfIPv6IsOneAddress(t *testing.T) {
	require.Equal(t, addressKey(netip.MustParseAddr("2001:db8::1")), addressKey(netip.MustParseAddr("2001:db8::ffff:1")))
	require.NotEqual(t, addressKey(netip.MustParseAddr("2001:db8::1")), addressKey(netip.MustParseAddr("2001:db8:0:1::1")))
	require.Equal(t, addressKey(netip.MustParseAddr("192.0.2.1")), addressKey(netip.MustParseAddr("::ffff:192.0.2.1")))
	require.NotEqual(t, addressKey(netip.MustParseAddr("192.0.2.1")), addressKey(netip.MustParseAddr("192.0.2.2")))
}
