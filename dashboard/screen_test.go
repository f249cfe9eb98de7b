package dashboard_test

import (
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"go.uber.org/zap"

	"wetside/dashboard"
	"wetside/dashboard/viewtest"
)

func screenPages(t *testing.T) *pages {
	t.Helper()
	stage, err := viewtest.NewStage()
	require.NoError(t, err)
	stage.Begin()
	stage.Publish()
	server, err := dashboard.New(dashboard.Options{View: stage, Timers: stage, Screens: viewtest.Screens{}, Log: zap.NewNop(),
		Clock: stage.Clock})
	require.NoError(t, err)
	t.Cleanup(server.Close)
	return &pages{stage, server, t}
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

func TestTheLightOfTheTestShowsTheStepsOfASheet(t *testing.T) {
	p := screenPages(t)
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
	p := screenPages(t)
	for _, value := range []string{"%zz", strings.Repeat("a", 3000), "<b>"} {
		require.Contains(t, p.boardOn([]*http.Cookie{{Name: "wetside-screen", Value: value}}), "This screen: not tested")
	}
	require.Equal(t, http.StatusNotFound, evening(t).get("/screen").Code, "a site that keeps no tests has no such page")
}
