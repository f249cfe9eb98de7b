package dashboard_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"wetside/dashboard/formtest"
	"wetside/dashboard/viewtest"
	"wetside/rules/session"
)

const (
	redGround   = `data-look="red"`
	whiteGround = `data-look="day"`
)

func TestADeviceKeepsTheLookThatWasChosenOnIt(t *testing.T) {
	p := evening(t)
	b := formtest.On(t, p.Server)
	require.Contains(t, b.Open("/rooms/north/air").Source, whiteGround, "nobody has chosen yet")
	b.Open("/rooms/north/air").Follow("Safelight view")
	for _, page := range []string{"/rooms/north/air", "/rooms/north/tonight", "/rooms/north/probes"} {
		require.Contains(t, b.Open(page).Source, redGround, page)
	}
	b.Open("/rooms/north/tonight").Follow("White-light view")
	require.Contains(t, b.Open("/rooms/north/probes").Source, whiteGround)
	require.Contains(t, formtest.On(t, p.Server).Open("/rooms/north/air?look=red").Source, redGround, "an address may still ask for a look")
}

func TestABoardIsRedWhateverItsDeviceKeepsAndLeadsToNothingWhiteDuringAClass(t *testing.T) {
	p := evening(t)
	b := formtest.On(t, p.Server)
	b.Open("/rooms/north/air?look=day")
	for phase, ground := range map[session.Phase]string{session.Closed: whiteGround, session.Open: redGround} {
		snap := *p.Publish()
		snap.Session.Phase = phase
		p.Show(&snap)
		for _, red := range []string{"/", "/rooms/north/board", "/rooms/north/timer"} {
			page := b.Open(red)
			require.Contains(t, page.Source, redGround, red)
			require.Contains(t, page.FollowTo("/rooms/north/tonight").Source, ground, "%s while the session is %s", red, phase)
			b.Open("/rooms/north/air?look=day")
		}
	}
	b.Open("/rooms/north/board?look=red")
	require.Contains(t, b.Open("/rooms/north/probes").Source, whiteGround, "a page that is always red says nothing about the others")
}

func TestTheLookIsKeptOverSigningIn(t *testing.T) {
	b := formtest.On(t, guarded(t, nil).Server)
	require.Contains(t, b.Open("/people").Source, redGround, "whoever is not known may stand in the dark")
	b.Open("/people").Follow("White-light view")
	door := b.Open("/people")
	require.Contains(t, door.Source, whiteGround)
	inside := door.Form(formtest.Having("password")).FillIn("name", "Kim", "password", viewtest.Password).Send()
	require.Contains(t, inside.Source, whiteGround)
	require.Contains(t, formtest.On(t, guarded(t, nil).Server).Open("/rooms/north/board").Source, redGround)
}
