package intake

import (
	"bytes"
	"fmt"
	"io"
)

// longestLine is far beyond a line of readings, in bytes. A file without line ends would
// otherwise be held in memory as a whole.
const longestLine = 1 << 16

// lines passes a text on and ends with an error once a line is too long.
type lines struct {
	in      io.Reader
	pending int // bytes since the last line end
}

// Read implements [io.Reader].
func (l *lines) Read(into []byte) (int, error) {
	n, err := l.in.Read(into)
	rest := into[:n]
	for {
		end := bytes.IndexByte(rest, '\n')
		if end < 0 {
			l.pending += len(rest)
			break
		}
		if l.pending+end > longestLine {
			l.pending += end
			break
		}
		l.pending, rest = 0, rest[end+1:]
	}
	if l.pending > longestLine {
		return 0, fmt.Errorf("a line is longer than %d bytes: expected a file of readings, one a line", longestLine)
	}
	return n, err
}
