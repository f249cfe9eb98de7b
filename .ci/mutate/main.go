// Mutate changes the code at random, one place at a time, and says how many of the changes
// the tests find: an operator, a number, a condition, a statement left out.
//
//	go run ./.ci/mutate -seed 1 -changes 60 ./rules/... ./chem/...
//
// The files on the disk stay as they are. What no test finds is printed, to be judged one
// by one: some changes make no difference to anything that can be observed.
package main

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"time"
)

// testsWithin bounds the tests of one change: what never ends is found as well.
const testsWithin = 3 * time.Minute

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
	files, err := sources(patterns)
	if err != nil {
		return err
	}
	var places []place
	for _, f := range files {
		found, err := placesOf(f)
		if err != nil {
			return err
		}
		places = append(places, found...)
	}
	rng := rand.New(rand.NewPCG(seed, 0))
	rng.Shuffle(len(places), func(i, j int) { places[i], places[j] = places[j], places[i] })
	scratch, err := os.MkdirTemp("", "mutate")
	if err != nil {
		return err
	}
	defer os.RemoveAll(scratch)
	tried, found := 0, 0
	for _, p := range places {
		if tried == changes {
			break
		}
		switch verdict, err := judge(p, scratch, also); {
		case err != nil:
			return err
		case verdict == notGo:
			continue
		case verdict == caught:
			found++
		default:
			fmt.Printf("not found: %s\n", p)
		}
		tried++
	}
	if tried == 0 {
		return fmt.Errorf("nothing in %v can be changed", patterns)
	}
	fmt.Printf("%d of %d changes found (%.0f %%), of %d places, seed %d\n", found, tried, 100*float64(found)/float64(tried), len(places), seed)
	return nil
}

// sources are the files of some packages, without tests.
func sources(patterns []string) (files []string, err error) {
	args := append([]string{"list", "-f", "{{$d := .Dir}}{{range .GoFiles}}{{$d}}/{{.}}\n{{end}}"}, patterns...)
	out, err := exec.Command("go", args...).Output()
	if err != nil {
		return nil, fmt.Errorf("listing the packages: %w", err)
	}
	return strings.Fields(string(out)), nil
}

type verdict int

const (
	notGo    verdict = iota // the change does not compile
	caught                  // a test fails
	survived                // every test passes
)

// judge tries one change: the tests of its own package first, then of the others.
func judge(p place, scratch string, also []string) (verdict, error) {
	changed := filepath.Join(scratch, "changed.go")
	if err := os.WriteFile(changed, p.text, 0o600); err != nil {
		return 0, err
	}
	overlay, err := json.Marshal(map[string]any{"Replace": map[string]string{p.file: changed}})
	if err != nil {
		return 0, err
	}
	file := filepath.Join(scratch, "overlay.json")
	if err := os.WriteFile(file, overlay, 0o600); err != nil {
		return 0, err
	}
	if _, failed := goes("build", "-overlay", file, filepath.Dir(p.file)); failed {
		return notGo, nil
	}
	for _, packages := range [][]string{{filepath.Dir(p.file)}, also} {
		if len(packages) == 0 {
			continue
		}
		args := append([]string{"test", "-vet=off", "-overlay", file, "-timeout", testsWithin.String()}, packages...)
		if _, failed := goes(args...); failed {
			return caught, nil
		}
	}
	return survived, nil
}

func goes(args ...string) (out []byte, failed bool) {
	ctx, cancel := context.WithTimeout(context.Background(), 2*testsWithin)
	defer cancel()
	run := exec.CommandContext(ctx, "go", args...)
	run.Env = append(os.Environ(), "RAPID_NOFAILFILE=1") // what fails here must not be tried again in the unchanged code
	out, err := run.CombinedOutput()
	return bytes.TrimSpace(out), err != nil
}
