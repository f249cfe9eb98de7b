package agreement_test

import (
	"io"
	"maps"
	"net/http"
	"net/url"
	"strings"

	"github.com/stretchr/testify/require"
)

// entry is what a person types into a form, by the names of its fields. Several choices are
// parted by a bar.
type entry map[string]string

// person is who enters what the tests enter.
const person = "Ida (invented)"

// enters sends the form of a page whose fields have given values, as a browser does:
// the fields in the order of the page, with what is typed instead of what stands there.
func (e *evening) enters(path string, form entry, typed entry) {
	found := e.form(e.page(path), form)
	require.NotNil(e, found, "%s has no form %v", path, form)
	values := found.values(e)
	typed = maps.Clone(typed)
	if values.Has("who") {
		typed["who"] = person
	}
	for name, value := range typed {
		require.True(e, values.Has(name) || found.where("name", name) != nil, "the form %v of %s has no field %q", form, path, name)
		values[name] = strings.Split(value, "|")
	}
	action := found.attrs["action"]
	if action == "" {
		action = path
	}
	e.post(action, values)
}

// form is the first form that is sent to an address, or whose fields have given values.
func (e *evening) form(page *element, wanted entry) *element {
	for _, form := range page.all("method") {
		fits := true
		for name, value := range wanted {
			field := form.where("name", name) != nil && form.values(e).Get(name) == value
			fits = fits && (field || form.attrs[name] == value)
		}
		if fits && form.name == "form" {
			return form
		}
	}
	return nil
}

// values are the fields of a form as they stand, as HTML sends them.
func (n *element) values(e *evening) url.Values {
	v := make(url.Values)
	for _, field := range n.all("name") {
		name, kind := field.attrs["name"], field.attrs["type"]
		_, checked := field.attrs["checked"]
		switch {
		case field.name == "input" && (kind == "checkbox" || kind == "radio"):
			if checked {
				v.Add(name, field.attrs["value"])
			}
		case field.name == "select":
			v.Add(name, field.chosen())
		case field.name == "textarea":
			v.Add(name, field.words())
		case field.name == "input":
			v.Add(name, field.attrs["value"])
		}
	}
	return v
}

// chosen is the option of a list that a browser sends: the one marked, or the first.
func (n *element) chosen() string {
	first := ""
	for i, option := range n.all("value") {
		if _, selected := option.attrs["selected"]; selected {
			return option.attrs["value"]
		}
		if i == 0 {
			first = option.attrs["value"]
		}
	}
	return first
}

func (e *evening) post(path string, values url.Values) {
	request, err := http.NewRequestWithContext(e.ctx, http.MethodPost, origin+path, strings.NewReader(values.Encode()))
	require.NoError(e, err)
	request.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	request.Header.Set("Origin", origin)
	request.Header.Set("Sec-Fetch-Site", "same-origin")
	answer, err := e.client.Do(request)
	require.NoError(e, err)
	defer answer.Body.Close()
	body, err := io.ReadAll(answer.Body)
	require.NoError(e, err)
	page := e.parse(string(body))
	require.Equal(e, http.StatusOK, answer.StatusCode, "%s: %s", path, page.words())
	require.Nil(e, page.where("id", "problem"), "%s %v: %s", path, values, page.where("id", "problem").words())
}
