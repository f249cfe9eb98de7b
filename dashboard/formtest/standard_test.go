package formtest

import (
	"net/http"
	"testing"

	"github.com/stretchr/testify/require"
)

// one is the first form of a page with this body.
func one(t *testing.T, body string) *Form {
	t.Helper()
	show := http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		_, _ = w.Write([]byte("<!DOCTYPE html><title>t</title>" + body))
	})
	forms := On(t, show).Open("/page?q=1").Forms()
	require.NotEmpty(t, forms)
	return forms[0]
}

// TestAFormIsReadByTheRulesOfTheStandard follows "constructing the entry list" and the
// parts of the HTML standard that it names: form owner, disabled controls, the selectedness
// of a select, radio button groups, submit buttons (WHATWG HTML, Living Standard,
// sections 4.10.17.3, 4.10.19.2, 4.10.7, 4.10.5.1.16 and 4.10.22.4).
func TestAFormIsReadByTheRulesOfTheStandard(t *testing.T) {
	for _, c := range []struct{ name, body, want string }{
		{"document order, hidden fields among the others", `<form><input type=hidden name=a value=1><input name=b value=2><input ` +
			`type=hidden name=a value=3></form>`, "a=1&b=2&a=3"},
		{"a hidden field and a radio button of one name are two entries",
			`<form><input type=hidden name=seen value=16><input type=radio name=seen value=clear checked></form>`, "seen=16&seen=clear"},
		{"a field without a name is not sent", `<form><input value=1><input name="" value=2><input name=b value=3></form>`, "b=3"},
		{"boxes and radio buttons that are not on are not sent", `<form><input type=checkbox name=a value=1><input type=checkbox name=a ` +
			`value=2 checked><input type=radio name=b value=3></form>`, "a=2"},
		{"a box without a value sends on", `<form><input type=checkbox name=a checked></form>`, "a=on"},
		{"of a group of radio buttons the last that is marked is on",
			`<form><input type=radio name=a value=1 checked><input type=radio name=a value=2 checked></form>`, "a=2"},
		{"a list of one line has its first option chosen", `<form><select name=a><option value=1>one<option value=2>two</select></form>`, "a=1"},
		{"unless that option is off", `<form><select name=a><option disabled value=1>one<option value=2>two</select></form>`, "a=2"},
		{"the last option that is marked counts",
			`<form><select name=a><option selected value=1>one<option selected value=2>two</select></form>`, "a=2"},
		{"an option that is off is not sent even when it is chosen",
			`<form><select name=a><option selected disabled value=1>one</select></form>`, ""},
		{"an option without a value sends its text", `<form><select name=a><option>  one   sheet </select></form>`, "a=one+sheet"},
		{"a list of several sends each, and none by itself", `<form><select multiple name=a><option selected>1<option>2<option ` +
			`selected>3</select><select multiple name=b><option>1</select></form>`, "a=1&a=3"},
		{"what is off is not sent", `<form><input disabled name=a value=1><fieldset disabled><legend><input name=b value=2></legend><input ` +
			`name=c value=3></fieldset></form>`, "b=2"},
		{"a second legend does not keep a field on", `<form><fieldset disabled><legend>x</legend><legend><input name=b ` +
			`value=2></legend></fieldset></form>`, ""},
		{"no button is sent that was not pressed", `<form><button name=a value=1>A</button><input type=submit name=b value=2><input name=c ` +
			`value=3></form>`, "c=3"},
		{"a field outside that names the form belongs to it", `<form id=f><input name=a value=1></form><input form=f name=b value=2>`, "a=1&b=2"},
		{"a field inside that names another form does not", `<form><input name=a value=1><input form=other name=b value=2></form><form ` +
			`id=other></form>`, "a=1"},
		{"what a folded or hidden part holds is sent", `<form><details><input name=a value=1></details><p hidden><input name=b ` +
			`value=2></p></form>`, "a=1&b=2"},
		{"the first line end of a text area is not part of the text, and line ends are two signs",
			"<form><textarea name=a>\nx\ny</textarea></form>", "a=x%0D%0Ay"},
		{"a date that is none is empty", `<form><input type=date name=a value=yesterday><input type=date name=b value=2026-11-28></form>`,
			"a=&b=2026-11-28"},
		{"a local time may have a blank", `<form><input type=datetime-local name=a value="2026-11-28 20:10"></form>`, "a=2026-11-28T20%3A10"},
		{"a line of text has no line ends", "<form><input name=a value='x\ny'></form>", "a=xy"},
		{"signs beyond ASCII are UTF-8", `<form><input name=ä value="ö &amp; +"></form>`, "%C3%A4=%C3%B6+%26+%2B"},
		{"the field _charset_ tells the encoding", `<form><input type=hidden name=_charset_></form>`, "_charset_=UTF-8"},
		{"an offered completion is not sent", `<form><datalist id=d><option value=1><input name=x value=1></datalist><input name=a ` +
			`value=2></form>`, "a=2"},
	} {
		t.Run(c.name, func(t *testing.T) {
			require.Equal(t, c.want, encoded(one(t, c.body).entries(nil)))
		})
	}
}

