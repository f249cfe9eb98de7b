package daemon_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"wetside/daemon/config"
	"wetside/daemon/history/disktest"
	"wetside/dashboard/formtest"
	"wetside/rules/duty"
	"wetside/rules/screentest"
)

func TestABackupIsMadeByAPressAndARefusalIsSaid(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "copies")
	require.NoError(t, os.Mkdir(folder, 0o700))
	s := newNorth(t, func(c *config.Config) { c.Backup = config.Backup{Folder: folder, Every: 24 * time.Hour, Keep: 9} })
	byIda := func() (n int) {
		for _, r := range s.Kept("backup made") {
			if r.Person == "Ida" {
				n++
			}
		}
		return n
	}
	form := s.fills("/keeper", "backup")
	require.NotEmpty(t, form.Send().Problem())
	require.Zero(t, byIda())
	require.Regexp(t, `Backup .*copies.*\.db made and verified \(record \d+\)\.`, s.sent(form.Fill("who", "Ida").Send()))
	require.Equal(t, 1, byIda())
	require.NoError(t, os.RemoveAll(folder))
	require.Contains(t, s.fills("/keeper", "backup", "who", "Ida").Send().Problem(), "copies")
	require.Equal(t, 1, byIda())
}

// dutyForm is the form of a duty, filled in.
func (s *north) dutyForm(typed ...string) *formtest.Form {
	s.t.Helper()
	return s.opens("/duties").Form(formtest.Doing("duty"), formtest.Having("alarm", "eyewash")).FillIn("who", "Ida", "evidence",
		"ran three minutes, clear").FillIn(typed...)
}

func TestADutyIsEnteredOnceWithItsEvidence(t *testing.T) {
	s := newNorth(t)
	form := s.dutyForm()
	first := form.Send()
	form.Send()
	require.Len(t, s.Kept(duty.Kind), 1, "a button pressed twice acts once")
	note, by := lastOf[duty.Note](s, duty.Kind)
	require.Equal(t, duty.Note{Duty: "eyewash", Evidence: "ran three minutes, clear"}, note)
	require.Equal(t, "Ida", by.Person)
	require.True(t, by.Happened.IsZero())
	require.Contains(t, s.sent(first), "Done, entered by Ida.")

	s.sent(s.dutyForm("on", "2026-01-12", "why", "the paper came today").Send())
	_, late := lastOf[duty.Note](s, duty.Kind)
	require.Equal(t, "2026-01-12", late.Happened.Format(time.DateOnly))
	require.Equal(t, "the paper came today", late.Reason)
}

func TestAnEntryOfADutyThatMakesNoSenseComesBack(t *testing.T) {
	var disk *disktest.Disk
	s := newNorth(t, onDisk(t, &disk))
	for _, c := range []struct {
		more []string
		want string
	}{
		{[]string{"evidence", " "}, "Please fill in: Evidence"},
		{[]string{"who", ""}, "Please fill in"},
		{[]string{"on", "2026-13-40", "why", "x"}, `"2026-13-40" is not a past day`},
		{[]string{"on", "2027-01-01", "why", "x"}, `"2027-01-01" is not a past day`},
		{[]string{"on", "2026-01-12"}, "Please fill in"},
		{[]string{"evidence", strings.Repeat("x", 201)}, "201 characters are too many"},
	} {
		require.Contains(t, s.dutyForm(c.more...).Send().Problem(), c.want)
	}
	form := s.dutyForm()
	disk.Break(disktest.Fault{Op: disktest.Write, Code: disktest.Full})
	defer disk.Mend()
	problem := form.Send().Problem()
	require.Contains(t, problem, "Nothing was recorded")
	require.Contains(t, problem, "the disk is full")
	require.Empty(t, s.Kept(duty.Kind))
}

func screenForm(b *formtest.Browser, typed ...string) *formtest.Form {
	return b.Open("/screen").Form(formtest.Doing("screen")).FillIn("screen", "Laborrechner Ü", "brightness", "lowest", "paper",
		"Grade 2 glossy", "lay", "beside the developer", "before", "none", "after", "7", "who", "Ida").FillIn(typed...)
}

func TestAScreenIsUntestedUntilItsOwnBrowserHasATest(t *testing.T) {
	s := newNorth(t)
	untested := func(b *formtest.Browser) { b.Open(boardPage).Says("This screen: not tested") }
	b := s.browser()
	untested(b)
	form := screenForm(b)
	recorded := s.sent(form.Send())
	require.Contains(t, recorded, "Recorded.</strong> Laborrechner Ü with Grade 2 glossy: ")
	note, by := lastOf[screentest.Note](s, screentest.Kind)
	require.Equal(t, "Ida", by.Person)
	require.Equal(t, "Laborrechner Ü", note.Screen)
	require.Equal(t, 3*time.Minute, note.Clear())
	b.Open(boardPage).Says("Grade 2 glossy: no mark after up to 3 minutes of its light")
	untested(s.browser()) // another screen
	require.Contains(t, s.page("/screen"), "Laborrechner Ü")

	cookie := s.posts(screenForm(s.browser())).Header.Values("Set-Cookie")
	require.Len(t, cookie, 1)
	require.Contains(t, cookie[0], "HttpOnly")
	marked := s.browser()
	screenForm(marked, "before", "1").Send()
	marked.Open(boardPage).Says("marks the paper within a minute")
}

func TestATestThatIsNotWholeComesBackWithWhatWasTyped(t *testing.T) {
	var disk *disktest.Disk
	s := newNorth(t, onDisk(t, &disk))
	for field, wrong := range map[string]string{"screen": "", "brightness": "", "paper": strings.Repeat("x", 61), "lay": "", "before": "5",
		"after": "", "who": ""} {
		b := s.browser()
		back := screenForm(b).Forge("a choice may be missing", field, wrong).Send()
		require.NotEmpty(t, back.Problem(), field)
		require.Contains(t, s.read(back), "beside the developer", field)
		b.Open(boardPage).Says("This screen: not tested")
	}
	disk.Break(disktest.Fault{Op: disktest.Write, Code: disktest.Full})
	defer disk.Mend()
	require.Contains(t, screenForm(s.browser()).Send().Problem(), "he disk is full")
	require.Empty(t, s.Kept(screentest.Kind))
}
