package manysites

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/daemon/campaign"
)

// figures is the file of what the long form found last, and measures are its columns: after
// the first three milliseconds of processor time.
const figures = "figures.csv"

func measures() []string {
	return []string{"sites", "evenings", "megabytes", "page", "weeks", "form", "report", "report of three", "list", "book", "chains",
		"message"}
}

// keep writes what was found.
func keep(t *testing.T, found []map[string]float64) {
	file, err := os.Create(figures)
	require.NoError(t, err)
	out := csv.NewWriter(file)
	require.NoError(t, out.Write(measures()))
	for _, f := range found {
		var row []string
		for _, m := range measures() {
			row = append(row, strconv.FormatFloat(f[m], 'f', -1, 64))
		}
		require.NoError(t, out.Write(row))
	}
	out.Flush()
	require.NoError(t, out.Error())
	require.NoError(t, file.Close())
}

// kept reads what was found last.
func kept(t *testing.T) (found []map[string]float64) {
	file, err := os.Open(figures)
	require.NoError(t, err)
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	require.Equal(t, measures(), rows[0])
	for _, row := range rows[1:] {
		f := map[string]float64{}
		for i, m := range measures() {
			f[m], err = strconv.ParseFloat(row[i], 64)
			require.NoError(t, err)
		}
		found = append(found, f)
	}
	return found
}

func TestThePictureShowsWhatWasFound(t *testing.T) {
	found := kept(t)
	p := campaign.Picture{Width: 980, Height: 90 + 9*(14*len(found)+16)}
	p.Words(10, 20, "Processor time at a centre, in milliseconds, by how many sites it has", true)
	p.Words(10, 38, "Each site with four evenings of 17 channels. The line is at 100 ms; the scale is by tens.", false)
	across := func(ms float64) int { return 400 + int(110*max(0, math.Log10(max(ms, 1)))) }
	p.Box(across(100), 48, 1, p.Height-60, "#507050")
	y := 66
	for _, m := range told() {
		p.Words(10, y, m.says, false)
		for _, f := range found {
			p.Words(320, y, fmt.Sprintf("%.0f", f["sites"]), false)
			p.Box(400, y-9, max(across(f[m.name])-400, 2), 9, "#20508c")
			p.Words(across(f[m.name])+8, y, strconv.FormatFloat(f[m.name], 'f', 1, 64), true)
			y += 14
		}
		y += 16
	}
	p.InStep(t, "carries.svg")
}

// told are the measures as the picture and the package comment name them.
func told() []struct{ name, says string } {
	return []struct{ name, says string }{{"page", "the page of the sites"}, {"weeks", "the weeks of a site"},
		{"form", "the form of the report"}, {"report", "the report on a site over a week"},
		{"report of three", "the report on three sites over a week"}, {"list", "asking the database how all sites stand"},
		{"book", "reading and verifying the book of a site"}, {"chains", "verifying every chain in SQL"},
		{"message", "taking a message with a record"}}
}

func TestThePackageCommentHasTheTableOfWhatWasFound(t *testing.T) {
	comment, err := os.ReadFile("doc.go")
	require.NoError(t, err)
	for _, m := range told() {
		row := fmt.Sprintf("//\t%-42s", m.says)
		for _, f := range kept(t)[1:] {
			row += fmt.Sprintf("%9.1f", f[m.name])
		}
		require.Contains(t, string(comment), row+"\n")
	}
}
