package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"runtime"
	"time"

	"wetside/daemon"
	"wetside/sensors/serialport"
)

type selfcheckCmd struct {
	Config string `required:"" placeholder:"FILE" help:"The configuration of the site."`
	Data   string `placeholder:"DIR" help:"The folder that keeps the history, if wetside runs with --data."`
}

// Help shows the command in use.
func (selfcheckCmd) Help() string { return selfcheckHelp(runtime.GOOS) }

// selfcheckHelp is for an operating system by its name in Go.
func selfcheckHelp(system string) string {
	if system == "windows" {
		return `Examples:
  wetside selfcheck --config C:\wetside\site.toml

It changes nothing and works while wetside runs. Run it as the user for whom wetside starts.`
	}
	return `Examples:
  wetside selfcheck --config /etc/wetside/site.toml

It changes nothing and works while wetside runs. Run it as the user of wetside:
  sudo -u wetside wetside selfcheck --config /etc/wetside/site.toml`
}

// Run prints how everything stands that a keeper would be asked about.
func (c *selfcheckCmd) Run(ctx context.Context, out io.Writer) error {
	bad := 0
	checks := daemon.CheckSelf(ctx, daemon.SelfCheckOptions{File: c.Config, Data: c.Data, Version: version(), Ports: serialport.List(),
		Now: time.Now()})
	for _, check := range append(checks, checkService("", c.Config)...) {
		word := "ok   "
		if !check.Good {
			word, bad = "LOOK ", bad+1
		}
		line := fmt.Sprintf("%s%-18s %s", word, check.What, check.Detail)
		if check.Do != "" {
			line += "\n                        -> " + check.Do
		}
		if err := writeLine(out, line); err != nil {
			return err
		}
	}
	if bad > 0 {
		return errors.New("lines marked LOOK need attention")
	}
	return nil
}
