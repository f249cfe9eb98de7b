package shelf

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"wetside/chem"
	"wetside/chem/ledger"
	"wetside/dashboard/cards"
	"wetside/dashboard/web"
	"wetside/sensors/quantity"
)

// entryReader turns what was typed into an entry of the shelf, and keeps the first problem.
type entryReader struct {
	shelfContext
	values url.Values
	form   *web.FormReader
}

func (c shelfContext) reader(v url.Values) *entryReader {
	return &entryReader{shelfContext: c, values: v, form: c.Reader(v)}
}

// read gives the entry of a form; it means nothing when there is a problem.
func (c shelfContext) read(k kind, v url.Values) (cards.ShelfEntry, *web.Problem) {
	r := c.reader(maps.Clone(v)) // what was typed is shown again as it was
	e := cards.ShelfEntry{Room: v.Get("room"), Session: v.Get("in_session")}
	e.Person = r.form.Who()
	e.Happened = r.moment("happened")
	e.Reason = r.text("because", "Reason", v.Get("corrects") != "")
	e.Seen, _ = strconv.ParseUint(v.Get("version"), 10, 64)
	e.Before = append(r.newVessel(k), r.unsealed()...)
	act := map[string]any{}
	for _, f := range k.fields {
		if value := r.value(f); value != nil {
			act[f.name] = value
		}
	}
	if r.form.Problem == nil {
		r.complete(k.act.Kind(), act)
		e.Act = r.act(k.act.Kind(), act)
	}
	if r.form.Problem == nil {
		r.opened(&e)
	}
	if of, err := strconv.ParseUint(v.Get("corrects"), 10, 64); err == nil && r.form.Problem == nil {
		e.Act = ledger.Correction{Of: of, Reason: e.Reason, Instead: e.Act, At: c.untouched(of, e.Happened)}
		e.Happened = time.Time{}
	}
	return e, r.form.Problem
}

// untouched is the time of an entry that is corrected as the book has it, when it was left as
// the form showed it, to the second: acts of one second keep their order.
func (c shelfContext) untouched(of uint64, typed time.Time) time.Time {
	if r, known := c.book.Record(of); known && r.At.Truncate(time.Second).Equal(typed) {
		return r.At
	}
	return typed
}

// act lets the ledger read the act, which says what is wrong with it in a sentence of its own.
func (r *entryReader) act(k string, values map[string]any) ledger.Act {
	data, err := json.Marshal(values)
	if err != nil {
		r.form.Problem = &web.Problem{Field: "act", Sentence: web.Incomplete}
		return nil
	}
	act, err := ledger.DecodeAct(k, data)
	if err != nil {
		r.form.Problem = &web.Problem{Field: "act", Sentence: r.ErrorText(err)}
	}
	return act
}

// value reads a field; nil when nothing was typed.
func (r *entryReader) value(f field) any {
	of := web.Field{Name: f.name, Label: f.word}
	raw := r.form.Get(of)
	if raw == "" {
		if f.needed {
			r.form.Missing(of)
		}
		return nil
	}
	switch f.kind {
	case volumeField:
		return r.volumeOf(of, raw)
	case temperatureField:
		return r.temperatureOf(of, raw)
	case wholeField:
		n, err := strconv.Atoi(raw)
		if err != nil {
			r.form.Unread(of, err, "is not a whole number.")
		}
		return n
	case secondsField:
		return r.secondsOf(of, raw)
	case yesField:
		return true
	case namesField, manyField:
		return r.names(f, of)
	case linesField:
		return r.lines(of, raw)
	case partsField:
		return r.parts(raw)
	case dateField:
		day, err := time.ParseInLocation(time.DateOnly, raw, r.Zone)
		if err != nil {
			r.form.Unread(of, err, "is not a date. Write a date like 2026-01-15.")
		}
		return day
	case sizeField:
		return r.size(f.name, raw)
	case silverField:
		figure, err := ledger.ParseSilver(raw)
		if err != nil && r.form.Problem == nil {
			r.form.Problem = &web.Problem{Field: f.name, Sentence: r.ErrorText(err)}
		}
		return figure
	case numberField, percentField, amountField, momentField:
		return r.measure(f.kind, of, raw)
	}
	return r.form.Name(of, f.needed)
}

