// Command notices writes the licences of everything that the program contains, as they
// come with the modules: go run ./.ci/notices FILE.
package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// systems are those that the program is given away for: each may need other modules.
func systems() []string { return []string{"linux", "windows"} }

// licence is what a file with a licence is called.
var licence = regexp.MustCompile(`^(?i)(b612-)?(licen[cs]e|copying|notice|copyright|patents)([-.].*)?$`)

type module struct{ Path, Version, Dir string }

func main() {
	log.SetFlags(0)
	if len(os.Args) != 2 {
		log.Fatal("expected the file to write: go run ./.ci/notices FILE")
	}
	text, err := gather()
	if err != nil {
		log.Fatal(err)
	}
	if err := os.WriteFile(os.Args[1], text, 0o644); err != nil {
		log.Fatal(err)
	}
}

// gather is the text of the licences, in the order of the modules' names.
func gather() ([]byte, error) {
	used := map[string]module{}
	for _, system := range systems() {
		if err := modules(system, used); err != nil {
			return nil, err
		}
	}
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		return nil, fmt.Errorf("where is Go: %w", err)
	}
	used["Go"] = module{Path: "Go, its runtime and library", Dir: strings.TrimSpace(string(root))}
	used["font"] = module{Path: "the font of the pages", Dir: filepath.Join("dashboard", "assets")}
	var out bytes.Buffer
	out.WriteString("wetside contains the work of others. Each part is named here with its licence.\n")
	for _, key := range slices.Sorted(maps.Keys(used)) {
		if err := describe(&out, used[key]); err != nil {
			return nil, err
		}
	}
	return out.Bytes(), nil
}

// modules adds the modules whose packages the program contains on a system.
func modules(system string, used map[string]module) error {
	list := exec.Command("go", "list", "-deps", "-json=Module", "./daemon/wetside")
	list.Env = append(os.Environ(), "GOOS="+system, "GOARCH=amd64", "CGO_ENABLED=0")
	list.Stderr = os.Stderr
	out, err := list.Output()
	if err != nil {
		return fmt.Errorf("the packages of the program: %w", err)
	}
	for decoder := json.NewDecoder(bytes.NewReader(out)); ; {
		var p struct{ Module *module }
		switch err := decoder.Decode(&p); {
		case errors.Is(err, io.EOF):
			return nil
		case err != nil:
			return fmt.Errorf("the list of packages: %w", err)
		}
		if p.Module != nil && p.Module.Version != "" {
			used[p.Module.Path] = *p.Module
		}
	}
}

// describe writes a module's name and its licences. A module without one may not be given away.
func describe(out *bytes.Buffer, m module) error {
	files, err := os.ReadDir(m.Dir)
	if err != nil {
		return fmt.Errorf("%s: %w", m.Path, err)
	}
	found := false
	for _, f := range files {
		if f.IsDir() || !licence.MatchString(f.Name()) {
			continue
		}
		text, err := os.ReadFile(filepath.Join(m.Dir, f.Name()))
		if err != nil {
			return fmt.Errorf("%s: %w", m.Path, err)
		}
		fmt.Fprintf(out, "\n%s\n%s %s (%s)\n\n%s\n", strings.Repeat("=", 78), m.Path, m.Version, f.Name(),
			bytes.TrimSpace(bytes.ReplaceAll(text, []byte("\r\n"), []byte("\n"))))
		found = true
	}
	if !found {
		return fmt.Errorf("%s %s comes without a licence file: it may not be given away with the program", m.Path, m.Version)
	}
	return nil
}
