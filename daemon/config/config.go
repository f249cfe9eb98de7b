// Package config reads the file in which a person describes a site: its rooms,
// serial lines, channels and baths. Every problem of a file is found at once,
// with its line and column and what is allowed there; unknown keys are problems.
package config

import (
	"cmp"
	"fmt"
	"net/url"
	"os"
	"strings"
	"time"

	"wetside/chem/ledger"
	"wetside/configs"
	"wetside/daemon/notify"
	"wetside/rules"
	"wetside/rules/duty"
	"wetside/rules/past"
	"wetside/sensors"
	"wetside/sensors/broker"
	"wetside/sensors/dialect"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// Config describes a site.
type Config struct {
	// Listen is the address of the dashboard, on this computer alone unless changed.
	Listen string
	// Address is where the pages are found from other computers, such as https://darkroom.example.org; empty for nowhere.
	Address string
	// Data is the folder that keeps the history.
	Data  string
	Zone  *time.Location
	Units Units
	// Catalogue holds the figures of the chemistry in use.
	Catalogue ledger.Catalogue
	// People may write into the book of the shelf; empty means that anybody may, or,
	// where people sign in, whoever has an account.
	People []ledger.Person
	// Access says who may use the pages.
	Access Access
	// Webhook is told of each change of an alarm.
	Webhook Webhook
	// RemoteWrite is the time-series engine that gets the readings.
	RemoteWrite RemoteWrite
	// Mail is the server that takes messages of e-mail for Notify, who is told of what needs
	// somebody when nobody is there.
	Mail   notify.Server
	Notify []notify.Person
	// TimeStamp is who stamps the record book.
	TimeStamp TimeStamp
	// Centre keeps a copy of the site's book among those of other sites.
	Centre Centre
	// Backup is where the history is copied to by itself.
	Backup Backup
	Rooms  []Room
	// Duties are the dated tasks that the place has set for itself.
	Duties []duty.Duty
	// Keeping says how long samples are kept at least; what it does not name, for ever.
	Keeping []duty.Keeping
}

// Units are the units in which people want to read.
type Units struct {
	Temperature, Flow, Pressure, Velocity, Volume quantity.Unit
	// DecimalComma says that people here write 18,5 and not 18.5.
	DecimalComma bool
	// Letter says that people here print on US letter and not on A4.
	Letter bool
}

// Room is a room and how its lines are opened.
type Room struct {
	rules.Room
	Lines []Line
	// Pouring is the order in which the place fills its baths, each once.
	Pouring []string
}

// Line is a serial line, what is spoken on it, and the channels behind each address.
type Line struct {
	ID       sensors.LineID
	Name     string
	Settings sensors.LineSettings
	Dialect  Dialect
	Silence  time.Duration
	// Channels are keyed by their address in the dialect.
	Channels map[string]sensors.Channel
	order    []string // the addresses as the file has them
	modbus   dialect.ModbusOptions
	messages []dialect.MQTTValue
	broker   broker.Opener
}

// Load reads and checks a file. The error is [Problems] unless the file can't be read at all.
func Load(file string) (Config, error) {
	data, err := os.ReadFile(file)
	if err != nil {
		return Config{}, fmt.Errorf("the configuration can't be read: %w", err)
	}
	return Parse(file, data)
}

// Parse checks the text of a file; its name is used in problems alone.
func Parse(file string, data []byte) (Config, error) {
	d, err := parse(file, data)
	if err != nil {
		return Config{}, err
	}
	c := readSite(d.root())
	if err := d.found(); err != nil {
		return Config{}, err
	}
	return c, nil
}

func readSite(root section) Config {
	var c Config
	site, _ := root.table("site")
	c.Zone = readZone(site)
	c.Data = cmp.Or(readFolder(site, "data", false), "data")
	c.Listen = readListen(site)
	c.Address = strings.TrimRight(readWebAddress(site, "address", false), "/")
	c.Units = readUnits(root)
	c.Access = readAccess(root, c.Address)
	c.Webhook = below(root, "webhook", func(s section) Webhook { return readWebhook(s, c.Listen) })
	c.RemoteWrite = below(root, "remote-write", readRemoteWrite)
	c.TimeStamp = below(root, "timestamp", readTimeStamp)
	c.Centre = below(root, "centre", readCentre)
	var mailed bool
	c.Mail, mailed = readMail(root)
	c.Notify = readPeopleToTell(root, mailed)
	c.Backup = below(root, "backup", readBackup)
	c.Catalogue = readOwn(site, "catalogue", configs.Catalogue, ledger.ParseCatalogue)
	c.People = readPeople(root, c.Zone, c.Access.SignIn)
	ids := seen{}
	for _, s := range root.tables("room") {
		c.Rooms = append(c.Rooms, readRoom(s, c.Zone, ids))
	}
	c.Duties = readDuties(root, c.Rooms)
	c.Keeping = readKeeping(root, c.Rooms)
	if len(c.Rooms) == 0 {
		root.complain("room", "there is no room: write at least one [[room]]")
	}
	return c
}

// Scheme is how browsers ask for the pages.
func (c Config) Scheme() string {
	beyond := Beyond(c.Listen)
	if beyond && !c.Access.PlainHTTP || !beyond && c.Access.Certificate != "" {
		return "https"
	}
	return "http"
}

// readFolder refuses what only a shell replaces: a folder of that name would be made.
func readFolder(s section, key string, needed bool) string {
	folder := s.text(key, needed)
	if strings.HasPrefix(folder, "~") || strings.HasPrefix(folder, "$") {
		s.complain(key, "%q stays as it is written, here nothing replaces ~ and $: write the whole path, such as \"/home/ada/wetside\"", folder)
	}
	return folder
}

func readZone(site section) *time.Location {
	name := site.text("zone", false)
	if name == "" {
		return time.Local
	}
	zone, err := time.LoadLocation(name)
	if err != nil {
		site.complain("zone", "unknown time zone %q: expected a name such as \"Europe/Berlin\", or leave it out for the computer's own", name)
		return time.UTC
	}
	return zone
}

func readListen(site section) string {
	listen := site.text("listen", false)
	if listen == "" {
		return "127.0.0.1:8420"
	}
	if err := checkAddress(listen); err != nil {
		site.complain("listen", "%s", err)
	}
	return listen
}

func readUnits(root section) Units {
	s, _ := root.table("units")
	return Units{
		Temperature:  readUnit(s, "temperature", quantity.Temperature),
		Flow:         readUnit(s, "flow", quantity.VolumeFlow),
		Pressure:     readUnit(s, "pressure", quantity.Pressure),
		Velocity:     readUnit(s, "velocity", quantity.Velocity),
		Volume:       readUnit(s, "volume", quantity.LiquidVolume),
		DecimalComma: readEither(s, "decimal", "point", "comma"),
		Letter:       readEither(s, "paper", "A4", "letter"),
	}
}

// readEither reads which of two words a key has, and gives whether it is the second one;
// absent means the first.
func readEither(s section, key, first, second string) bool {
	word := s.text(key, false)
	if word != "" && word != first && word != second {
		s.complain(key, "%q is not usable: expected %s or %s", word, first, second)
	}
	return word == second
}

func readWebAddress(s section, key string, required bool) string {
	text := s.text(key, required)
	u, err := url.Parse(text)
	if text != "" && (err != nil || u.Host == "" || u.Scheme != "https" && u.Scheme != "http") {
		s.complain(key, "%q is not an address: expected one that begins with https:// or http://", text)
	}
	return text
}

// readUnit reads a unit of a dimension; absent means the inside unit.
func readUnit(s section, key string, d quantity.Dimension) quantity.Unit {
	usual := quantity.UnitsOf(d)[0]
	t := s.text(key, false)
	if t == "" {
		return usual
	}
	u, err := quantity.ParseUnit(t)
	if err != nil || u.Dimension() != d {
		s.complain(key, "%q is not a unit of %s: expected one of %s", t, d, phrase.Listed(quantity.UnitsOf(d)))
		return usual
	}
	return u
}

// seen remembers names that must be used once only.
type seen map[string]bool

func (n seen) once(s section, key, what, name string) {
	if name == "" {
		return
	}
	if n[what+" "+name] {
		s.complain(key, "the %s %q is described twice: each needs its own", what, name)
	}
	n[what+" "+name] = true
}

// Settings are what an evening is judged by, as the record book keeps them.
func (c Config) Settings() past.Site {
	p := past.Place{Zone: c.Zone, Keeping: c.Keeping, Duties: c.Duties, Rooms: make([]rules.Room, len(c.Rooms))}
	for i, r := range c.Rooms {
		p.Rooms[i] = r.Room
	}
	return p.Site()
}
