package dashboard_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestASingleKeyIsListedAndCanBeSwitchedOffWhereItWorks holds the pages to criterion 2.1.4 of
// WCAG 2.2 (https://www.w3.org/TR/WCAG22/#character-key-shortcuts): a page that names a key has
// the list with its switch, and the script that obeys the switch before any other hears a key.
func TestASingleKeyIsListedAndCanBeSwitchedOffWhereItWorks(t *testing.T) {
	p := evening(t)
	for path, keys := range map[string]bool{"/rooms/north/board": true, "/rooms/north/timer": true, "/rooms/north/air": false,
		"/rooms/north/alarms": false, "/rooms/north/tonight": false, "/rooms/north/history": false} {
		source := p.get(path).Body.String()
		require.Equal(t, keys, strings.Contains(source, "<kbd>"), "%s names a key", path)
		require.Equal(t, keys, strings.Contains(source, `id="keys-box"`), "%s lists its keys", path)
		require.Equal(t, keys, strings.Contains(source, `type="checkbox" data-keys=""`), "%s has the switch", path)
		require.Equal(t, keys, strings.Contains(source, "/assets/keys.js"), "%s obeys the switch", path)
	}
}
