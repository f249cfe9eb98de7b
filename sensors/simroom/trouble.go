package simroom

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"wetside/sensors/quantity/phrase"
)

// Trouble is one thing that can be done to the pretend room: a fault of a line
// or a probe, or an act of the evening. It is made by [ParseTrouble]; the zero
// value is none.
type Trouble struct {
	verb, target string
	span         time.Duration // 0: until it is undone
	count        int
}

// String is the trouble as ParseTrouble reads it.
func (t Trouble) String() string {
	switch {
	case t.verb == verbPeople:
		return fmt.Sprintf("%s %d", t.verb, t.count)
	case t.span > 0:
		return fmt.Sprintf("%s %s %s", t.verb, t.target, shortly(t.span))
	default:
		return t.verb + " " + t.target
	}
}

// shortly writes 30m0s as 30m.
func shortly(d time.Duration) string {
	text := d.String()
	if strings.HasSuffix(text, "m0s") {
		text = strings.TrimSuffix(text, "0s")
	}
	if strings.HasSuffix(text, "h0m") {
		text = strings.TrimSuffix(text, "0m")
	}
	return text
}

// The verbs of trouble.
const (
	verbPull    = "pull"
	verbGarble  = "garble"
	verbFlood   = "flood"
	verbSilence = "silence"
	verbSlow    = "slow"
	verbFreeze  = "freeze"
	verbHush    = "hush"
	verbStick   = "stick"
	verbShift   = "shift"
	verbLift    = "lift"
	verbSwap    = "swap"
	verbTrip    = "trip"
	verbBlock   = "block"
	verbClear   = "clear"
	verbStart   = "start"
	verbStop    = "stop"
	verbJacket  = "jacket"
	verbFill    = "fill"
	verbEmpty   = "empty"
	verbCover   = "cover"
	verbUncover = "uncover"
	verbPeople  = "people"
)

// Targets that are not a line or a probe.
const (
	theFan    = "fan"
	theMakeUp = "make-up"
	theTrays  = "trays"
	hoodLeft  = "hood-left"
	hoodRight = "hood-right"
)

// span says whether a verb takes a duration.
type span int

const (
	noSpan span = iota
	maySpan
	mustSpan
)

// form is how a verb is written and what it does, in plain words.
type form struct {
	verb    string
	targets []string
	span    span
	words   string
}

func forms() []form {
	lines := []string{lineTrays, lineAir, lineDuct}
	baths := []string{"DEV", "STP", "FX1", "FX2"}
	fans, covered, all := []string{theFan}, []string{theMakeUp, hoodLeft, hoodRight}, append([]string{theTrays}, baths...)
	return []form{
		{verbPull, lines, mustSpan, "pull a plug; it comes back under the same name"},
		{verbGarble, lines, mustSpan, "spoil every frame on a line"},
		{verbFlood, lines, mustSpan, "fill a line with noise"},
		{verbSilence, lines, mustSpan, "leave a line plugged in, but saying nothing"},
		{verbSlow, lines, mustSpan, "let a line speak every tenth second, or answer three seconds late"},
		{verbFreeze, probeNames(), mustSpan, "let a probe repeat its last value; once a live one would have moved, dashes and \"flat line\" " +
			"under Probes"},
		{verbHush, probeNames(), mustSpan, "take the noise off a probe; of a tray, the duct or a gas, dashes and \"noise lost\" under " +
			"Probes within minutes"},
		{verbStick, probeNames(), mustSpan, "let a probe stand at the top of its range; dashes at once or within two minutes, a gas counts " +
			"as gas"},
		{verbShift, probeNames(), mustSpan, "give a probe another zero; after a pulled plug dashes and \"jump\" under Probes"},
		{verbLift, baths, mustSpan, "take a probe out of its tray, so that it reads air; within ten minutes dashes under Probes"},
		{verbSwap, pairs(baths), mustSpan, "exchange the probes of two trays"},
		{verbTrip, fans, mustSpan, "let the fan stand still although it is switched on"},
		{verbBlock, covered, maySpan, "cover the make-up air grille, or lay a lid on one end of the hood"},
		{verbClear, covered, noSpan, "uncover the make-up air grille or an end of the hood"},
		{verbStart, fans, maySpan, "switch the fan on, with a count-down timer if a time is given"},
		{verbStop, fans, noSpan, "switch the fan off"},
		{verbJacket, baths, noSpan, "put hot water round a tray for ten minutes"},
		{verbFill, all, noSpan, "pour fresh baths, or the one with this probe"},
		{verbEmpty, all, noSpan, "pour the baths away, or one"},
		{verbCover, all, noSpan, "put lids on the trays, or on one"},
		{verbUncover, all, noSpan, "take the lids off, or one of them"},
		{verbPeople, nil, noSpan, "so many people are in the room, 0 to 60"},
	}
}

// pairs names every two of some probes.
func pairs(names []string) []string {
	var list []string
	for i, a := range names {
		for _, b := range names[i+1:] {
			list = append(list, a+"-"+b)
		}
	}
	return list
}

func probeNames() []string {
	var names []string
	for _, p := range probes() {
		names = append(names, p.id)
	}
	return names
}

func (f form) usage() string {
	if f.targets == nil {
		return f.verb + " NUMBER"
	}
	return f.verb + " " + strings.Join(f.targets, "|") + [...]string{"", " [TIME]", " TIME"}[f.span]
}

// Help lists in plain words what can be done to the room, a line each.
func Help() string {
	var b strings.Builder
	for _, f := range forms() {
		fmt.Fprintf(&b, "%s\n    %s\n", f.usage(), f.words)
	}
	b.WriteString("TIME is written like 30s, 10m or 2h. Several are separated by semicolons, each after the time at which\n" +
		"it happens, counted from the start and again every day: \"2m pull trays 30s; 5m stop fan\".\n")
	return b.String()
}

// ParseTrouble reads one thing to be done, such as "pull trays 30s". The error
// says how it is written.
func ParseTrouble(text string) (Trouble, error) {
	words := strings.Fields(text)
	if len(words) == 0 {
		return Trouble{}, fmt.Errorf("nothing to do: write it like \"pull trays 30s\"")
	}
	known := forms()
	at := slices.IndexFunc(known, func(f form) bool { return strings.EqualFold(f.verb, words[0]) })
	if at < 0 {
		return Trouble{}, fmt.Errorf("%q: %q is not known here: expected one of %s", text, words[0], phrase.Listed(known))
	}
	t, ok := known[at].read(words[1:])
	if !ok {
		return Trouble{}, fmt.Errorf("%q: write it like %q", text, known[at].usage())
	}
	return t, nil
}

func (f form) read(words []string) (t Trouble, ok bool) {
	if len(words) == 0 {
		return t, false
	}
	t.verb = f.verb
	if f.targets == nil {
		count, err := strconv.Atoi(words[0])
		t.count = count
		return t, err == nil && count >= 0 && count <= 60 && len(words) == 1
	}
	at := slices.IndexFunc(f.targets, func(name string) bool { return strings.EqualFold(name, words[0]) })
	if at < 0 {
		return t, false
	}
	t.target = f.targets[at]
	if len(words) == 1 {
		return t, f.span != mustSpan
	}
	d, err := time.ParseDuration(words[1])
	t.span = d
	return t, err == nil && d > 0 && f.span != noSpan && len(words) == 2
}

func (f form) String() string { return f.verb }
