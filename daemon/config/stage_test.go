package config_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/chem"
	"wetside/daemon/config"
)

// fixes is a time of the place's own behind the developer.
const fixes = good + `
[[room.stage]]
paper = "RC"
stage = "first fixer"
time = "45s"
at-most = "2m"
source = "invented data sheet"
`

func TestAPlaceHasTimesOfItsOwnBehindTheDeveloper(t *testing.T) {
	site, err := config.Parse("x.toml", []byte(fixes))
	require.NoError(t, err)
	stages := site.Rooms[0].Stages
	require.Empty(t, stages.Fibre)
	require.Len(t, stages.RC, 1)
	require.Equal(t, chem.FirstFixing, stages.RC[0].Stage)
	require.Equal(t, 45*time.Second, stages.RC[0].Time)
	require.Equal(t, 2*time.Minute, stages.RC[0].Most)
	require.Equal(t, chem.OfThePlace, stages.RC[0].Standing)
	line := chem.Line{Way: chem.Way{Paper: chem.ResinCoated}, Fixer: chem.Measured(20, 0), Own: stages.RC}
	require.Equal(t, 45*time.Second, line.Times()[1].Time)
	require.Equal(t, "invented data sheet", line.Times()[1].Source.String())
}

func TestMistakesInATimeBehindTheDeveloper(t *testing.T) {
	for _, m := range []struct{ name, right, wrong, says string }{
		{"a paper that is none", `paper = "RC"`, `paper = "film"`, "expected RC or fibre"},
		{"a bath that is none", `stage = "first fixer"`, `stage = "toner"`,
			"expected stop bath, first fixer, second fixer, rinse, wash aid, wash"},
		{"no time", `time = "45s"`, ``, "room.stage.time: is missing"},
		{"shorter than the time", `at-most = "2m"`, `at-most = "30s"`, "is shorter than the time itself"},
		{"nobody who says so", `source = "invented data sheet"`, ``, "room.stage.source: is missing"},
		{"twice", "[[room.stage]]",
			"[[room.stage]]\npaper = \"RC\"\nstage = \"first fixer\"\ntime = \"1m\"\nsource = \"another\"\n[[room.stage]]",
			"has a time for RC already"},
	} {
		t.Run(m.name, func(t *testing.T) {
			require.Contains(t, fixes, m.right)
			_, err := config.Parse("x.toml", []byte(strings.Replace(fixes, m.right, m.wrong, 1)))
			require.ErrorContains(t, err, m.says)
		})
	}
}
