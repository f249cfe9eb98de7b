package config_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/configs"
	"wetside/daemon/config"
	"wetside/rules/duty"
)

func TestHowLongSamplesAreKeptIsRead(t *testing.T) {
	c, err := config.Parse("site.toml", append([]byte(`[[keep]]
quantities = ["other-gas", "carbon-dioxide"]
for = "30 years"
why = "29 CFR 1910.1020(d)(1)(ii)"
`), configs.Demo...))
	require.NoError(t, err)
	require.Equal(t, []duty.Keeping{{Quantities: []string{"other-gas", "carbon-dioxide"}, For: duty.ExposureUS(),
		Why: "29 CFR 1910.1020(d)(1)(ii)"}}, c.Keeping[:1])
}

func TestEveryMistakeInKeepingIsFound(t *testing.T) {
	_, err := config.Parse("site.toml", append([]byte(`[[keep]]
quantities = ["sulfur-dioxide"]
for = "29 years"
why = "x"
[[keep]]
quantities = ["warmth"]
for = "soon"
[[keep]]
quantities = ["sulfur-dioxide", "bath-temperature"]
for = "1 year"
ever = true
why = "x"
`), configs.Demo...))
	for _, want := range []string{
		"site.toml:3:1: keep.for: 29 years is too short for sulfur-dioxide", "kept for at least 30 years",
		`site.toml:6:1: keep.quantities: unknown quantity "warmth"`, "keep.quantities: name at least one",
		`site.toml:7:1: keep.for: "soon" is not an interval`, "keep.why: is missing",
		`the quantity "sulfur-dioxide" is described twice`, "site.toml:11:1: keep.ever: unknown key",
	} {
		require.ErrorContains(t, err, want)
	}
}
