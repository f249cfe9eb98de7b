// Command wetside keeps watch in a shared black-and-white darkroom.
package main

import (
	"cmp"
	"context"
	_ "embed" // of the help
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"regexp"
	"slices"
	"strings"
	"syscall"
	_ "time/tzdata" // Windows and containers have no zones of their own

	"github.com/alecthomas/kong"
	kongcompletion "github.com/jotaen/kong-completion"

	"wetside/daemon/config"
	"wetside/dashboard/locale"
	"wetside/sensors/quantity"
	"wetside/sensors/quantity/phrase"
)

// The exit codes: what was asked for is done, it failed, or it could not be understood.
const (
	exitDone     = 0
	exitFailed   = 1
	exitUnusable = 2
)

// commands is the whole command line.
type commands struct {
	Run       runCmd       `cmd:"" help:"Run a site on its real serial ports."`
	Demo      demoCmd      `cmd:"" help:"Run a simulated room, to try everything out."`
	Check     checkCmd     `cmd:"" help:"Check a configuration and say what would run."`
	Selfcheck selfcheckCmd `cmd:"" help:"Check ports, clock, disk and record book, and say what to do."`
	Verify    verifyCmd    `cmd:"" help:"Check that no record and no sample was changed since it was recorded."`
	Report    reportCmd    `cmd:"" help:"Write the report for a period for an audit: PDF, page, tables, checksums."`
	Export    exportCmd    `cmd:"" help:"Write records and samples to files for other programs."`
	Import    importCmd    `cmd:"" help:"Import past readings from a file, marked as imported."`
	Prune     pruneCmd     `cmd:"" help:"Delete samples past their retention period; each deletion is recorded."`
	Backup    backupCmd    `cmd:"" help:"Copy the history to a file, also while wetside runs, and verify the copy."`
	Restore   restoreCmd   `cmd:"" help:"Put a backup into an empty data folder."`
	Centre    centreCmd    `cmd:"" help:"Keep the books of many sites in one PostgreSQL database."`
	People    peopleCmd    `cmd:"" help:"Who may sign in: list, invite, reset, revoke; tokens for scripts."`
	Mix       mixCmd       `cmd:"" help:"How much concentrate and water make a bath; check and repair a pour."`
	Time      timeCmd      `cmd:"" help:"The development time at a temperature, from published points."`
	Air       airCmd       `cmd:"" help:"Air changes, purge times, breathing averages and what belongs to them."`
	Install   installCmd   `cmd:"" help:"Install the program as a service of this computer, or upgrade it."`
	Uninstall uninstallCmd `cmd:"" help:"Take the service away again; configuration and data stay."`
	Version   versionCmd   `cmd:"" help:"Print the version, or the licences of what the program contains."`
	Manual    manualCmd    `cmd:"" hidden:"" help:"Print the page for man(1)."`

	Completion kongcompletion.Completion `cmd:"" hidden:"" help:"Print what makes a shell complete the commands."`

	UnitsOf string `placeholder:"FILE" env:"WETSIDE_CONFIG" help:"Write sentences in the units of this configuration, not JSON and tables."`
}

func main() {
	if len(os.Args) > 1 && os.Args[1] == "run" { // who hangs up before the configuration was read gets it read
		signal.Ignore(syscall.SIGHUP)
	}
	if code, is := asService(os.Args[1:]); is {
		os.Exit(code)
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := execute(ctx, os.Args[1:], os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}

// execute runs one command line and gives its exit code.
func execute(ctx context.Context, args []string, out, errs io.Writer) int {
	ended := -1
	var given commands
	parser, err := kong.New(&given, append(values(), kong.Name("wetside"), kong.UsageOnError(),
		kong.Description("wetside keeps watch in a shared black-and-white darkroom."),
		kong.Writers(out, errs), kong.Exit(func(code int) { ended = code }),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, WrapUpperBound: 100}),
		kong.BindTo(ctx, (*context.Context)(nil)), kong.BindTo(out, (*io.Writer)(nil)))...)
	if err != nil {
		fmt.Fprintln(errs, "wetside:", err)
		return exitFailed
	}
	helpWith(parser.Model)
	if kongcompletion.Register(parser); ended >= 0 { // a shell asked how a line goes on
		return ended
	}
	line, err := parser.Parse(withNegatives(asked(args)))
	if ended >= 0 { // help was asked for and printed
		return ended
	}
	if err != nil {
		fmt.Fprintf(errs, "wetside: %s (try: wetside --help)\n", unparsed(err))
		return exitUnusable
	}
	reading, err := given.reading()
	if err != nil {
		fmt.Fprintln(errs, "wetside:", err)
		return exitUnusable
	}
	line.BindTo(speaking{out, reading}, (*io.Writer)(nil))
	if err := line.Run(); err != nil {
		fmt.Fprintln(errs, "wetside:", phrase.Error(err, reading))
		if _, unusable := errors.AsType[usageError](err); unusable {
			return exitUnusable
		}
		return exitFailed
	}
	return exitDone
}

// helpText shows each command in use, under its name; what depends on the system or on the rest
// of the program stands with its command.
//
//go:embed help.txt
var helpText string

// helpWith gives the commands what their help says beside their flags.
func helpWith(app *kong.Application) {
	texts := map[string]string{}
	for part := range strings.SplitSeq("\n"+helpText, "\n# ") {
		name, text, _ := strings.Cut(part, "\n")
		texts[name] = strings.TrimSpace(text)
	}
	for _, command := range app.Leaves(true) {
		command.Detail = cmp.Or(command.Detail, texts[command.FullPath()])
	}
}

// asked lets help be a command as well: wetside help mix is wetside mix --help.
func asked(args []string) []string {
	if len(args) > 0 && args[0] == "help" {
		return append(slices.Clone(args[1:]), "--help")
	}
	return args
}

// withNegatives lets a value begin with a minus, as in --make -1L: whoever reads the flag says
// what is wrong with it. No flag of one letter is a digit.
func withNegatives(args []string) []string {
	var out []string
	for _, arg := range args {
		last := len(out) - 1
		if negative.MatchString(arg) && last >= 0 && strings.HasPrefix(out[last], "--") && !strings.Contains(out[last], "=") {
			out[last] += "=" + arg
			continue
		}
		out = append(out, arg)
	}
	return out
}

var negative = regexp.MustCompile(`^-[.,]?\d`)

// unparsed is an error of the parser in words of our own where it names its insides.
func unparsed(err error) string {
	if flag, _, missing := strings.Cut(err.Error(), ": expected string value but got \"EOL\""); missing {
		return flag + " needs a value after it"
	}
	return err.Error()
}

// number is a figure of a flag.
type number float64

// UnmarshalText reads a plain number, with a decimal point or comma.
func (n *number) UnmarshalText(text []byte) error {
	v, err := quantity.Number(string(text))
	if err != nil {
		return fmt.Errorf("%q is not a number: write it like 0.5", text)
	}
	*n = number(v)
	return nil
}

// reading are the units in which whoever gave the command line wants to read.
func (c *commands) reading() (locale.Units, error) {
	if c.UnitsOf == "" {
		return locale.Units{}, nil
	}
	site, err := config.Load(c.UnitsOf)
	if err != nil {
		return locale.Units{}, fmt.Errorf("--units-of, or WETSIDE_CONFIG: %w", err)
	}
	return locale.Units(site.Units), nil
}

// speaking is an output on which sentences are written as a place reads them.
type speaking struct {
	io.Writer
	units locale.Units
}
