package daemon

import (
	"os"
	"testing"

	"github.com/stretchr/testify/require"
)

// What is advised is there on the computer that it is advised on.
func TestAdviceNamesWhatTheOperatingSystemHas(t *testing.T) {
	foreign := map[string][]string{
		"linux":   {"Windows", "Win+R", "shortcut"},
		"windows": {"systemctl", "journalctl", "systemd", "sudo", "dialout", "hang-up", "its window", "shortcut", "shell:startup"},
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
	for _, advice := range []string{upkeepOn("windows").Restart, upkeepOn("windows").Reload, upkeepOn("windows").Start} {
		require.Contains(t, advice, "Services", "wetside install makes a service there, as its help says")
	}
}
