package words_test

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/words"
	"wetside/rules/access"
	"wetside/sensors"
)

// used finds every key that the pages ask for, in the templates and in the code.
func used(t *testing.T) map[string]bool {
	t.Helper()
	keys := map[string]bool{}
	asked := regexp.MustCompile(`(?:say |Say\(|[Ff]ail\((?:"[a-z]+"|[a-z.]+), |[Uu]nread\((?:"[a-z]+"|[a-z.]+), [A-Za-z.(), ]+, |[Ww]ord: )"([a-z0-9_.-]+)"|\{"(span\.[a-z]+)",`)
	for _, pattern := range []string{"../templates/*.html", "../air/*.go", "../cards/*.go", "../class/*.go", "../keep/*.go", "../people/*.go", "../record/*.go", "../shelf/*.go", "../web/*.go"} {
		files, err := filepath.Glob(pattern)
		require.NoError(t, err)
		require.NotEmpty(t, files)
		for _, file := range files {
			if strings.HasSuffix(file, "_test.go") {
				continue
			}
			text, err := os.ReadFile(file)
			require.NoError(t, err)
			for _, m := range asked.FindAllStringSubmatch(string(text), -1) {
				keys[m[1]+m[2]] = true
			}
		}
	}
	return keys
}

// built are the keys whose end comes from a value.
func built() map[string]bool {
	keys := map[string]bool{}
	for _, page := range []string{"board", "clock", "air", "alarms", "baths", "history", "probes"} {
		keys["title."+page], keys["nav."+page] = true, true
	}
	for _, page := range []string{"traverse", "air-test", "alarm-figures"} {
		keys["title."+page], keys["nav."+page] = true, true
	}
	for _, entry := range []string{"tonight", "set-up", "take-down", "shelf", "mix", "weeks", "duties", "report", "chemistry", "room-air", "record", "technics", "screen", "labels", "keeper"} {
		keys["nav."+entry] = true // of the navigation
	}
	keys["title.probe"], keys["title.check"] = true, true
	for _, f := range []string{"probe", "make", "with", "instrument", "certificate", "against", "value", "uncertainty", "offset", "slope", "as-found", "as-left", "reference", "accuracy", "correct"} {
		keys["field."+f] = true
	}
	keys["title.then"], keys["title.tonight"], keys["tonight.students"], keys["tonight.each"] = true, true, true, true
	keys["title.index"], keys["title.error"], keys["title.screen-light"] = true, true, true
	for _, field := range []string{"room", "volume", "floor", "duct"} {
		keys["first."+field], keys["first.hint."+field] = true, true
	}
	for _, reading := range []string{"point", "comma", "us"} {
		keys["first.reading."+reading] = true
	}
	keys["field.reading"] = true
	for _, field := range []string{"port", "baud", "format", "modbus-unit", "table", "register", "type", "words", "scale", "unit"} {
		keys["ask."+field], keys["ask.hint."+field] = true, true
	}
	keys["labels.a4"], keys["labels.letter"] = true, true
	for _, r := range access.Roles() {
		keys["role."+string(r)], keys["role-may."+string(r)] = true, true
	}
	for _, end := range []string{"role", "reset-password", "revoke"} {
		keys["people."+end], keys["button."+end] = true, true
	}
	for _, purpose := range []string{"metrics", "reading", "acting"} {
		keys["script."+purpose] = true
	}
	for _, r := range sensors.FrameResults() {
		keys["frame."+string(r)] = true
	}
	for _, k := range sensors.KnownKinds() {
		keys["kind."+string(k)] = true
	}
	for _, f := range []string{"act", "who", "done",
		"complaint", "why", "drill", "found", "place", "heard", "phase", "title", "note", "people", "until", "minutes",
		"shape", "diameter", "width", "height", "meter", "certified", "conditions", "method", "background", "settled", "error", "began", "ended", "standing"} {
		keys["field."+f] = true
	}
	return keys
}

func TestEveryKeyThatIsAskedForHasWordsAndEveryWordIsAskedFor(t *testing.T) {
	w := words.English()
	asked := used(t)
	require.Greater(t, len(asked), 80)
	known := built()
	for key := range asked {
		known[key] = true
	}
	for key := range known {
		if !strings.HasSuffix(key, ".") {
			require.True(t, w.Knows(key), "no words for %s", key)
		}
	}
	for _, key := range w.Keys() {
		require.True(t, known[key], "nobody says %s", key)
	}
}

func TestTheWordsKeepToTheHouse(t *testing.T) {
	w := words.English()
	for _, key := range w.Keys() {
		text := w.Say(key)
		require.NotRegexp(t, `\bSTOP\b`, text, "%s: the danger word is HALT", key)
		require.NotRegexp(t, `(?i)\b(safe|monitor|entity|tag|scrape|panel|recipe|integration|normal)\b`, text, key)
		require.NotRegexp(t, `(?i)\bexposure\b`, text, key)
		require.Equal(t, strings.TrimSpace(text), text, key)
	}
}

func TestNoTemplateHoldsWordsOfItsOwn(t *testing.T) {
	files, err := filepath.Glob("../templates/*.html")
	require.NoError(t, err)
	comment := regexp.MustCompile(`(?s)\{\{.*?\}\}|<[^>]*>`)
	for _, file := range files {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		bare := comment.ReplaceAllString(comment.ReplaceAllString(string(text), ""), "")
		require.NotRegexp(t, `[A-Za-z]{2,}`, strings.ReplaceAll(bare, "<!DOCTYPE html>", ""), file)
	}
}

func TestAnUnknownKeyIsSaidAsItIs(t *testing.T) {
	require.Equal(t, "no.such-key", words.English().Say("no.such-key"))
}

func ExampleWords_Say() {
	w := words.English()
	fmt.Println(w.Say("parts", w.Say("part", words.Number{Value: 1, Text: "1"}), w.Say("part", words.Number{Value: 9, Text: "9"})))
	// Output: 1 part concentrate + 9 parts water
}

func TestANumberChoosesBetweenOneAndMany(t *testing.T) {
	w := words.English()
	require.Equal(t, "1 day", w.Say("figures.days", 1))
	require.Equal(t, "0 days", w.Say("figures.days", 0))
	require.Equal(t, "1 part", w.Say("part", words.Number{Value: 1, Text: "1"}))
	require.Equal(t, "1.0 parts", w.Say("part", words.Number{Value: 1.5, Text: "1.0"}), "1.5, however it is written, is not one")
}