func TestWhatNoPersonCouldFillIsRefused(t *testing.T) {
	for _, c := range []struct{ name, body, field, value, want string }{
		{"a field that is not there", `<form><input name=a></form>`, "b", "1", `no field "b"`},
		{"a choice that is not offered", `<form><select name=a><option>1</select></form>`, "a", "2", "does not offer"},
		{"a choice that is off", `<form><select name=a><option>1<option disabled>2</select></form>`, "a", "2", "does not offer"},
		{"a radio button that is not there", `<form><input type=radio name=a value=1></form>`, "a", "2", "does not offer"},
		{"a radio button that is off", `<form><input type=radio name=a value=1><input type=radio name=a value=2 disabled></form>`, "a", "2",
			"does not offer"},
		{"a hidden field", `<form><input type=hidden name=a></form>`, "a", "1", "is hidden"},
		{"a field in a hidden part", `<form><p hidden><input name=a></p></form>`, "a", "1", "is hidden"},
		{"a field that is off", `<form><input name=a disabled></form>`, "a", "1", "is off"},
		{"a field that can only be read", `<form><input name=a readonly></form>`, "a", "1", "can only be read"},
		{"a date that is none", `<form><input type=date name=a></form>`, "a", "yesterday", "can't be typed"},
		{"two fields of one name", `<form><input name=a><input name=a></form>`, "a", "1", "2 fields"},
	} {
		t.Run(c.name, func(t *testing.T) {
			require.ErrorContains(t, one(t, c.body).fill(c.field, []string{c.value}), c.want)
		})
	}
	require.ErrorContains(t, one(t, `<form><input name=a required></form>`).refusal(nil), "required and empty")
	require.NoError(t, one(t, `<form novalidate><input name=a required></form>`).refusal(nil))
	require.ErrorContains(t, one(t, `<form><input name=a pattern=x></form>`).refusal(nil), "can't check")
	require.ErrorContains(t, one(t, `<form enctype=multipart/form-data></form>`).refusal(nil), "can't")
}

func TestSeveralFieldsOfOneNameAreFound(t *testing.T) {
	f := one(t, `<form><input name=a><select name=a></select><input type=checkbox name=b><input type=checkbox name=b><input type=hidden `+
		`name=c><input name=c><input type=hidden name=d><input type=hidden name=d></form>`)
	require.Equal(t, []string{"a"}, f.Doubled())
	require.Equal(t, []string{"a", "b", "c"}, f.Shown())
	require.Equal(t, []string{"c", "d"}, f.Hidden())
}

func TestAFieldIsFoundByItsLabelToo(t *testing.T) {
	f := one(t, `<form><label for=x>Your  name</label><input id=x name=who><fieldset><legend>What it shows</legend>
<label><input type=radio name=seen value=clear> stays clear</label>
	<label><input type=radio name=seen value=cloudy> turns cloudy</label></fieldset>
<label><input type=checkbox name=late> Late</label></form>`)
	require.Equal(t, []string{"clear", "cloudy"}, f.Offers("seen"))
	require.Empty(t, f.Offers("who"), "one types there")
	f.Fill("Your name", "Ada").Fill("What it shows", "turns cloudy").Fill("Late", "Late")
	require.Equal(t, "who=Ada&seen=cloudy&late=on", encoded(f.entries(nil)))
	f.Fill("late").Fill("seen", "clear")
	require.Equal(t, "who=Ada&seen=clear", encoded(f.entries(nil)))
}
