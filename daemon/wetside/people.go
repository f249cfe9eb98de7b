package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"time"

	"wetside/daemon/people"
	"wetside/rules/access"
)

type peopleCmd struct {
	List   peopleListCmd   `cmd:"" help:"Who may sign in, whom an invitation waits for, and which scripts have a token."`
	Invite peopleInviteCmd `cmd:"" help:"Invite somebody: prints a code with which they choose a password, once."`
	Sites  peopleSitesCmd  `cmd:"" help:"Let somebody see other sites of a centre."`
	Reset  peopleResetCmd  `cmd:"" help:"Remove a password and print a code with which its owner chooses another."`
	NoCode peopleNoCodeCmd `cmd:"" help:"Let somebody who lost the phone sign in without a code from the app."`
	Revoke peopleRevokeCmd `cmd:"" help:"Remove an account, an invitation or a token, and end its sessions."`
	Token  peopleTokenCmd  `cmd:"" help:"Make a token for a script to sign in with."`
}

// peopleFile is the file that every sub-command works on.
type peopleFile struct {
	Data string `required:"" placeholder:"DIR" help:"The folder that keeps the history."`
}

func (c peopleFile) desk() people.Desk {
	return people.NewDesk(c.Data, people.By{Name: "command line", At: time.Now().UTC()})
}

type peopleListCmd struct{ peopleFile }

// Run prints the list.
func (c *peopleListCmd) Run(out io.Writer) error {
	members, err := c.desk().List()
	if err != nil {
		return err
	}
	for _, m := range members {
		what, state := string(m.Role), "has a password"
		switch {
		case m.Script != "":
			what, state = "script", "token: "+m.Script
		case !m.Joined:
			state = "has a code that waits to be used"
		}
		if err := writeLine(out, fmt.Sprintf("%-30s  %-10s  since %s  %s", m.Name, what, m.Since.Format(time.DateOnly), state)); err != nil {
			return err
		}
	}
	if len(members) == 0 {
		return writeLine(out, "Nobody yet. Make the first keeper: wetside people invite --data "+c.Data+" --role keeper --name \"...\"")
	}
	return nil
}

type peopleInviteCmd struct {
	peopleFile
	Name string `required:"" help:"The name as the others know it; it appears in the record."`
	Role string `required:"" enum:"volunteer,instructor,manager,keeper" help:"volunteer, instructor, manager or keeper."`

	Sites access.Sites `placeholder:"SITES" help:"Of a centre: all, or such as \"building Library; site Annex\"; none when left out."`
}

// Run prints the code.
func (c *peopleInviteCmd) Run(ctx context.Context, out io.Writer) error {
	code, err := c.desk().Invite(ctx, access.Person{Name: c.Name, Role: access.Role(c.Role), Sites: c.Sites})
	return tell(out, err, codeFor(c.Name, code))
}

// tell prints what was done, where it could be.
func tell(out io.Writer, err error, done string) error {
	if err != nil {
		return usageError{err}
	}
	return writeLine(out, done)
}

func codeFor(name, code string) string {
	return fmt.Sprintf("Give %s this code, on paper or in person. It works once, within three days, on the page /join of the dashboard:\n%s",
		name, code)
}

type peopleSitesCmd struct {
	peopleFile
	Name  string       `required:"" help:"The name of the account."`
	Sites access.Sites `arg:"" help:"The sites to be seen: all, or such as \"building Library; site Annex\"; an empty text for none."`
}

// Run lets the account see the sites.
func (c *peopleSitesCmd) Run(ctx context.Context, out io.Writer) error {
	err := c.desk().ShowSites(ctx, access.Person{Name: c.Name, Sites: c.Sites})
	return tell(out, err, fmt.Sprintf("%s can now see: %s.", c.Name, cmp.Or(string(c.Sites), "no site")))
}

type peopleResetCmd struct {
	peopleFile
	Name string `required:"" help:"The name of the account."`
}

// Run prints the code.
func (c *peopleResetCmd) Run(ctx context.Context, out io.Writer) error {
	code, err := c.desk().Reset(ctx, c.Name)
	return tell(out, err, codeFor(c.Name, code))
}

type peopleNoCodeCmd struct {
	peopleFile
	Name string `required:"" help:"The name of the account."`
}

// Run takes the second step away.
func (c *peopleNoCodeCmd) Run(ctx context.Context, out io.Writer) error {
	return tell(out, c.desk().DropSecondStep(ctx, c.Name), c.Name+" signs in without a code now, and every session has ended.")
}

type peopleRevokeCmd struct {
	peopleFile
	Name string `required:"" help:"The name of the account, the invitation or the token."`
}

// Run takes the access away.
func (c *peopleRevokeCmd) Run(ctx context.Context, out io.Writer) error {
	return tell(out, c.desk().Revoke(ctx, c.Name), c.Name+" no longer has access.")
}

type peopleTokenCmd struct {
	peopleFile
	Name string `required:"" help:"A name for the script; it appears in the record."`
	For  string `required:"" enum:"metrics,programs,reading,acting" help:"metrics, programs (/api/), reading (pages) or acting (forms)."`
}

// Run prints the token.
func (c *peopleTokenCmd) Run(ctx context.Context, out io.Writer) error {
	key, err := c.desk().MakeToken(ctx, c.Name, people.Purpose(c.For))
	return tell(out, err, "This token is shown once; keep it where only the script can read it:\n"+key)
}
