package book_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

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

func TestVerifyNamesTheFirstLineThatDoesNotHold(t *testing.T) {
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
	last, err := book.Verify(strings.NewReader(strings.Join(lines, "\n") + "\n"))
	require.NoError(t, err)
	require.Equal(t, book.Checkpoint{Number: 4, Hash: previous}, last)

	lines[2] = strings.Replace(lines[2], "1000", "1001", 1)
	last, err = book.Verify(strings.NewReader(strings.Join(lines, "\n")))
	broken := &book.Broken{}
	require.ErrorAs(t, err, &broken)
	require.EqualValues(t, 3, broken.Number)
	require.EqualValues(t, 2, last.Number)

	last, err = book.Verify(strings.NewReader(strings.Join(append(lines[:1], lines[3]), "\n")))
	require.ErrorContains(t, err, "record 2 does not hold")
	require.EqualValues(t, 1, last.Number)
}

// FuzzParse hands any text to Parse: it refuses it or gives a record with exactly that text.
func FuzzParse(f *testing.F) {
	body, err := someRecord().Body()
	require.NoError(f, err)
	f.Add(body)
	f.Add(`{"number":1}`)
	f.Fuzz(func(t *testing.T, text string) {
		r, err := book.Parse(text)
		if err != nil {
			return
		}
		again, err := r.Body()
		require.NoError(t, err)
		require.Equal(t, text, again)
	})
}
