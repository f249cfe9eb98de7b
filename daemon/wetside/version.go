package main

import (
	_ "embed"
	"fmt"
	"io"
	"runtime/debug"
	"strings"
)

// notices are the licences of all that the program contains, as `.ci/notices` gathers them.
//
//go:embed notices.txt
var notices string

// version is the module's version, and the revision it was built from where that is known.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	v := strings.Replace(info.Main.Version, "(devel)", "development build", 1)
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" && len(s.Value) >= 12 {
			v += " " + s.Value[:12]
		}
	}
	return v
}

type versionCmd struct {
	Notices bool `help:"Print the licences of the libraries and of the font that the program contains."`
}

// Run prints the version, or the licences.
func (c *versionCmd) Run(out io.Writer) error {
	if !c.Notices {
		return writeLine(out, "wetside "+version())
	}
	if _, err := io.WriteString(out, notices); err != nil {
		return fmt.Errorf("write the licences: %w", err)
	}
	return nil
}
