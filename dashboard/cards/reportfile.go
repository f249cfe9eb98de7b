package cards

import (
	"bytes"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strings"
	"time"

	"go.uber.org/zap"

	"wetside/dashboard/web"
)

// ReportWithin is how long a report may take to be gathered.
const ReportWithin = 2 * time.Minute

// ReportDays reads the first day and the end of the last for which an address asks for a
// report, or says what is wrong.
func (f Figures) ReportDays(query url.Values) (from, until time.Time, wrong string) {
	var days [2]time.Time
	for i, name := range []string{"from", "to"} {
		var err error
		if days[i], err = time.ParseInLocation(time.DateOnly, strings.TrimSpace(query.Get(name)), f.Zone); err != nil {
			return from, until, fmt.Sprintf("%q is not a day: write it like 2026-01-15.", web.Clip(query.Get(name)))
		}
	}
	if days[1].Before(days[0]) {
		return from, until, "The first day is after the last: swap them."
	}
	if days[1].After(days[0].AddDate(100, 0, 0)) {
		return from, until, "The period is longer than a hundred years: choose a shorter one."
	}
	return days[0], days[1].AddDate(0, 0, 1), ""
}

// ReportFile is a report as a file. End is the end of its name and the kind of its content.
type ReportFile struct {
	Name, End string
	Wrong     string // why there is none
	Write     func(io.Writer) error
}

// SendReport sends a report as a file, whole or not at all.
func SendReport(k *web.Kit, w http.ResponseWriter, r *http.Request, file ReportFile) {
	if file.Wrong != "" {
		k.Fail(w, r, web.Failure{Status: http.StatusUnprocessableEntity, Sentence: file.Wrong})
		return
	}
	var out bytes.Buffer
	if err := file.Write(&out); err != nil {
		k.Log.Error("a report failed", zap.Error(err))
		k.Fail(w, r, web.Failure{Status: http.StatusInternalServerError, Sentence: web.NotDrawn})
		return
	}
	days := r.URL.Query()
	w.Header().Set("Content-Type", "application/"+file.End)
	w.Header().Set("Content-Disposition", fmt.Sprintf(`attachment; filename="%s-%s-%s.%s"`, file.Name, days.Get("from"), days.Get("to"),
		file.End))
	_, _ = out.WriteTo(w) // the reader went away: nobody to tell
}
