package daemon

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// What is advised is there on the computer that it is advised on.
func TestAdviceNamesWhatTheOperatingSystemHas(t *testing.T) {
	foreign := map[string][]string{
		"linux":   {"Windows", "Win+R", "shortcut"},
		"windows": {"systemctl", "journalctl", "systemd", "sudo", "dialout", "hang-up"},
		"darwin":  {"systemctl", "journalctl", "systemd", "dialout", "Windows", "Win+R"},
	}
	for system, never := range foreign {
		keep := upkeepOn(system)
		said := []string{keep.Restart, keep.Reload, keep.Start, keep.Port, keep.File, adviceOnFile(os.ErrPermission, keep),
			checkPort("trays", "/dev/null/none", nil, keep).Do}
		for _, advice := range advices(keep) {
			said = append(said, advice)
		}
		for _, advice := range said {
			require.NotEmpty(t, advice, system)
			for _, word := range never {
				require.NotContains(t, advice, word, system)
			}
		}
	}
	require.Contains(t, strings.Join([]string{upkeepOn("windows").Restart, upkeepOn("windows").Start}, " "), "shell:startup",
		"as wetside install --help says there")
	require.Contains(t, advices(upkeepOn("windows"))["the old configuration stays in force"], "close its window")
}
