package web

import (
	"bytes"
	"errors"
	"hash/fnv"
	"html/template"
	"reflect"
	"strings"

	"wetside/rules"
)

// WithoutScript is after how many seconds a live page loads again in a browser
// without script.
const WithoutScript = 5

// errNoRoom says that a live page's room is no longer configured.
var errNoRoom = errors.New("no such room")

// part is a piece of a page that is replaced when it changes. It never changes once made.
type part struct {
	id, html string
	sum      uint64 // of the HTML
}

// drawn is a part with what it was made of.
type drawn struct {
	part
	template string
	data     any
}

// Drawing draws the parts of a live page, by the templates that the page itself uses. What has
// the data that it had in the drawing before is not made again: when one probe speaks, one card changes.
type Drawing struct {
	templates *template.Template
	before    map[string]drawn // by id
	now       map[string]drawn
	parts     []part
	err       error
}

// Part draws the part of an id. The data must hold all that is shown, and never change.
func (d *Drawing) Part(template string, data any, id string) {
	p, known := d.before[id]
	if !known || p.template != template || !same(p.data, data) {
		var out bytes.Buffer
		if d.err == nil {
			d.err = d.templates.ExecuteTemplate(&out, template, data)
		}
		p = drawn{part{id: id, html: oneLine.Replace(out.String())}, template, data}
		sum := fnv.New64a()
		_, _ = sum.Write([]byte(p.html)) // a hash never fails to write
		p.sum = sum.Sum64()
	}
	d.now[id] = p
	d.parts = append(d.parts, p.part)
}

// same compares by the data's own comparison where they have one: by reflection each field costs as much as a line of text.
func same(a, b any) bool {
	if own, has := a.(interface{ Same(other any) bool }); has {
		return own.Same(b)
	}
	return reflect.DeepEqual(a, b)
}

// oneLine makes of a part what one line of an event can carry.
var oneLine = strings.NewReplacer("\r", "", "\n", " ")

func roomOf(site *Site, id string) *rules.Snapshot {
	for _, snap := range site.Rooms {
		if snap.Room == id {
			return snap
		}
	}
	return nil
}
