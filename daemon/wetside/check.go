package main

import (
	"fmt"
	"io"
	"time"

	"wetside/daemon/config"
	"wetside/dashboard/locale"
)

type checkCmd struct {
	File string `arg:"" help:"The configuration to check."`
}

// Run says what would run, or everything that is wrong.
func (c *checkCmd) Run(out io.Writer) error {
	site, err := config.Load(c.File)
	if err != nil {
		return usageError{err}
	}
	if err := site.CheckEntrance(); err != nil {
		return usageError{err}
	}
	zone := site.Zone.String()
	if site.Zone == time.Local {
		zone = "the computer's own zone"
	}
	lines := []string{
		fmt.Sprintf("%s is in order.", c.File),
		fmt.Sprintf("Dashboard at %s://%s, history in %s, times in %s.", site.Scheme(), site.Listen, site.Data, zone),
	}
	for _, r := range site.Rooms {
		lines = append(lines, describe(r, locale.Units(site.Units))...)
	}
	for _, l := range lines {
		if err := writeLine(out, l); err != nil {
			return err
		}
	}
	return nil
}

func describe(r config.Room, units locale.Units) []string {
	lines := []string{fmt.Sprintf("Room %s (%s): %s; lines %d, channels %d, baths %d.", r.ID, r.Name, units.Figure(r.Volume.To(0)),
		len(r.Lines), len(r.Channels), len(r.Baths))}
	for _, q := range r.Required {
		lines = append(lines, fmt.Sprintf("  air: at least %.3g %s, %s, by %s", q.Value, q.Kind.Unit(), q.Kind.Said(), q.Source))
	}
	for _, l := range r.Lines {
		lines = append(lines, fmt.Sprintf("  line %s: %s at %s, silent after %g s", l.ID, l.Dialect, l.Way(), l.Silence.Seconds()))
		for _, address := range l.Addresses() {
			c := l.Channels[address]
			lines = append(lines, fmt.Sprintf("    %s: %s in %s, address %s, missing after %g s", c.ID, c.Kind, c.Unit, address,
				c.Silence.Seconds()))
		}
	}
	for _, b := range r.Baths {
		times := "no development times"
		if b.Developing.Known() {
			times = fmt.Sprintf("%d development times from %q", len(b.Developing.Points()), b.Developing.Source())
		}
		lines = append(lines, fmt.Sprintf("  bath %s: %s, %s", b.ID, b.Role, times))
	}
	return lines
}
