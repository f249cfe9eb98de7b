// Mutate changes the code at random, one place at a time, and says how many of the changes
// the tests find: an operator, a number, a condition, a statement left out.
//
//	go run ./.ci/mutate -seed 1 -changes 60 ./rules/... ./chem/...
//
// All changes of a package are compiled at once, each asleep until its number is chosen: the tests
// are built once and run once for each change. The files on the disk stay as they are. What no test
// finds is printed, to be judged one by one: some changes make no difference to anything that can
// be observed. A number returned beside an error or a false is left alone: nobody may use it.
package main

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"
)

// chosenBy is the variable of the environment that chooses a change by its number.
const chosenBy = "CHANGE_CHOSEN"

// What never ends is found as well: after so many times what the tests take without a change.
const (
	timesUnchanged = 10
	leastWait      = 20 * time.Second
)

func main() {
	seed := flag.Uint64("seed", 1, "chooses the changes; the same seed changes the same places")
	changes := flag.Int("changes", 60, "how many changes to try")
	also := flag.String("also", "", "packages whose tests may find a change too, parted by blanks")
	flag.Parse()
	if flag.NArg() == 0 {
		fmt.Fprintln(os.Stderr, "name the packages whose code is to be changed, such as ./rules/...")
		os.Exit(2)
	}
	if err := run(*seed, *changes, strings.Fields(*also), flag.Args()); err != nil {
		fmt.Fprintln(os.Stderr, "mutate:", err)
		os.Exit(1)
	}
}

func run(seed uint64, changes int, also, patterns []string) error {
	packs, err := packsOf(patterns)
	if err != nil {
		return err
	}
	var places []place
	for _, p := range packs {
		for _, s := range p.files {
			places = append(places, placesOf(s)...)
		}
	}
	rng := rand.New(rand.NewPCG(seed, 0))
	rng.Shuffle(len(places), func(i, j int) { places[i], places[j] = places[j], places[i] })
	chosen, number := map[*pack]map[int]place{}, 0
	for _, p := range places {
		if number == changes {
			break
		}
		of := p.of.of
		if _, err := of.check(p.of, p.of.with(map[int]place{1: p}), nil); err != nil {
			continue // it is no Go
		}
		if chosen[of] == nil {
			chosen[of] = map[int]place{}
		}
		number++
		chosen[of][number] = p
	}
	if number == 0 {
		return fmt.Errorf("nothing in %v can be changed", patterns)
	}
	found := 0
	for _, p := range packs {
		if len(chosen[p]) == 0 {
			continue
		}
		n, err := p.try(chosen[p], also)
		if err != nil {
			return err
		}
		found += n
	}
	share := 100 * float64(found) / float64(number)
	fmt.Printf("%d of %d changes found (%.0f %%), of %d places, seed %d\n", found, number, share, len(places), seed)
	return nil
}

// try builds the tests of a package, and of some others, with all its changes asleep, and wakes one after the other.
func (p *pack) try(changes map[int]place, also []string) (found int, err error) {
	scratch, err := os.MkdirTemp("", "mutate")
	if err != nil {
		return 0, err
	}
	defer os.RemoveAll(scratch)
	overlay, err := p.overlay(scratch, changes)
	if err != nil {
		return 0, err
	}
	var tests []tests
	for i, path := range append([]string{p.dir}, also...) {
		t, err := build(path, overlay, filepath.Join(scratch, strconv.Itoa(i)))
		if err != nil {
			return 0, err
		}
		tests = append(tests, t)
	}
	for _, number := range slices.Sorted(maps.Keys(changes)) {
		caught := false
		for _, t := range tests {
			caught = caught || t.fail(number, t.wait)
		}
		if caught {
			found++
		} else {
			fmt.Printf("not found: %s\n", changes[number])
		}
	}
	return found, nil
}

// overlay writes the files of a package with its changes, and the list that puts them in place.
func (p *pack) overlay(scratch string, changes map[int]place) (string, error) {
	replaced := map[string]string{}
	put := func(file, text string) error {
		replaced[file] = filepath.Join(scratch, filepath.Base(file))
		return os.WriteFile(replaced[file], []byte(text), 0o600)
	}
	for _, s := range p.files {
		if err := put(s.file, s.with(changes)); err != nil {
			return "", err
		}
	}
	if err := put(filepath.Join(p.dir, "changes_asleep.go"), p.chooser()); err != nil {
		return "", err
	}
	list, err := json.Marshal(map[string]any{"Replace": replaced})
	if err != nil {
		return "", err
	}
	file := filepath.Join(scratch, "overlay.json")
	return file, os.WriteFile(file, list, 0o600)
}

type tests struct {
	program, dir string
	wait         time.Duration
}

// build builds the tests of a package, and sees that they pass while no change is awake.
func build(path, overlay, program string) (tests, error) {
	if out, err := exec.Command("go", "test", "-c", "-vet=off", "-overlay", overlay, "-o", program, path).CombinedOutput(); err != nil {
		return tests{}, fmt.Errorf("building the tests of %s: %w\n%s", path, err, out)
	}
	dir, err := exec.Command("go", "list", "-f", "{{.Dir}}", path).Output()
	if err != nil {
		return tests{}, fmt.Errorf("finding %s: %w", path, err)
	}
	t := tests{program: program, dir: strings.TrimSpace(string(dir))}
	if _, err := os.Stat(program); err != nil {
		return t, nil // it has none
	}
	begun := time.Now()
	if t.fail(0, time.Hour) {
		return tests{}, fmt.Errorf("the tests of %s fail without a change", path)
	}
	t.wait = max(leastWait, timesUnchanged*time.Since(begun))
	return t, nil
}

// fail says whether the tests find the change of a number.
func (t tests) fail(number int, wait time.Duration) bool {
	if wait == 0 {
		return false
	}
	ctx, cancel := context.WithTimeout(context.Background(), wait)
	defer cancel()
	run := exec.CommandContext(ctx, t.program, "-test.failfast")
	run.Dir = t.dir
	// What fails here must not be tried again in the unchanged code.
	run.Env = append(os.Environ(), "RAPID_NOFAILFILE=1", chosenBy+"="+strconv.Itoa(number))
	return run.Run() != nil
}