// text tidies a line of text.
func (r *entryReader) text(name, label string, needed bool) string {
	return r.form.Name(web.Field{Name: name, Label: label}, needed)
}

// lines reads a list, one thing a line.
func (r *entryReader) lines(of web.Field, raw string) []string {
	var lines []string
	for line := range strings.Lines(raw) {
		if line = strings.Join(strings.Fields(line), " "); line == "" {
			continue
		}
		if !utf8.ValidString(line) || strings.ContainsFunc(line, web.Unshowable) {
			r.form.Fail(of.Name, "%s: some characters can't be displayed. Please type the text again.", of.Label)
		}
		lines = append(lines, line)
	}
	return lines
}

// volumeOf reads a volume in the unit of the place where none is written. Ounces are fluid where the place pours by them;
// those on a packet of powder may be its weight.
func (r *entryReader) volumeOf(of web.Field, raw string) quantity.Millilitre {
	symbol := r.Unit(web.VolumeDimension).Symbol()
	if number, ounces := quantity.Ounces(raw); ounces && strings.HasSuffix(symbol, "floz") && r.values.Get("powder") == "" {
		raw = number
	}
	if quantity.Bare(raw) {
		raw += " " + symbol
	}
	v, err := quantity.ParseMillilitre(raw)
	if err != nil {
		r.form.Unread(of, err, "is not a volume. Write a volume with its unit, such as 2 L or 64 floz.")
	}
	return v
}

func (r *entryReader) temperatureOf(of web.Field, raw string) quantity.Celsius {
	if quantity.Bare(raw) {
		raw += " " + r.Unit(quantity.Temperature).Symbol()
	}
	t, err := quantity.ParseCelsius(raw)
	if err != nil {
		r.form.Unread(of, err, "is not a temperature. Write a temperature like 20 C or 68 F.")
	}
	return t
}

// secondsOf reads seconds, or minutes and seconds with a colon. A time such as 9.30 is asked about.
func (r *entryReader) secondsOf(of web.Field, raw string) float64 {
	if pointed := regexp.MustCompile(`^(\d{1,2})[.,]([0-5]\d)$`).FindStringSubmatch(raw); pointed != nil {
		r.form.Unread(of, nil, "can be read in two ways, and both are in print. Write %s for minutes and seconds, or %s for seconds.",
			pointed[1]+":"+pointed[2], raw+"s")
		return 0
	}
	if n, err := quantity.Number(raw); err == nil {
		return n
	}
	d, err := chem.ParseTime(raw)
	if err != nil {
		r.form.Unread(of, err, "is not a time. Write seconds, or minutes and seconds like 0:45.")
	}
	return d.Seconds()
}

// names reads names between commas, or those that were ticked.
func (r *entryReader) names(f field, of web.Field) []string {
	var names []string
	for _, raw := range r.values[f.name] {
		parts := []string{raw}
		if f.kind == namesField {
			parts = strings.Split(raw, ",")
		}
		for _, name := range parts {
			if name = strings.Join(strings.Fields(name), " "); name != "" {
				names = append(names, name)
			}
		}
	}
	if len(names) == 0 && f.needed {
		r.form.Missing(of)
	}
	return names
}

// parts reads a dilution. A bare colon ratio is asked about, in millilitres of what was poured.
func (r *entryReader) parts(raw string) ledger.Parts {
	p, err := chem.ParseParts(raw)
	var colon *chem.ColonRatioError
	switch {
	case errors.As(err, &colon):
		r.form.Fail("aim", "A bare ratio does not say what its parts are. Write the one you mean: %s", r.readings(colon))
	case err != nil:
		r.form.Fail("aim", "%q is not a dilution. Write parts of concentrate + parts of water, such as 1+9.", web.Clip(raw))
	}
	return ledger.Parts{Parent: p.Concentrate, Water: p.Water}
}

func (r *entryReader) readings(colon *chem.ColonRatioError) string {
	total := quantity.Millilitre(1000)
	for _, name := range []string{"parent_ml", "water_ml"} {
		if raw := strings.TrimSpace(r.values.Get(name)); raw != "" {
			total += r.volumeOf(web.Field{Name: name, Label: name}, raw)
		}
	}
	if total > 1000 {
		total -= 1000
	}
	plans, err := colon.For(total)
	if err != nil {
		return colon.Error()
	}
	var words []string
	for _, p := range plans {
		words = append(words, p.String())
	}
	return strings.Join(words, "; ")
}

