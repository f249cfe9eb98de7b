package daemon_test

import (
	"encoding/json"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// rooms lists, for each folder of the house, the folders whose packages it may
// import besides its own. Imports go one way only.
func rooms() map[string][]string {
	return map[string][]string{
		"configs":                 {},
		"sensors/quantity":        {},
		"sensors/quantity/phrase": {"sensors/quantity"},
		"sensors/quantity/cells":  {"sensors/quantity/phrase"},
		"sensors":                 {"sensors/quantity"},
		"sensors/clocktest":       {"sensors"},
		"sensors/pace":            {},
		"sensors/serialport":      {"sensors"},
		"sensors/feed":            {"sensors"},
		"sensors/tcpport":         {"sensors"},
		"sensors/broker":          {"sensors"},
		"sensors/hidport":         {"sensors"},
		"sensors/onewire":         {"sensors"},
		"sensors/dialect":         {"sensors", "sensors/quantity"},
		"sensors/discover":        {"sensors", "sensors/quantity", "sensors/dialect"},
		"sensors/simroom":         {"sensors", "sensors/quantity", "sensors/dialect", "rules/ventilation"},
		"chem":                    {"sensors/quantity"},
		"chem/ledger":             {"sensors/quantity", "chem", "rules/access", "rules/record"},
		"rules/access":            {"sensors/quantity/phrase"},
		"rules/record":            {"rules/access", "sensors/quantity/phrase"},
		"rules/alarm":             {"sensors", "sensors/quantity/phrase"},
		"rules/timers":            {"chem", "sensors/quantity/phrase"},
		"rules/coverage":          {"sensors", "sensors/quantity/phrase"},
		"rules/duty":              {"sensors/quantity/phrase", "rules/access", "rules/record"},
		"rules/truth":             {"sensors", "sensors/quantity", "rules/fit", "rules/access"},
		"rules/screentest":        {"sensors/quantity/phrase", "rules/access", "rules/record"},
		"dashboard/report":        {"chem/ledger", "rules/ventilation", "sensors/quantity", "sensors/quantity/cells"},
		"dashboard/labels":        {"dashboard/report", "sensors/quantity/phrase"},
		"daemon/audit":            {"sensors", "sensors/quantity", "chem", "rules", "dashboard/report", "daemon/history"},
		"rules/session":           {"sensors", "rules/breathing", "sensors/quantity/phrase"},
		"rules/fit":               {"sensors/quantity/phrase"},
		"rules/dated":             {"sensors/quantity/phrase"},
		"rules/ventilation":       {"sensors", "sensors/quantity", "rules/fit", "rules/dated"},
		"rules/breathing":         {"sensors/quantity", "rules/ventilation", "rules/dated"},
		"rules/past":              {"sensors", "sensors/quantity", "rules"},
		"rules": {"sensors", "sensors/quantity", "chem", "chem/ledger", "rules/alarm", "rules/session", "rules/ventilation",
			"rules/breathing"},
		"daemon/history":      {"sensors", "rules"},
		"daemon/history/pack": {},
		"daemon/history/disk": {},
		"daemon/doorway":      {"sensors", "daemon/history/disk"},
		"daemon/house":        {"sensors", "sensors/quantity/phrase", "rules/access", "daemon/outgoing"},
		"daemon/people":       {"sensors", "rules", "daemon/history", "daemon/house", "dashboard"},
		"daemon/history/book": {},
		"dashboard":           {"sensors", "rules"},
		"dashboard/web":       {"sensors", "sensors/quantity", "chem/ledger", "rules", "dashboard/locale", "dashboard/report"},
		"dashboard/cards": {"sensors", "sensors/quantity", "chem", "rules", "dashboard/web", "dashboard/chart", "dashboard/locale",
			"dashboard/report"},
		"dashboard/class":    pages(),
		"dashboard/shelf":    append(pages(), "dashboard/labels"),
		"dashboard/air":      pages(),
		"dashboard/record":   pages(),
		"dashboard/keep":     pages(),
		"dashboard/sites":    pages(),
		"dashboard/people":   pages(),
		"dashboard/programs": pages(),
		"dashboard/chart":    {},
		"dashboard/locale":   {"sensors/quantity", "sensors/quantity/phrase"},
		"daemon/centre":      {"sensors", "daemon/history"},
		"daemon/centre/wire": {"daemon/history"},
		"daemon/uplink":      {"sensors", "daemon/centre/wire", "daemon/history", "daemon/doorway", "daemon/outgoing"},
		"daemon/sites": {"sensors", "rules", "daemon/centre", "daemon/history", "daemon/audit", "daemon/people", "daemon/house",
			"daemon/doorway", "dashboard"},
		"daemon/intake":      {"sensors"},
		"daemon/outgoing":    {"daemon/history/disk"},
		"daemon/remotewrite": {"sensors", "daemon/history", "daemon/outgoing"},
		"daemon/webhook":     {"sensors", "daemon/history", "daemon/outgoing"},
		"daemon/notify":      {"sensors", "daemon/history/disk", "daemon/outgoing"},
		"daemon/stamp":       {"sensors", "daemon/history/book", "daemon/history/disk", "daemon/outgoing"},
		"daemon/config": {"daemon/notify", "daemon/house", "configs", "sensors", "sensors/quantity", "sensors/dialect", "sensors/serialport",
			"sensors/tcpport", "sensors/onewire", "sensors/broker", "sensors/hidport", "sensors/discover", "chem", "rules"},
		"daemon": {"sensors", "sensors/quantity", "chem", "rules", "dashboard", "daemon/config", "daemon/history",
			"daemon/outgoing", "daemon/remotewrite", "daemon/uplink", "daemon/centre/wire", "daemon/webhook", "daemon/stamp", "daemon/notify",
			"daemon/audit", "daemon/people", "daemon/house", "daemon/doorway"},
		"daemon/house/issuertest": {}, // for tests alone
		"daemon/wetside":          {"configs", "sensors", "chem", "rules", "daemon", "dashboard/locale", "dashboard/record"},
	}
}

// pages lists what the pages of one person's work may import: the kit, what several pages
// draw, and the trade, but never the pages of somebody else's work.
func pages() []string {
	return []string{"sensors", "sensors/quantity", "chem", "rules", "dashboard/web", "dashboard/cards", "dashboard/chart",
		"dashboard/locale", "dashboard/report"}
}

// pure lists the folders whose packages may know no clock, no file and no network.
func pure() []string {
	return []string{"sensors/quantity", "chem", "rules"}
}

type listed struct {
	ImportPath string
	Imports    []string
}

func listPackages(t *testing.T) []listed {
	command := exec.Command("go", "list", "-json=ImportPath,Imports", "./...")
	command.Dir = filepath.Join("..")
	out, err := command.Output()
	require.NoError(t, err)
	var list []listed
	for d := json.NewDecoder(strings.NewReader(string(out))); d.More(); {
		var p listed
		require.NoError(t, d.Decode(&p))
		list = append(list, p)
	}
	require.Greater(t, len(list), 10, "the whole house is listed")
	return list
}

func within(path, folder string) bool {
	return path == folder || strings.HasPrefix(path, folder+"/")
}

func TestImportsGoOneWay(t *testing.T) {
	for _, p := range listPackages(t) {
		from := strings.TrimPrefix(p.ImportPath, "wetside/")
		if within(from, "dashboard/browsertest") || within(from, "dashboard/viewtest") || within(from, "dashboard/formtest") || within(from,
			"daemon/campaign") ||
			within(from, "daemon/northtest") || within(from, "daemon/history/disktest") || within(from, "daemon/centre/pgtest") {
			continue // for tests alone
		}
		allowed, known := rooms()[from]
		require.True(t, known, "%s is a new room: say here what it may import", from)
		for _, i := range p.Imports {
			to, ours := strings.CutPrefix(i, "wetside/")
			if !ours || within(to, from) {
				continue
			}
			require.True(t, slices.ContainsFunc(allowed, func(folder string) bool { return within(to, folder) }), "%s must not import %s", from, to)
		}
	}
}

func TestOnlyOnePackageKnowsTheSerialLibraryAndOneEachDatabase(t *testing.T) {
	only := map[string]string{
		"github.com/tarm/serial": "wetside/sensors/serialport",
		"modernc.org/sqlite":     "wetside/daemon/history",

		"github.com/eclipse/paho.mqtt.golang": "wetside/sensors/broker",
		"github.com/coreos/go-oidc/v3/oidc":   "wetside/daemon/house",
		// PostgreSQL
		"github.com/jackc/pgx/v5": "wetside/daemon/centre",
	}
	seen := map[string]bool{}
	for _, p := range listPackages(t) {
		for _, i := range p.Imports {
			if home, guarded := only[i]; guarded {
				require.Equal(t, home, p.ImportPath, "%s imports %s", p.ImportPath, i)
				seen[i] = true
			}
		}
	}
	require.Len(t, seen, len(only), "every guarded library is used in its room")
}

func TestThePureRoomsTouchNothingOutside(t *testing.T) {
	for _, p := range listPackages(t) {
		from := strings.TrimPrefix(p.ImportPath, "wetside/")
		if !slices.ContainsFunc(pure(), func(folder string) bool { return within(from, folder) }) {
			continue
		}
		for _, banned := range []string{"os", "net", "net/http", "database/sql", "io/ioutil", "os/exec", "log", "sync", "go.uber.org/zap"} {
			require.NotContains(t, p.Imports, banned, "%s is pure", p.ImportPath)
		}
	}
}

// goFiles are the Go files below a folder, tests among them.
func goFiles(t *testing.T, below string) (paths []string) {
	t.Helper()
	require.NoError(t, filepath.WalkDir(below, func(path string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() && filepath.Ext(path) == ".go" {
			paths = append(paths, path)
		}
		return err
	}))
	return paths
}

func parsed(t *testing.T, path string) *ast.File {
	t.Helper()
	file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.SkipObjectResolution)
	require.NoError(t, err)
	return file
}

