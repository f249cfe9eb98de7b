package dashboard_test

import (
	"errors"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/dashboard"
	"wetside/dashboard/formtest"
	"wetside/dashboard/viewtest"
)

func screenPages(t *testing.T) (*pages, *viewtest.Screens) {
	t.Helper()
	stage, err := viewtest.NewStage()
	require.NoError(t, err)
	stage.Begin()
	stage.Publish()
	screens := &viewtest.Screens{}
	server, err := dashboard.New(dashboard.Options{View: stage, Clocks: stage, Screens: screens, Log: zap.NewNop(), Clock: stage.Clock})
	require.NoError(t, err)
	t.Cleanup(server.Close)
	return &pages{stage, server, t}, screens
}

func (p *pages) screenForm(typed ...string) *formtest.Form {
	p.t.Helper()
	return p.fills("/screen", "screen", "screen", "Laborrechner Ü", "brightness", "lowest", "paper", "Grade 2 glossy", "lay",
		"beside the developer",
		"before", "none", "after", "7", "who", "Ida").FillIn(typed...)
}

// boardOn gives the board as a browser with that cookie sees it.
func (p *pages) boardOn(cookies []*http.Cookie) string {
	r := httptest.NewRequest(http.MethodGet, "/rooms/"+p.Now().Rooms[0].Room+"/board", nil)
	for _, c := range cookies {
		r.AddCookie(c)
	}
	out := httptest.NewRecorder()
	p.ServeHTTP(out, r)
	require.Equal(p.t, http.StatusOK, out.Code)
	return out.Body.String()
}

func TestAScreenIsUntestedUntilItsOwnBrowserHasATest(t *testing.T) {
	p, screens := screenPages(t)
	require.Contains(t, p.boardOn(nil), "This screen: not tested")

	out := p.posts(p.screenForm())
	require.Equal(t, http.StatusSeeOther, out.Code, out.Body)
	kept := screens.ScreenTests()
	require.Len(t, kept, 1)
	require.Equal(t, "Laborrechner Ü", kept[0].Screen)
	require.Equal(t, 3*time.Minute, kept[0].Clear())

	cookies := out.Result().Cookies()
	require.Len(t, cookies, 1)
	require.True(t, cookies[0].HttpOnly)
	require.Contains(t, p.boardOn(cookies), "Grade 2 glossy: no mark after up to 3 minutes of its light")
	require.Contains(t, p.boardOn(nil), "This screen: not tested", "another screen is still untested")
	require.Contains(t, p.page("/screen"), "Laborrechner Ü")
	require.Contains(t, p.page(out.Header().Get("Location")), "Recorded.</strong> Laborrechner Ü with Grade 2 glossy: ")
}

func TestAScreenThatMarksThePaperIsSaidToDoSo(t *testing.T) {
	p, _ := screenPages(t)
	out := p.posts(p.screenForm("before", "1"))
	require.Contains(t, p.boardOn(out.Result().Cookies()), "marks the paper within a minute")
}

func TestATestThatIsNotWholeComesBackWithWhatWasTyped(t *testing.T) {
	p, screens := screenPages(t)
	for field, wrong := range map[string]string{"screen": "", "brightness": "", "paper": strings.Repeat("x", 61), "lay": "", "before": "5",
		"after": "", "who": ""} {
		out := p.posts(p.screenForm().Forge("a choice may be missing", field, wrong))
		require.Equal(t, http.StatusSeeOther, out.Code)
		require.Empty(t, out.Result().Cookies())
		text := p.page(out.Header().Get("Location"))
		require.Contains(t, text, "beside the developer", field)
		require.Contains(t, text, `role="alert"`, field)
	}
	require.Empty(t, screens.ScreenTests())

	screens.Err = errors.New("the disk is full: make room")
	require.Contains(t, p.page(p.posts(p.screenForm()).Header().Get("Location")), "The disk is full: make room.")
}

func TestTheLightOfTheTestShowsTheStepsOfASheet(t *testing.T) {
	p, _ := screenPages(t)
	text := p.page("/screen/light")
	require.Contains(t, text, `data-look="red"`)
	require.Equal(t, []string{"60", "120", "240"}, secondsOf(text), "K-4: strips of 1, 3 and 7 minutes")
}

func secondsOf(text string) (list []string) {
	for _, m := range regexp.MustCompile(`data-seconds="(\d+)"`).FindAllStringSubmatch(text, -1) {
		list = append(list, m[1])
	}
	return list
}

func TestACookieOfNonsenseIsAnUntestedScreen(t *testing.T) {
	p, _ := screenPages(t)
	for _, value := range []string{"%zz", strings.Repeat("a", 3000), "<b>"} {
		require.Contains(t, p.boardOn([]*http.Cookie{{Name: "wetside-screen", Value: value}}), "This screen: not tested")
	}
	require.Equal(t, http.StatusNotFound, evening(t).get("/screen").Code, "a site that keeps no tests has no such page")
}
