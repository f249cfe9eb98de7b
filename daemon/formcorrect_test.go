package daemon_test

import (
	"encoding/json"
	"fmt"
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/chem/ledger"
	"wetside/dashboard/formtest"
)

// asItWas is an entry of the shelf whose correction changed nothing.
type asItWas struct {
	number uint64
	act    ledger.Act
}

// uncorrected are the entries that can be put right, one of each kind (of tests, of each test).
func (p *placeForms) uncorrected() (all []asItWas) {
	seen := map[string]bool{}
	b := p.daemon.Shelf().Book()
	for _, r := range slices.Backward(slices.Collect(b.Effective())) {
		kind := r.Act.Kind()
		if test, is := r.Act.(ledger.TestDone); is {
			kind += string(test.Test)
		}
		if !seen[kind] && r.Act != nil {
			seen[kind] = true
			all = append(all, asItWas{r.Number, r.Act})
		}
	}
	return all
}

// correctEach puts one entry of each kind right without changing anything but the reason: the
// form must have been filled with what was entered, or the book would say something else now.
func (p *placeForms) correctEach(t *testing.T) {
	for _, e := range p.uncorrected() {
		t.Run("the correction of "+e.act.Kind(), func(t *testing.T) {
			page := p.In(t).Open(at(fmt.Sprintf("/shelf/entry/%d", e.number), p.crawl.look))
			p.crawl.note(page)
			leads := page.Links()
			put := slices.IndexFunc(leads, func(to *url.URL) bool { return to.Query().Has("corrects") })
			require.GreaterOrEqual(t, put, 0, "the entry can be put right")
			page = p.In(t).Open(leads[put].RequestURI())
			p.crawl.note(page)
			form := page.Form(formtest.To("/shelf/enter/" + strings.ReplaceAll(e.act.Kind(), " ", "-")))
			p.sent[formName(page, form)] = true
			before := p.last()
			after := form.Fill("because", "looked at again").Fill("who", "Ada").Send()
			require.Empty(t, after.Problem())
			act, err := ledger.EncodeAct(e.act)
			require.NoError(t, err)
			records := p.records(before)
			require.Len(t, records, 1)
			require.Equal(t, "correction", records[0].Kind)
			var correction struct{ Act struct{ Act json.RawMessage } }
			require.NoError(t, json.Unmarshal(records[0].Content, &correction))
			require.JSONEq(t, string(act), string(correction.Act.Act))
		})
	}
}

func takeBackSendings(of uint64) []sending {
	return []sending{{form: "entry: POST /shelf/entry/{number}", at: fmt.Sprintf("/shelf/entry/%d", of),
		fill: []string{"because", "a slip", "who", "Ada"}, kept: "correction", has: []string{fmt.Sprintf(`"of":%d`, of)}}}
}