// The race detector is not run on these packages: see .ci/run.
func TestThePureRoomsStartNoGoroutine(t *testing.T) {
	looked := 0
	for _, folder := range pure() {
		for _, path := range goFiles(t, filepath.Join("..", folder)) {
			looked++
			ast.Inspect(parsed(t, path), func(n ast.Node) bool {
				_, starts := n.(*ast.GoStmt)
				require.False(t, starts, "%s starts a goroutine: nothing but the race detector would see what it shares", path)
				return true
			})
		}
	}
	require.Greater(t, looked, 100)
}

func TestNoLineMustBeScrolled(t *testing.T) {
	const longest, looked = 140, 300
	files := 0
	for _, path := range goFiles(t, "..") {
		files++
		text, err := os.ReadFile(path)
		require.NoError(t, err)
		for i, line := range strings.Split(string(text), "\n") {
			require.LessOrEqual(t, len([]rune(line)), longest, "%s:%d", path, i+1)
		}
	}
	require.Greater(t, files, looked)
}

// calls counts, by file, where the code of the house names one of some functions.
func calls(t *testing.T, names ...string) map[string]int {
	t.Helper()
	found := map[string]int{}
	for _, path := range goFiles(t, "..") {
		if strings.HasSuffix(path, "_test.go") {
			continue
		}
		ast.Inspect(parsed(t, path), func(n ast.Node) bool {
			if s, is := n.(*ast.SelectorExpr); is && slices.Contains(names, s.Sel.Name) {
				found[filepath.ToSlash(path)+" "+s.Sel.Name]++
			}
			return true
		})
	}
	return found
}

