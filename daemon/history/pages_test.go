package history_test

import (
	"database/sql"
	"encoding/binary"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// pages tells what each byte of a history file is for.
type pages struct {
	file  []byte
	size  int
	owner map[int]string // the table or index of each page; none for a free one
}

func pagesOf(t *testing.T, dir string, file []byte) pages {
	p := pages{file, int(binary.BigEndian.Uint16(file[16:])), map[int]string{}}
	db, err := sql.Open("sqlite", filepath.Join(dir, "wetside.db"))
	require.NoError(t, err)
	rows, err := db.Query("SELECT pageno, name FROM dbstat")
	require.NoError(t, err)
	for rows.Next() {
		var number int
		var name string
		require.NoError(t, rows.Scan(&number, &name))
		p.owner[number] = name
	}
	require.NoError(t, rows.Err())
	require.NoError(t, db.Close())
	return p
}

// holds names what a byte belongs to, by SQLite's description of its file format,
// sqlite.org/fileformat2.html: sections 1.3 (header), 1.5 (free pages) and 1.6 (b-tree pages).
func (p pages) holds(at int) string {
	number, start := at/p.size+1, at/p.size*p.size
	switch {
	case at < 100:
		return "header of the file"
	case p.owner[number] == "":
		return "free page"
	}
	page, head := p.file[start:start+p.size], 0
	if number == 1 {
		head = 100
	}
	kind, where := page[head], at-start
	if kind != 2 && kind != 5 && kind != 10 && kind != 13 {
		return p.owner[number] // an overflow page
	}
	cells := head + 8
	if kind == 2 || kind == 5 {
		cells += 4
	}
	count, content := int(binary.BigEndian.Uint16(page[head+3:])), int(binary.BigEndian.Uint16(page[head+5:]))
	if where >= cells+2*count && where < content {
		return "unused part of a page"
	}
	for free := int(binary.BigEndian.Uint16(page[head+1:])); free > 0; free = int(binary.BigEndian.Uint16(page[free:])) {
		if where >= free && where < free+int(binary.BigEndian.Uint16(page[free+2:])) {
			return "unused part of a page"
		}
	}
	return p.owner[number]
}
