package dashboard_test

import (
	"encoding/csv"
	"encoding/json"
	"errors"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/require"

	"wetside/dashboard"
	"wetside/dashboard/viewtest"
	"wetside/sensors"
)

// answered asks as a program does, and holds the answer to what the description says of it.
func (p *pages) answered(address string) (status int, body string) {
	p.t.Helper()
	out := p.get(address)
	path, _, _ := strings.Cut(address, "?")
	media, _, _ := strings.Cut(out.Header().Get("Content-Type"), ";")
	content := within(p.described(), "paths", path, "get", "responses", strconv.Itoa(out.Code), "content")
	require.Contains(p.t, content, media, "%s answers %d with what the description does not name", address, out.Code)
	if ref, has := within(content, media, "schema")["$ref"].(string); has {
		require.NoError(p.t, p.compiled(ref).Validate(plain(p.t, out.Body.String())), address)
	}
	return out.Code, out.Body.String()
}

// within is the object at a path of names.
func within(object map[string]any, names ...string) map[string]any {
	for _, name := range names {
		object, _ = object[name].(map[string]any)
	}
	return object
}

func plain(t testing.TB, text string) any {
	t.Helper()
	v, err := jsonschema.UnmarshalJSON(strings.NewReader(text))
	require.NoError(t, err)
	return v
}

// described is the description of what programs may ask, as the program serves it.
func (p *pages) described() map[string]any {
	p.t.Helper()
	out := p.get("/api/openapi.json")
	require.Equal(p.t, http.StatusOK, out.Code)
	return plain(p.t, out.Body.String()).(map[string]any)
}

// compiled is a schema of the description; those of OpenAPI 3.1 are of JSON Schema 2020-12.
func (p *pages) compiled(ref string) *jsonschema.Schema {
	p.t.Helper()
	c := jsonschema.NewCompiler()
	c.DefaultDraft(jsonschema.Draft2020)
	c.AssertFormat()
	require.NoError(p.t, c.AddResource("https://example.org/openapi.json", p.described()))
	schema, err := c.Compile("https://example.org/openapi.json" + ref)
	require.NoError(p.t, err)
	return schema
}

// measuring is a place with an invented history, a reading every so often.
func measuring(t *testing.T, m *measured) *pages {
	return guarded(t, func(o *dashboard.Options) { o.Accounts, o.Measured = nil, m })
}

func TestTheDescriptionNamesEveryRouteForProgramsAndNoOther(t *testing.T) {
	p := measuring(t, &measured{Step: time.Minute})
	var routes []string
	for _, r := range p.Patterns() {
		if path, ours := strings.CutPrefix(r, "GET /api/"); ours {
			routes = append(routes, "/api/"+path)
		}
		require.False(t, strings.Contains(r, "/api/") && !strings.HasPrefix(r, "GET "), "programs change nothing: %s", r)
	}
	described := p.described()
	require.Equal(t, "3.1.0", described["openapi"])
	require.Equal(t, slices.Sorted(slices.Values(routes)), slices.Sorted(maps.Keys(described["paths"].(map[string]any))))
	for _, path := range routes {
		query := ""
		if path == "/api/series" {
			query = "?channel=north-developer&resolution=quarter"
		}
		status, _ := p.answered(path + query)
		require.Equal(t, http.StatusOK, status, path)
	}
}

func TestEverySchemaOfTheDescriptionRefusesWhatIsMissingOrUnknown(t *testing.T) {
	p := measuring(t, &measured{Step: time.Minute})
	for name := range p.described()["components"].(map[string]any)["schemas"].(map[string]any) {
		schema := p.compiled("#/components/schemas/" + name)
		require.Error(t, schema.Validate(map[string]any{}), name)
		require.ErrorContains(t, schema.Validate(map[string]any{"unheard-of": true}), "unheard-of", name)
	}
}

