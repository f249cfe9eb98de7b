package daemon_test

import (
	"maps"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/formtest"
)

// TestAFormThatIsRefusedComesBackAsItWasTyped leaves out the name in every form that asks for one,
// fills all other fields and takes the last of each choice: nothing of that may be lost.
func TestAFormThatIsRefusedComesBackAsItWasTyped(t *testing.T) {
	p := newPlaceForms(t, newTeaching(t, "0s fill trays; 0s stop fan; 30s start fan; 150s stop fan"), "day")
	p.sendAll(t, supplySendings(), setUpSendings(), classSendings())
	p.look()
	for _, asked := range []string{"traverse?shape=round&diameter=15+cm", "test?method=steady+CO2&settled=940&background=420&crowd=8"} {
		p.crawl.note(p.Open("/rooms/practice/air/" + asked))
	}
	tried := 0
	for _, name := range slices.Sorted(maps.Keys(p.crawl.forms)) {
		t.Run(name, func(t *testing.T) {
			page := p.In(t).WithoutPickers().Open(p.crawl.forms[name])
			same := func(f *formtest.Form) bool { return formName(page, f) == name }
			at := slices.IndexFunc(page.Forms(), same)
			if at < 0 || page.Forms()[at].Method() != "POST" || !slices.Contains(page.Forms()[at].Shown(), "who") {
				return
			}
			form := page.Forms()[at]
			for _, field := range form.Shown() {
				value := "x y"
				if offers := form.Offers(field); len(offers) > 0 {
					value = offers[len(offers)-1]
				} else if field == "who" {
					value = ""
				}
				form.Fill(field, value)
			}
			button := form.Buttons()[0]
			typed := form.Sending(button)
			back := form.Press(button)
			require.NotEmpty(t, back.Problem(), "%s", back.Text())
			kept := back.First(same)
			for _, field := range kept.Shown() {
				if slices.Contains(form.Shown(), field) { // the page of an entry alone asks for more than a press beside a tray
					require.Equal(t, typed[field], kept.Values()[field], "the field %s", field)
				}
			}
			tried++
		})
	}
	require.Greater(t, tried, 30)
}
