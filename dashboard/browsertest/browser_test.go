//go:build browser

package browsertest_test

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"image"
	"image/draw"
	"image/png"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// screen is a size in which every page is looked at.
type screen struct {
	name          string
	width, height int64
	touch         bool
}

func screens() []screen {
	return []screen{{"desk", 1920, 1080, false}, {"phone", 390, 844, true}}
}

// browser gives the one Chromium that all tests share: a start takes a second. A test that
// asks for more options gets one of its own. A machine without Chromium fails: these
// tests are asked for by their build flag.
func browser(t *testing.T, more ...chromedp.ExecAllocatorOption) context.Context {
	t.Helper()
	if len(more) > 0 {
		started := start(more...)
		t.Cleanup(started.stop)
		require.NoError(t, started.err)
		return started.ctx
	}
	shared := theBrowser.get()
	require.NoError(t, shared.err)
	return shared.ctx
}

// theBrowser is started when it is first asked for, and again when it has died; TestMain stops it.
var theBrowser sharedBrowser

type sharedBrowser struct {
	mu  sync.Mutex
	now chromium
}

func (s *sharedBrowser) get() chromium {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.now.ctx == nil || s.now.ctx.Err() != nil {
		s.stop()
		s.now = start()
	}
	return s.now
}

func (s *sharedBrowser) stop() {
	if s.now.stop != nil {
		s.now.stop()
	}
}

// TestMain ends the shared browser after the last test.
func TestMain(m *testing.M) {
	code := m.Run()
	theBrowser.stop()
	os.Exit(code)
}

// chromium is a Chromium with an empty profile, and how to end it.
type chromium struct {
	ctx  context.Context
	stop func()
	err  error
}

func start(more ...chromedp.ExecAllocatorOption) chromium {
	// another one, such as Chromium without windows, for its figures
	path, err := exec.LookPath(cmp.Or(os.Getenv("WETSIDE_BROWSER"), "chromium"))
	if err != nil {
		return chromium{stop: func() {}, err: fmt.Errorf("these tests need Chromium: install the package chromium: %w", err)}
	}
	profile, err := os.MkdirTemp("", "chromium-profile")
	if err != nil {
		return chromium{stop: func() {}, err: err}
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.UserDataDir(profile),
		chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun, chromedp.Flag("disable-quic", true),
		chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true))
	allocator, end := chromedp.NewExecAllocator(context.Background(), append(options, more...)...)
	ctx, leave := chromedp.NewContext(allocator)
	stop := func() { leave(); end(); _ = os.RemoveAll(profile) } // a folder that is still held is swept with the rest of the temporary ones
	return chromium{ctx, stop, chromedp.Do(ctx)}
}

// patience is how long a step in the browser may take.
const patience = 20 * time.Second

// tab is an open page and everything it did wrong.
type tab struct {
	ctx    context.Context
	t      *testing.T
	host   string
	screen screen

	mu    sync.Mutex
	wrong []string
	allow []string // console lines that a test expects
}

// open opens an empty page for a host in a size of screen. What a page keeps, such as who is signed in,
// is the tab's own: a browser sends cookies to every port of a host. Tests that walk through pages run
// side by side, as a browser draws on one core.
func open(t *testing.T, browser context.Context, host string, s screen) *tab {
	t.Helper()
	ctx, closeTab := chromedp.NewContext(browser, chromedp.WithNewBrowserContext())
	t.Cleanup(closeTab)
	p := &tab{ctx: ctx, t: t, host: host, screen: s}
	require.NoError(t, chromedp.Listen(ctx, p.listen))
	call(p, network.Enable, network.EnableParams{})
	call(p, log.Enable, cdp.Empty{})
	call(p, runtime.Enable, cdp.Empty{})
	call(p, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{Width: s.width, Height: s.height,
		DeviceScaleFactor: 1, Mobile: s.touch})
	call(p, emulation.SetTouchEmulationEnabled, emulation.SetTouchEmulationEnabledParams{Enabled: s.touch})
	return p
}