// TestTheBodyOfARequestIsReadInOnePlace keeps every other file from reading a form by
// a way that reads bodies of any kind and length from anybody.
func TestTheBodyOfARequestIsReadInOnePlace(t *testing.T) {
	found := calls(t, "ParseForm", "ParseMultipartForm", "FormValue", "PostFormValue", "FormFile", "MultipartReader", "MultipartForm",
		"MaxBytesReader")
	require.Equal(t, map[string]int{"../dashboard/web/admit.go ParseForm": 1, "../dashboard/web/admit.go MaxBytesReader": 1}, found,
		"a route for forms finds its form in r.PostForm; everything else reads r.URL.Query()")
}

// TestAFileIsWrittenWholeInOnePlace keeps every other file from replacing a file by hand:
// a copy that renames although the write failed empties the file on a full disk.
func TestAFileIsWrittenWholeInOnePlace(t *testing.T) {
	require.Equal(t, map[string]int{
		"../daemon/history/disk/whole.go Rename":        1,
		"../sensors/simroom/plug_linux.go Rename":       1, // of a link
		"../daemon/history/disktest/power.go WriteFile": 1, // for tests alone
		"../daemon/campaign/picture.go WriteFile":       1, // likewise
		"../.ci/mutate/main.go WriteFile":               2, // in a folder of its own
		"../.ci/notices/main.go WriteFile":              1, // of a text that is made again by the same command
		"../daemon/wetside/install_windows.go Rename":   1, // of a long log that is put aside
	}, calls(t, "Rename", "WriteFile"), "write files with disk.WriteWhole")
}

// TestAFormIsTestedAsABrowserSendsIt keeps tests of pages from making the values of a form
// by hand: such a test passes for a form that no person can send.
func TestAFormIsTestedAsABrowserSendsIt(t *testing.T) {
	for _, folder := range []string{"../dashboard", "."} {
		for _, path := range goFiles(t, folder) {
			if !strings.HasSuffix(path, "_test.go") {
				continue
			}
			text, err := os.ReadFile(path)
			require.NoError(t, err)
			require.NotContains(t, string(text), "url."+"Values{",
				"%s: read the form with formtest, or say formtest.Forged of what no form sends", path)
		}
	}
}