func (r *entryReader) size(name, raw string) quantity.SquareMetre {
	if raw == cards.RollSize {
		return chem.FilmRoll().Area
	}
	s, err := chem.ParseSheet(raw)
	if err != nil {
		r.form.Fail(name, "%q is not a size. Choose one from the list, or write a size like 8x10in.", web.Clip(raw))
	}
	return s.Area
}

func (r *entryReader) moment(name string) time.Time {
	raw := strings.TrimSpace(r.values.Get(name))
	if raw == "" {
		return time.Time{}
	}
	for _, layout := range []string{"2006-01-02T15:04", "2006-01-02 15:04", "2006-01-02T15:04:05"} {
		if t, err := time.ParseInLocation(layout, raw, r.Zone); err == nil {
			return t
		}
	}
	r.form.Fail(name, "%q is not a date with a time. Write it like 2026-01-15 20:30.", web.Clip(raw))
	return time.Time{}
}

// complete fills in what follows from the rest, so that nobody has to type it.
func (r *entryReader) complete(k string, act map[string]any) {
	switch k {
	case ledger.BatchMixed{}.Kind():
		r.product(act)
		r.fallback(act, "owner", string(ledger.House))
		r.fallback(act, "name", r.productName(act))
		r.fallback(act, "batch", r.freeName(initials(fmt.Sprint(act["class"]))))
	case ledger.BathFound{}.Kind():
		r.fallback(act, "name", r.productName(act))
		r.fallback(act, "batch", r.freeName(initials(fmt.Sprint(act["class"]))))
	case ledger.LotReceived{}.Kind():
		r.product(act)
		r.fallback(act, "owner", string(ledger.House))
		r.fallback(act, "lot", r.freeName("lot "+initials(fmt.Sprint(act["class"]))))
	case ledger.SessionOpened{}.Kind():
		r.fallback(act, "lead", strings.TrimSpace(r.values.Get("who")))
		r.fallback(act, "session", r.freeName(strings.TrimSpace(r.values.Get("room")+" session")))
	default:
		r.completePlan(k, act)
	}
}

func (r *entryReader) fallback(act map[string]any, name, value string) {
	if given, _ := act[name].(string); given == "" && value != "" {
		act[name] = value
	}
}

func (r *entryReader) product(act map[string]any) {
	id, _ := act["product"].(string)
	if p, ok := r.book.Catalogue.Product(id); ok {
		act["class"] = string(p.Class)
	}
}

func (r *entryReader) productName(act map[string]any) string {
	id, _ := act["product"].(string)
	if p, ok := r.book.Catalogue.Product(id); ok {
		return p.Name
	}
	name, _ := act["class"].(string)
	return name
}

// initials are the first letters of a class: PD for print developer.
func initials(class string) string {
	var letters strings.Builder
	for word := range strings.FieldsSeq(class) {
		letters.WriteString(strings.ToUpper(word[:1]))
	}
	if letters.Len() == 1 {
		return strings.ToUpper(class[:2])
	}
	return letters.String()
}

// freeName is the first name of today's that nothing in the book has.
func (r *entryReader) freeName(prefix string) string {
	day := r.Now.Wall.In(r.Zone).Format("2006-01-02")
	for n := 1; ; n++ {
		name := fmt.Sprintf("%s %s %c", prefix, day, 'a'+rune(n-1))
		if n > 26 {
			name = fmt.Sprintf("%s %s %d", prefix, day, n)
		}
		_, batch := r.book.Batch(name)
		_, lot := r.book.Lot(name)
		_, session := r.book.Session(name)
		if !batch && !lot && !session && !r.booked(name) && !r.earlier.named[name] {
			return name
		}
	}
}

// Shelf is the chemistry of the site as the pages know it: one book for all rooms.
type Shelf interface {
	// Book is the book as it is now: later entries don't change what a page reads, and the page
	// must not change it.
	Book() *cards.ShelfBook
	// Names are the people who wrote into the book last, the newest first; none while the
	// book is being read. A page may ask for them at any moment.
	Names() []string
	// Enter records what somebody did and returns once it is kept for good. The error
	// is one sentence for the person who pressed the button.
	Enter(ctx context.Context, e cards.ShelfEntry) (cards.ShelfReceipt, error)
}