func TestAChannelThatIsNotGoodHasNoValueForAProgram(t *testing.T) {
	p := evening(t)
	channel := func() map[string]any {
		status, body := p.answered("/api/channels")
		require.Equal(t, http.StatusOK, status)
		for _, c := range plain(t, body).(map[string]any)["channels"].([]any) {
			if c := c.(map[string]any); c["id"] == string(viewtest.Channel("north", "developer")) {
				return c
			}
		}
		return nil
	}
	good := channel()
	require.Equal(t, json.Number("19.4"), good["value"])
	require.Equal(t, []any{"good", nil, "C", true}, []any{good["quality"], good["reason"], good["unit"], good["simulated"]})
	p.Silence(time.Minute, sensors.StateGone)
	p.Publish()
	gone := channel()
	require.Equal(t, []any{nil, "missing", "silent"}, []any{gone["value"], gone["quality"], gone["reason"]})
	require.NotNil(t, gone["measured_at"])
}

// A gas sensor that sees nothing has not measured zero, and one at the end of its range not that much.
func TestABoundOfAGasIsNoValueForAProgram(t *testing.T) {
	p := proven(t)
	told := func(ppm float64) []any {
		p.Say("acid", ppm, p.Clock.Now())
		p.Publish()
		_, body := p.answered("/api/channels")
		for _, c := range plain(t, body).(map[string]any)["channels"].([]any) {
			if c := c.(map[string]any); c["id"] == string(viewtest.Channel("north", "acid")) {
				require.Equal(t, "good", c["quality"])
				return []any{c["at_most"], c["value"], c["at_least"]}
			}
		}
		return nil
	}
	require.Equal(t, []any{json.Number("0.2"), nil, nil}, told(0.05))
	require.Equal(t, []any{nil, json.Number("2.5"), nil}, told(2.5))
}

func TestASeriesSaysOfEachRowHowFarItMayBeTrusted(t *testing.T) {
	p := measuring(t, &measured{Step: time.Minute})
	_, body := p.answered("/api/series?channel=north-developer&resolution=raw&from=2026-01-15T18:00:00Z&to=2026-01-15T18:10:00Z")
	series := plain(t, body).(map[string]any)
	rows := series["rows"].([]any)
	require.Len(t, rows, 11, "ten readings and a gap")
	require.Equal(t, map[string]any{"rows": json.Number("11"), "next": nil}, series["end"])
	counts := map[string]int{}
	for _, r := range rows {
		r := r.(map[string]any)
		counts[r["row"].(string)+" "+r["quality"].(string)]++
		require.Equal(t, r["quality"] == "good", r["value"] != nil, "%v", r)
		require.Equal(t, true, r["simulated"])
		if r["quality"] == "suspect" {
			require.Equal(t, []any{"jump", json.Number("21.7")}, []any{r["reason"], r["raw"]})
		}
	}
	require.Equal(t, map[string]int{"value good": 8, "value suspect": 1, "value missing": 1, "gap missing": 1}, counts)

	_, table := p.answered("/api/series?channel=north-developer&resolution=raw&from=2026-01-15T18:00:00Z&to=2026-01-15T18:10:00Z&format=csv")
	lines, err := csv.NewReader(strings.NewReader(table)).ReadAll()
	require.NoError(t, err)
	require.Len(t, lines, 13, "the names, the rows and the end")
	require.Equal(t, []string{"end", "", "11"}, []string{lines[12][2], lines[12][3], lines[12][10]})
	require.Equal(t, []string{"north-developer", "C", "value", "2026-01-15T18:00:00Z", "", "good", "",
		"21.5", "", "", "1", "0", "", "22", "false", "true"}, lines[1])
}

