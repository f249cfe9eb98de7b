package report

import (
	"io"
	"strconv"
	"strings"
	"time"

	"wetside/sensors/quantity/phrase"
)

// Several is a report on several sites over the same days: what they come to, then the report
// of each.
type Several struct {
	Sites []OfSite
	Made  time.Time
	By    phrase.Place
}

// OfSite is the report of one of several sites.
type OfSite struct {
	Name, Building string
	// Folder is where its files lie beside the document.
	Folder string
	// Notes say what must be known of the site itself, such as that its book was refused.
	Notes []phrase.Sentence
	Data  Data
}

// allName is the table of what the sites come to.
const allName = "sites.csv"

// sums are what a report comes to.
type sums struct {
	sessions, look      int
	air                 Air
	required, valid     time.Duration
	unanswered, overdue int
}

func (d Data) sums() sums {
	s := sums{sessions: len(d.Sessions)}
	for _, e := range d.Sessions {
		s.air = s.air.Plus(e.Air())
		if e.Unproven > 0 {
			s.look++
		}
	}
	for _, c := range d.Coverage {
		s.required, s.valid = s.required+c.Required, s.valid+c.Valid
	}
	for _, a := range d.Alarms {
		if a.Answered.IsZero() {
			s.unanswered++
		}
	}
	for _, x := range d.Duties {
		if x.Overdue {
			s.overdue++
		}
	}
	return s
}

// ComposeSeveral lays the report on several sites out as a document.
func ComposeSeveral(s Several) Document {
	all := s.all()
	doc := Document{Title: all.say("Report on the record of %s", counted(len(s.Sites), "site")), by: all.place(), Subtitle: s.subtitle(),
		Sections: []Section{{"All sites", s.firstPage()}}}
	for _, site := range s.Sites {
		site.Data.By = s.By
		one := Compose(site.Data)
		if one.Banner != "" {
			doc.Banner = "Simulated: some or all figures here are invented."
		}
		one.Sections[0].Blocks = append([]Block{Text(strings.Join(one.Subtitle, " ")),
			Text(all.say("The tables of this site lie in the folder %s.", site.Folder))}, one.Sections[0].Blocks...)
		doc.chapters = append(doc.chapters, len(doc.Sections))
		for _, part := range one.Sections {
			doc.Sections = append(doc.Sections, Section{site.Name + " · " + part.Heading, part.Blocks})
		}
	}
	doc.contents = doc.chapters
	return doc
}

// all is the time and the place of the whole report: those of its first site.
func (s Several) all() composer {
	var d Data
	if len(s.Sites) > 0 {
		first := s.Sites[0].Data
		d = Data{From: first.From, To: first.To, Zone: first.Zone, Version: first.Version}
	}
	d.Made, d.By = s.Made, s.By
	return composer{d}
}

func (s Several) subtitle() []string {
	d := s.all()
	var names []string
	for _, site := range s.Sites {
		names = append(names, site.title())
	}
	return []string{
		d.say("%s, from %s up to %s", strings.Join(names, "; "), d.day(d.From), d.day(d.To.Add(-time.Millisecond))),
		d.say("Made %s by wetside, %s, from the books that the sites sent. Times on each site's pages are in its own zone.", d.moment(d.Made),
			d.Version),
	}
}

func (o OfSite) title() string {
	if o.Building == "" {
		return o.Name
	}
	return o.Building + ", " + o.Name
}

// firstPage says what all sites come to, has a row for each, and names what needs a look.
func (s Several) firstPage() []Block {
	d := s.all()
	var total sums
	var air Air
	rows := Grid{Columns: []Column{{"Site", 4, left}, {"Sessions", 2, right}, {"Trays open", 2, right}, {"Airflow proven", 2, right},
		{"Too low or stopped", 2, right}, {"Not known", 2, right}, {"Readings covered", 2, right}, {"Alarms unanswered", 2, right},
		{"Duties overdue", 2, right}, {"Record book", 3, left}}}
	look := Grid{Columns: []Column{{"Needs attention", 2, left}, {"Why", 7, left}}}
	for _, site := range s.Sites {
		x := site.Data.sums()
		total.sessions, total.look, air = total.sessions+x.sessions, total.look+x.look, air.Plus(x.air)
		book := d.say("verified to record %s", number(site.Data.Book))
		if !site.Data.Book.Holds {
			book = "fails verification"
		}
		rows.Rows = append(rows.Rows, []string{site.title(), strconv.Itoa(x.sessions), Hours(x.air.Open()), Hours(x.air.Proven), Hours(x.air.Low),
			Hours(x.air.Unknown), d.tell(x.covered()), strconv.Itoa(x.unanswered), strconv.Itoa(x.overdue), book})
		for _, sentence := range site.look(d, x) {
			look.Rows = append(look.Rows, []string{site.title(), sentence})
		}
	}
	running := ""
	for _, site := range s.Sites {
		site.Data.By = s.By
		running += composer{site.Data}.stillRunning(site.Name)
	}
	blocks := []Block{Lead(d.leadOf(total.sessions, air, total.look) + running), Figures{
		{strconv.Itoa(len(s.Sites)), "sites"},
		{strconv.Itoa(total.sessions), "sessions"},
		{d.tell(air.share()), "of the time that trays stood open, with proven airflow"},
		{Hours(air.Unknown), "with airflow unknown"},
	}, rows}
	if len(look.Rows) > 0 {
		blocks = append(blocks, look)
	}
	return blocks
}

func number(b Book) string { n, _, _ := strings.Cut(b.Checkpoint, ":"); return n }

// covered is the part of the required readings that are there, in per cent, rounded down.
func (s sums) covered() phrase.Sentence {
	if s.required <= 0 {
		return phrase.Say("–")
	}
	return phrase.Say("%g %%", float64(1000*s.valid/s.required)/10)
}

// look says what of a site needs a look.
func (o OfSite) look(d composer, x sums) []string {
	var list []string
	for _, n := range o.Notes {
		list = append(list, d.tell(n))
	}
	if !o.Data.Book.Holds {
		list = append(list, d.say("The record book fails verification: %s.", o.Data.Book.Problem))
	}
	if x.look > 0 {
		list = append(list, d.say("%s without proven airflow for a part of the time.", counted(x.look, "session")))
	}
	if x.overdue > 0 {
		list = append(list, d.say("Duties overdue: %d.", x.overdue))
	}
	return list
}

// SeveralFiles are the files of the report on several sites itself; those of each site come
// into its folder.
func SeveralFiles(s Several) []File {
	doc := ComposeSeveral(s)
	return []File{
		{PDFName, func(w io.Writer) error { return WritePDF(w, doc, s.Made) }},
		{pageName, func(w io.Writer) error { return WriteHTML(w, doc) }},
		{allName, s.table().Write},
	}
}

func (s Several) table() Table {
	return tableOf(allName, "site building folder sessions uncovered_s proven_s low_s unknown_s required_s valid_s alarms_unanswered "+
		"duties_overdue book_holds checkpoint", s.Sites, func(out *rows, site OfSite) {
		x := site.Data.sums()
		out.row(site.Name, site.Building, site.Folder, x.sessions, x.air.Open(), x.air.Proven, x.air.Low, x.air.Unknown, x.required, x.valid,
			x.unanswered, x.overdue, site.Data.Book.Holds, site.Data.Book.Checkpoint)
	})
}
