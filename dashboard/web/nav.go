package web

// menu is one entry of the navigation row: a page, or a few pages under one word.
type menu struct {
	Link
	// Pages are what the entry opens; empty for one that is a page itself.
	Pages []Link
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
func (p Page) Rest() (rest menu) {
	for _, m := range p.Menus {
		rest.Rest = rest.Rest || m.Rest
		rest.Current = rest.Current || m.Rest && m.Current
	}
	return rest
}

// menus is the navigation as a page shows it; room is empty for a page of no room. A
// heading that comes to a single page is shown as that page.
func (s *Kit) menus(here string, l Look, in Visit) []menu {
	var list []menu
	if in.Snap == nil || len(in.Site.Rooms) > 1 {
		list = append(list, menu{Link: s.frontLink(l)})
	}
	for pages := s.registry.menu; len(pages) > 0; {
		under := pages[0].Menu.Under
		m := menu{Link: Link{Text: under.text()}}
		for ; len(pages) > 0 && pages[0].Menu.Under == under; pages = pages[1:] {
			if to, there := s.linkTo(pages[0], l, in); there && pages[0].For.showsTo(in.Role) {
				to.Current = pages[0].Menu.Name == here
				m.Pages, m.Current = append(m.Pages, to), m.Current || to.Current
			}
		}
		switch len(m.Pages) {
		case 0:
			continue
		case 1:
			m = menu{Link: m.Pages[0]}
		}
		list = append(list, m)
	}
	setRest(list, in.Snap != nil)
	return list
}

// frontLink leads to the first page: the list of rooms, which is always red, or what the program has in its place.
func (s *Kit) frontLink(l Look) Link {
	if s.Front == "" {
		return Link{Href: "/", Text: "All rooms"}
	}
	return l.Link("/", s.Front)
}

// linkTo leads to a page of the menu; there is none to a page of a room where no room is meant.
func (s *Kit) linkTo(to Route, l Look, in Visit) (out Link, there bool) {
	href, ofRoom := to.path()
	if ofRoom {
		if in.Snap == nil {
			return Link{}, false
		}
		href = "/rooms/" + in.Snap.Room + "/" + href
	}
	if to.Menu.Red {
		l = Day // it is red and need not be asked to be
	}
	return l.Link(href, to.Menu.Text), true
}
