package book_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"wetside/daemon/history/book"
)

func someRecord() book.Record {
	return book.Record{
		Number: 1, Kind: "batch mixed", At: time.Date(2026, 10, 14, 19, 15, 0, 250e6, time.UTC), OffsetSeconds: 7200,
		Mono: 90 * time.Second, Boot: "0011223344556677", Clock: "confirmed", Person: "Zoë <&>", Role: "volunteer",
		Content: json.RawMessage(`{"millilitres":1000}`), Corrects: 7, Reason: "late", Happened: time.Date(2026, 10, 14, 18, 0, 0, 0, time.UTC),
	}
}

func ExampleHash() {
	body := `{"number":1}`
	fmt.Println(book.Hash(book.First, body))
	// printf '%s\n%s\n' 0000000000000000000000000000000000000000000000000000000000000000 '{"number":1}' | sha256sum
	// Output: 504f05539def78f502d92aaa6ecd8e163306baea23fcd84600400f8266d069e7
}

func TestTheCanonicalTextIsFixed(t *testing.T) {
	body, err := someRecord().Body()
	require.NoError(t, err)
	require.Equal(t, `{"number":1,"kind":"batch mixed","at":"2026-10-14T19:15:00.250Z","offset_seconds":7200,"mono_ms":90000,`+
		`"boot":"0011223344556677","clock":"confirmed","person":"Zoë <&>","role":"volunteer","content":{"millilitres":1000},`+
		`"corrects":7,"reason":"late","happened":"2026-10-14T18:00:00.000Z"}`, body)
	back, err := book.Parse(body)
	require.NoError(t, err)
	require.Equal(t, someRecord(), back)
}

// walk goes along the lines of an exported book, up to the first that does not hold.
func walk(lines []string) (book.Checkpoint, error) {
	var c book.Chain
	for _, line := range lines {
		hash, body, _ := strings.Cut(line, " ")
		if _, err := c.Next(hash, body); err != nil {
			return c.Last(), err
		}
	}
	return c.Last(), nil
}

func TestAChainNamesTheFirstLineThatDoesNotHold(t *testing.T) {
	lines := make([]string, 4)
	previous := book.First
	for i := range lines {
		r := someRecord()
		r.Number = uint64(i + 1)
		body, err := r.Body()
		require.NoError(t, err)
		previous = book.Hash(previous, body)
		lines[i] = previous + " " + body
	}
	last, err := walk(lines)
	require.NoError(t, err)
	require.Equal(t, book.Checkpoint{Number: 4, Hash: previous}, last)

	lines[2] = strings.Replace(lines[2], "1000", "1001", 1)
	last, err = walk(lines)
	broken := &book.Broken{}
	require.ErrorAs(t, err, &broken)
	require.EqualValues(t, 3, broken.Number)
	require.EqualValues(t, 2, last.Number)

	last, err = walk(append(lines[:1], lines[3]))
	require.ErrorContains(t, err, "record 2 fails verification")
	require.EqualValues(t, 1, last.Number)
}

// TestMostRecordsAreReadTheShortWay holds both ways to the same answer.
func TestMostRecordsAreReadTheShortWay(t *testing.T) {
	plain := someRecord()
	plain.Corrects, plain.Reason, plain.Happened = 0, "", time.Time{}
	body, err := plain.Body()
	require.NoError(t, err)
	_, short := book.Quick(body)
	require.True(t, short)
	rapid.Check(t, func(t *rapid.T) {
		r := plain
		name := rapid.OneOf(rapid.StringMatching("[a-zé写]{0,6}"), rapid.String())
		r.Kind, r.Person, r.Room = name.Draw(t, "kind"), name.Draw(t, "person"), name.Draw(t, "room")
		r.OffsetSeconds, r.Mono = rapid.IntRange(-86400, 86400).Draw(t, "offset"),
			time.Duration(rapid.Int64Range(-1<<40, 1<<40).Draw(t, "mono"))*time.Millisecond
		if rapid.Bool().Draw(t, "late") {
			r.Reason = "late"
		}
		body, err := r.Body()
		require.NoError(t, err)
		if at := rapid.IntRange(-len(body), len(body)-1).Draw(t, "at"); at >= 0 {
			body = body[:at] + string(rapid.Byte().Draw(t, "byte")) + body[at+1:]
		}
		want, errSlowly := book.ParseSlowly(body)
		got, err := book.Parse(body)
		require.Equal(t, errSlowly == nil, err == nil)
		require.Equal(t, want, got)
	})
}

// BenchmarkParse reads a record of a session's counts.
func BenchmarkParse(b *testing.B) {
	r := someRecord()
	r.Corrects, r.Reason, r.Happened = 0, "", time.Time{}
	r.Content = json.RawMessage(`{"session":{"phase":"open","title":"Class",` +
		`"begun":"2026-10-14T18:00:00Z","tally":{"known":600000000000,"to":"2026-10-14T18:10:00Z"}}}`)
	body, err := r.Body()
	require.NoError(b, err)
	for name, parse := range map[string]func(string) (book.Record, error){"quick": book.Parse, "slow": book.ParseSlowly} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				_, err := parse(body)
				require.NoError(b, err)
			}
		})
	}
}

// FuzzParse hands any text to Parse: it refuses it or gives a record with exactly that text.
func FuzzParse(f *testing.F) {
	body, err := someRecord().Body()
	require.NoError(f, err)
	f.Add(body)
	f.Add(`{"number":1}`)
	for _, content := range []string{`{"a":[1,2.50,"\\u00e9 ",null]}`, `{ "a":1}`, `null,"corrects":7`, "\"\u2028\"", `{"a":1}}`} {
		f.Add(`{"number":12,"kind":"form","at":"2026-10-14T19:15:00.250Z","offset_seconds":-3600,"mono_ms":9,` +
			`"boot":"00","clock":"confirmed","person":"Zoë","content":` + content + `}`)
	}
	f.Fuzz(func(t *testing.T, text string) {
		r, err := book.Parse(text)
		slowly, errSlowly := book.ParseSlowly(text)
		require.Equal(t, errSlowly == nil, err == nil)
		require.Equal(t, slowly, r)
		if err != nil {
			return
		}
		again, err := r.Body()
		require.NoError(t, err)
		require.Equal(t, text, again)
	})
}