// lessMotion asks for pages that do not move.
func (p *tab) lessMotion() {
	p.t.Helper()
	call(p, emulation.SetEmulatedMedia,
		emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-reduced-motion", Value: "reduce"}}})
}

// call sends one command of the browser's protocol.
func call[P, R any](p *tab, command cdp.Command[P, R], params P) R {
	p.t.Helper()
	ctx, stop := context.WithTimeout(p.ctx, patience)
	defer stop()
	answer, err := chromedp.Call(ctx, command, params)
	require.NoError(p.t, err)
	return answer
}

// run takes steps in the page.
func (p *tab) run(steps ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	ctx, stop := context.WithTimeout(p.ctx, patience)
	defer stop()
	require.NoError(p.t, chromedp.Do(ctx, steps...))
}

// ask takes a step that gives an answer.
func ask[T any](p *tab, step chromedp.Action[T]) T {
	p.t.Helper()
	ctx, stop := context.WithTimeout(p.ctx, patience)
	defer stop()
	answer, err := chromedp.Run(ctx, step)
	require.NoError(p.t, err)
	return answer
}

func (p *tab) listen(event any) {
	switch e := event.(type) {
	case *runtime.EventExceptionThrown:
		p.blame("exception: " + told(e.ExceptionDetails))
	case *runtime.EventConsoleAPICalled:
		if e.Type == "error" || e.Type == "warning" {
			p.blame("console " + string(e.Type))
		}
	case *log.EventEntryAdded:
		if e.Entry.Level == "error" || e.Entry.Level == "warning" {
			p.blame("log: " + e.Entry.Text)
		}
	case *network.EventRequestWillBeSent:
		if u, err := url.Parse(e.Request.URL); err != nil || (u.Host != p.host && u.Scheme != "data" && u.Scheme != "about") {
			p.blame("request to another host: " + e.Request.URL)
		}
	}
}

// told says what a script failed with, and where.
func told(e *runtime.ExceptionDetails) string {
	what := e.Text
	if e.Exception != nil {
		what += " " + e.Exception.Description
	}
	return fmt.Sprintf("%s (%s:%d)", what, e.URL, e.LineNumber)
}

func (p *tab) blame(what string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, allowed := range p.allow {
		if strings.Contains(what, allowed) {
			return
		}
	}
	p.wrong = append(p.wrong, what)
}

// expect takes lines of the console that a test brings about on purpose.
func (p *tab) expect(parts ...string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.allow = append(p.allow, parts...)
}

// blameless requires that the page did nothing wrong so far.
func (p *tab) blameless() {
	p.t.Helper()
	p.mu.Lock()
	defer p.mu.Unlock()
	require.Empty(p.t, p.wrong)
}

// visit goes to an address and waits until it stands.
func (p *tab) visit(address string) {
	p.t.Helper()
	p.run(chromedp.Navigate(address))
}

// text gives the text of an element as people see it.
func (p *tab) text(selector string) string {
	p.t.Helper()
	return strings.ReplaceAll(value[string](p, "document.querySelector("+strconv.Quote(selector)+").innerText"), "\u00a0", " ")
}

// value gives what a script says.
func value[T any](p *tab, script string) T {
	p.t.Helper()
	return ask(p, chromedp.Evaluate[T](script))
}

// eventually waits for a script to become true. It says how long that takes as a rule; a
// loaded machine gets longer, and what must be quick is measured by its test.
func (p *tab) eventually(script string, usually time.Duration) {
	p.t.Helper()
	for end := time.Now().Add(max(usually, patience)); !p.holds(script); time.Sleep(30 * time.Millisecond) {
		require.True(p.t, time.Now().Before(end), "never true: %s", script)
	}
}

// holds asks whether a script is true; on a page that is just being left nothing is.
func (p *tab) holds(script string) bool {
	ctx, stop := context.WithTimeout(p.ctx, patience)
	defer stop()
	answer, err := chromedp.Run(ctx, chromedp.Evaluate[bool](script))
	return err == nil && answer
}

// shoot photographs the page, as seen or in its whole length, and keeps the picture.
func (p *tab) shoot(name string, whole bool) image.Image {
	p.t.Helper()
	quick := true // of the encoding: the pixels are the same
	answer := call(p, page.CaptureScreenshot, page.CaptureScreenshotParams{Format: "png", CaptureBeyondViewport: &whole,
		OptimizeForSpeed: &quick})
	data := answer.Data
	file := filepath.Join(shots(p.t), name+"-"+p.screen.name+".png")
	require.NoError(p.t, os.WriteFile(file, data, 0o644))
	picture, err := png.Decode(bytes.NewReader(data))
	require.NoError(p.t, err)
	return picture
}

// film keeps every frame that the browser paints while something is done.
func (p *tab) film(do func()) []image.Image {
	p.t.Helper()
	ctx, stop := context.WithCancel(p.ctx)
	defer stop()
	var mu sync.Mutex
	var reel [][]byte
	require.NoError(p.t, chromedp.Listen(ctx, func(event any) {
		if e, ok := event.(*page.EventScreencastFrame); ok {
			mu.Lock()
			defer mu.Unlock()
			reel = append(reel, e.Data)
		}
	}))
	call(p, page.StartScreencast, page.StartScreencastParams{Format: "png", EveryNthFrame: 1, MaxFramesInFlight: 1000})
	do()
	require.Eventually(p.t, func() bool {
		mu.Lock()
		defer mu.Unlock()
		return len(reel) > 0
	}, 5*time.Second, 50*time.Millisecond, "the browser paints")
	time.Sleep(300 * time.Millisecond) // for what is painted last
	call(p, page.StopScreencast, cdp.Empty{})
	mu.Lock()
	defer mu.Unlock()
	frames := make([]image.Image, len(reel))
	for i, data := range reel {
		var err error
		frames[i], err = png.Decode(bytes.NewReader(data))
		require.NoError(p.t, err)
	}
	return frames
}

// shots is the folder for pictures: WETSIDE_SHOTS, or one that goes with the test.
func shots(t *testing.T) string {
	t.Helper()
	folder := os.Getenv("WETSIDE_SHOTS")
	if folder == "" {
		return t.TempDir()
	}
	require.NoError(t, os.MkdirAll(folder, 0o755))
	return folder
}

// requireRed requires that no pixel holds green or blue and that some are lit.
func requireRed(t *testing.T, picture image.Image, what string) {
	t.Helper()
	requirePure(t, picture, what)
	require.Positive(t, countLit(picture, picture.Bounds()), "%s: nothing is lit", what)
}

// requirePure requires that no pixel holds green or blue.
func requirePure(t *testing.T, picture image.Image, what string) {
	t.Helper()
	strays := 0
	rows(picture, picture.Bounds(), func(row []uint8) {
		for i := 0; i < len(row); i += 4 {
			if row[i+1] > 0 || row[i+2] > 0 {
				strays++
			}
		}
	})
	require.Zero(t, strays, "%s: pixels that are not pure red", what)
}

func countLit(picture image.Image, in image.Rectangle) int {
	lit := 0
	rows(picture, in, func(row []uint8) {
		for i := 0; i < len(row); i += 4 {
			if row[i] > 0 {
				lit++
			}
		}
	})
	return lit
}

// rows hands over the pixels of a part of a picture, row by row, as red, green, blue and
// opacity; screenshots have no transparent pixel.
func rows(picture image.Image, in image.Rectangle, see func(row []uint8)) {
	in = in.Intersect(picture.Bounds())
	flat, ok := picture.(*image.NRGBA)
	if !ok {
		flat = image.NewNRGBA(in)
		draw.Draw(flat, in, picture, in.Min, draw.Src)
	}
	for y := in.Min.Y; y < in.Max.Y; y++ {
		at := flat.PixOffset(in.Min.X, y)
		see(flat.Pix[at : at+4*in.Dx()])
	}
}

// unfold opens what is folded.
const unfold = `document.querySelectorAll("main details").forEach(d => { d.open = true }); document.documentElement.scrollHeight`
