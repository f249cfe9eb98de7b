package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/alecthomas/kong"
)

type manualCmd struct{}

// Run prints the page of the manual in the form of man(7), which man(1) shows.
func (manualCmd) Run(app *kong.Kong, out io.Writer) error {
	var page strings.Builder
	fmt.Fprintf(&page, ".TH WETSIDE 1\n.SH NAME\nwetside \\- %s\n", manText(strings.TrimPrefix(app.Model.Help, "wetside ")))
	page.WriteString(".SH SYNOPSIS\n.B wetside\n.I command\n[flags]\n.SH OPTIONS\n")
	manFlags(&page, app.Model.Flags)
	page.WriteString(".SH COMMANDS\n")
	for _, command := range app.Model.Leaves(true) {
		manCommand(&page, command)
	}
	page.WriteString(".SH EXIT STATUS\n0: done. 1: failed. 2: the arguments or the configuration are not usable.\n")
	if _, err := io.WriteString(out, page.String()); err != nil {
		return fmt.Errorf("write the page of the manual: %w", err)
	}
	return nil
}

// manCommand describes one command: what it takes, what it does, its flags and its examples.
func manCommand(page *strings.Builder, command *kong.Node) {
	fmt.Fprintf(page, ".SS %s\n%s\n", manText(command.FullPath()), manText(command.Help))
	manFlags(page, command.Flags)
	if command.Detail != "" {
		fmt.Fprintf(page, ".PP\n.nf\n%s\n.fi\n", manText(command.Detail))
	}
}

// manFlags lists flags with what they do.
func manFlags(page *strings.Builder, flags []*kong.Flag) {
	for _, f := range flags {
		fmt.Fprintf(page, ".TP\n.B %s\n%s\n", manText(f.String()), manText(f.Help))
	}
}

// manText is plain text as man(7) reads it: a backslash, a hyphen and a line that begins
// with a point or an apostrophe would mean something else.
func manText(text string) string {
	lines := strings.Split(strings.NewReplacer(`\`, `\e`, "-", `\-`).Replace(strings.TrimSpace(text)), "\n")
	for i, line := range lines {
		if strings.HasPrefix(line, ".") || strings.HasPrefix(line, "'") {
			lines[i] = `\&` + line
		}
	}
	return strings.Join(lines, "\n")
}
