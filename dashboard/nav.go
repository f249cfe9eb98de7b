package dashboard

// menu is one entry of the navigation row: a page, or a few pages under one word.
type menu struct {
	link
	// Pages are what the entry opens; empty for one that is a page itself.
	Pages []link
	// Rest is set for what a phone has no room for in its row, and shows behind one word.
	Rest bool
}

// besidesRest is how many pages stand in the row of a phone of 360 px.
const besidesRest = 3

// setRest leaves the first pages in the row of a phone; the list of rooms goes where there are others.
func setRest(list []menu, inRoom bool) {
	kept := 0
	for i, m := range list {
		if m.Pages == nil && kept < besidesRest && !(inRoom && m.Href == "/") {
			kept++
			continue
		}
		list[i].Rest = true
	}
}

// Rest is what a phone shows behind one word, and whether the page is among it.
func (p page) Rest() (rest menu) {
	for _, m := range p.Menus {
		rest.Rest = rest.Rest || m.Rest
		rest.Current = rest.Current || m.Rest && m.Current
	}
	return rest
}

// destination is a page that the navigation leads to.
type destination struct {
	name string
	path string // where it is; behind a room's address for a page of a room
	room bool
	// red is set for a page that is always red and needs not be asked to be.
	red bool
}

// menuPlan is one entry of the navigation row before a visitor is known. An entry
// that comes to a single page is shown as that page.
type menuPlan struct {
	word  string
	pages []destination
}

// menuPlans is the navigation of the house, so short that it stands in one row: what
// is looked at in class, then the rest by the work that it belongs to.
func (s *Server) menuPlans() []menuPlan {
	plans := []menuPlan{
		{"nav.board", []destination{{"board", "board", true, true}}},
		{"nav.clock", []destination{{"clock", "clock", true, true}}},
		{"nav.tonight", []destination{{"tonight", "tonight", true, false}}},
		{"nav.chemistry", []destination{{"set-up", "set-up", true, false}, {"baths", "baths", true, false}, {"take-down", "take-down", true, false},
			{"shelf", "/shelf", false, false}, {"mix", "/mix", false, false}, {"labels", "/labels", false, false}}},
		{"nav.room-air", []destination{{"air", "air", true, false}, {"alarms", "alarms", true, false},
			{"alarm-figures", "alarms/figures", true, false}, {"traverse", "air/traverse", true, false}, {"air-test", "air/test", true, false}}},
		{"nav.record", []destination{{"history", "history", true, false}, {"weeks", "/weeks", false, false}, {"duties", "/duties", false, false}, {"report", "/report", false, false}}},
		{"nav.technics", []destination{{"probes", "probes", true, false}, {"keeper", "/keeper", false, false}, {"screen", "/screen", false, false}}},
	}
	return plans
}

// served says whether this site has what a page is drawn from.
func (s *Server) served(name string) bool {
	switch name {
	case "clock":
		return s.clocks != nil
	case "set-up", "take-down", "shelf", "mix", "labels":
		return s.shelf != nil
	case "duties", "report":
		return s.office != nil
	case "weeks":
		return s.office != nil && s.past != nil
	case "keeper":
		return s.keeping != nil
	case "screen":
		return s.screens != nil
	}
	return true
}

// menus is the navigation as a page shows it; room is empty for a page of no room.
func (s *Server) menus(here string, l look, in visit) []menu {
	var list []menu
	if in.snap == nil || len(in.site.Rooms) > 1 {
		list = append(list, menu{link: link{"/", s.words.Say("nav.rooms"), false}})
	}
	for _, plan := range s.menuPlans() {
		m := menu{link: link{Text: s.words.Say(plan.word)}}
		for _, d := range plan.pages {
			if !s.served(d.name) || d.room && in.snap == nil {
				continue
			}
			m.Pages = append(m.Pages, link{d.href(l, in), s.words.Say("nav." + d.name), d.name == here})
			m.Current = m.Current || d.name == here
		}
		switch len(m.Pages) {
		case 0:
			continue
		case 1:
			m = menu{link: m.Pages[0]}
		}
		list = append(list, m)
	}
	setRest(list, in.snap != nil)
	return list
}

func (d destination) href(l look, in visit) string {
	href := d.path
	if d.room {
		href = "/rooms/" + in.snap.Room + "/" + d.path
	}
	if l == red && !d.red {
		href += "?look=red"
	}
	return href
}
