package config_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/configs"
	"wetside/daemon/config"
	"wetside/rules/duty"
)

func TestDutiesAreReadWithTheirInterval(t *testing.T) {
	c, err := config.Parse("site.toml", append([]byte(`[[duty]]
id = "eyewash"
name = "Eyewash activation"
every = "7 days"
owner = "Technician"
room = "practice"
why = "an invented rule of the place"
`), configs.Demo...))
	require.NoError(t, err)
	require.Equal(t, []duty.Duty{{ID: "eyewash", Name: "Eyewash activation", Owner: "Technician", Room: "practice",
		Every: duty.Interval{Days: 7}, Why: "an invented rule of the place"}}, c.Duties[:1])
}

func TestEveryMistakeInADutyIsFound(t *testing.T) {
	_, err := config.Parse("site.toml", append([]byte(`[[duty]]
id = "eyewash"
every = "now and then"
room = "cellar"
[[duty]]
id = "eyewash"
often = true
`), configs.Demo...))
	for _, want := range []string{
		`site.toml:3:1: duty.every: "now and then" is not an interval`, `site.toml:4:1: duty.room: there is no room "cellar"`,
		`duty.owner: is missing`, `duty.why: is missing`, `site.toml:7:1: duty.often: unknown key`, `the duty "eyewash" is described twice`,
	} {
		require.ErrorContains(t, err, want)
	}
}
