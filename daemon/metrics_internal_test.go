package daemon

import (
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestRulesAndDashboardNameMetricsThatExist keeps a rule from waiting for ever for a metric
// that was renamed.
func TestRulesAndDashboardNameMetricsThatExist(t *testing.T) {
	exists := map[string]bool{}
	for name := range newCollector(&Daemon{}).d {
		exists[metricName(name)] = true
	}
	for _, file := range []string{"prometheus-rules.yml", "prometheus-rules-test.yml", "dashboard.json"} {
		text, err := os.ReadFile(filepath.Join("..", "configs", file))
		require.NoError(t, err)
		named := regexp.MustCompile(`wetside_[a-z0-9_]+`).FindAllString(string(text), -1)
		require.Greater(t, len(named), 10, file)
		for _, name := range named {
			require.True(t, exists[strings.TrimSuffix(name, "_bucket")], "%s names %s", file, name)
		}
	}
}

// TestEachRuleIsTried holds the tests of the rules against the rules.
func TestEachRuleIsTried(t *testing.T) {
	rules, err := os.ReadFile(filepath.Join("..", "configs", "prometheus-rules.yml"))
	require.NoError(t, err)
	tried, err := os.ReadFile(filepath.Join("..", "configs", "prometheus-rules-test.yml"))
	require.NoError(t, err)
	for _, rule := range regexp.MustCompile(`- alert: (\w+)`).FindAllStringSubmatch(string(rules), -1) {
		require.Contains(t, string(tried), `alertname="`+rule[1]+`"`)
	}
}

// TestTheDashboardIsWhole reads the definition as a program that draws it would.
func TestTheDashboardIsWhole(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "configs", "dashboard.json"))
	require.NoError(t, err)
	var board struct {
		Title      string
		Templating struct{ List []struct{ Name string } }
		Panels     []struct {
			ID      int
			Title   string
			GridPos struct{ X, Y, W, H int }
			Targets []struct{ Expr string }
		}
	}
	require.NoError(t, json.Unmarshal(text, &board))
	require.NotEmpty(t, board.Panels)
	ids, taken := map[int]bool{}, map[[2]int]string{}
	for _, p := range board.Panels {
		require.False(t, ids[p.ID], p.Title)
		ids[p.ID] = true
		require.NotEmpty(t, p.Targets, p.Title)
		require.LessOrEqual(t, p.GridPos.X+p.GridPos.W, 24, p.Title)
		for x := p.GridPos.X; x < p.GridPos.X+p.GridPos.W; x++ {
			for y := p.GridPos.Y; y < p.GridPos.Y+p.GridPos.H; y++ {
				require.Empty(t, taken[[2]int{x, y}], "%s lies on another panel", p.Title)
				taken[[2]int{x, y}] = p.Title
			}
		}
	}
	variables := map[string]bool{}
	for _, v := range board.Templating.List {
		variables[v.Name] = true
	}
	for _, use := range regexp.MustCompile(`\$\{?([a-z]+)`).FindAllStringSubmatch(string(text), -1) {
		require.True(t, variables[use[1]], "$%s is a variable of the dashboard", use[1])
	}
}