func TestAStretchWithoutAGoodReadingHasNoMean(t *testing.T) {
	p := measuring(t, &measured{Step: time.Minute})
	_, body := p.answered("/api/series?channel=north-developer&resolution=quarter&from=2026-01-15T18:03:00Z&to=2026-01-15T18:29:00Z")
	rows := plain(t, body).(map[string]any)["rows"].([]any)
	require.Len(t, rows, 3)
	first, second := rows[0].(map[string]any), rows[1].(map[string]any)
	require.Equal(t, []any{"2026-01-15T18:00:00Z", "suspect", nil, nil, nil},
		[]any{first["from"], first["quality"], first["value"], first["low"], first["high"]})
	require.Equal(t, []any{"partly good", json.Number("20"), json.Number("800"), json.Number("100")},
		[]any{second["quality"], second["value"], second["good"], second["doubtful"]})
}

// On 29 March 2026 clocks in Vienna are set on by an hour: the day has 92 quarters of an hour.
func TestADayIsThatOfThePlace(t *testing.T) {
	p := measuring(t, &measured{Step: time.Minute})
	_, body := p.answered("/api/series?channel=north-developer&resolution=day&from=2026-03-29&to=2026-03-30")
	rows := plain(t, body).(map[string]any)["rows"].([]any)
	day := rows[0].(map[string]any)
	require.Equal(t, []any{"2026-03-28T23:00:00Z", "2026-03-29T22:00:00Z"}, []any{day["from"], day["to"]})
	require.Equal(t, []any{json.Number("72800"), json.Number("10000")}, []any{day["good"], day["doubtful"]},
		"the first quarter has no good reading")
}

func TestALongSeriesComesInPartsThatGiveEachRowOnce(t *testing.T) {
	p := measuring(t, &measured{Step: time.Second})
	from, seen, parts := "2026-01-15T00:00:00Z", map[string]int{}, 0
	for ; from != ""; parts++ {
		out := p.get("/api/series?channel=north-developer&resolution=raw&format=csv&to=2026-01-16T06:00:00Z&from=" + url.QueryEscape(from))
		for line := range strings.Lines(out.Body.String()) {
			cells := strings.SplitN(line, ",", 5)
			switch cells[2] {
			case "value":
				seen[cells[3]]++
			case "end":
				from = cells[3]
			}
		}
	}
	require.Equal(t, 2, parts)
	require.Len(t, seen, 30*3600)
	require.Equal(t, 1, slices.Max(slices.Collect(maps.Values(seen))))
}

func TestAWrongQuestionOfAProgramIsRefusedWithWhatIsExpected(t *testing.T) {
	p := measuring(t, &measured{Step: time.Minute})
	ask := func(query string) (int, string) { return p.answered("/api/series?" + query) }
	for query, says := range map[string]string{
		"channel=north-developer":                                                  "expected resolution=raw, quarter or day",
		"channel=north-developer&resolution=week":                                  "expected resolution=raw, quarter or day",
		"channel=north-developer&resolution=raw&until=now":                         "There is no parameter \\\"until\\\"",
		"channel=north-developer&resolution=raw&format=xml":                        "expected format=json or csv",
		"channel=north-developer&resolution=raw&from=yesterday":                    "is not a time",
		"channel=north-developer&resolution=raw&from=2026-01-02&to=2026-01-01":     "The end must be after the beginning",
		"channel=north-developer&resolution=raw&from=2026-01-01&to=2026-01-09":     "at most 7 days",
		"channel=north-developer&resolution=quarter&from=2024-01-01&to=2026-01-01": "at most 400 days",
		"channel=north-developer&resolution=day&from=1980-01-01&to=2026-01-01":     "at most 3660 days",
	} {
		status, body := ask(query)
		require.Equal(t, http.StatusBadRequest, status, query)
		require.Contains(t, body, says, query)
	}
	status, body := ask("channel=nowhere&resolution=raw")
	require.Equal(t, http.StatusNotFound, status)
	require.Contains(t, body, "/api/channels lists them")
}

func TestAHistoryThatCannotBeReadIsSaidSo(t *testing.T) {
	p := measuring(t, &measured{Step: time.Minute, Err: errors.New("disk gone")})
	status, body := p.answered("/api/series?channel=north-developer&resolution=raw")
	require.Equal(t, http.StatusServiceUnavailable, status)
	require.NotContains(t, body, "disk gone")
}
