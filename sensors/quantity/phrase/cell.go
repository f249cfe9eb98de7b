package phrase

import (
	"strings"
	"unicode/utf8"
)

// Cell is a text in a cell of a table: a spreadsheet must not take the text for a formula.
// The wide signs are those that some spreadsheets take for the narrow ones.
func Cell(text string) string {
	first, _ := utf8.DecodeRuneInString(text)
	if strings.ContainsRune("=+-@\t\r\n＝＋－＠", first) {
		return "'" + text
	}
	return text
}
