package ui_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// patience is when a test gives a page up. Nothing is measured by it.
const patience = 20 * time.Second

// nowAndThen is how long a wait goes without a look at a page that does not change.
const nowAndThen = 250 * time.Millisecond

// screen is a size that the pages are made for.
type screen struct {
	name          string
	width, height int64
	touch         bool
}

var (
	phone   = screen{"phone", 390, 844, true}
	tablet  = screen{"tablet", 1280, 800, true}
	wall    = screen{"wall", 1920, 1080, false}
	screens = []screen{phone, tablet, wall}

	// What the keyboard on the screen leaves of them.
	phoneTyping  = screen{"phone-typing", 390, 500, true}
	tabletTyping = screen{"tablet-typing", 1280, 430, true}
)

// chromium is the browser of nearly all tests, started by the first and stopped by
// [TestMain].
var chromium = sync.OnceValues(func() (context.Context, error) { return startChromium() })

// sounding is one that plays sound before anybody has touched a page.
var sounding = sync.OnceValues(func() (context.Context, error) {
	return startChromium(chromedp.Flag("autoplay-policy", "no-user-gesture-required"))
})

// stopChromium stops those that run.
var stopChromium = func() {}

var starting sync.Mutex // of browsers

func TestMain(m *testing.M) {
	m.Run()
	stopChromium()
}

func startChromium(flags ...chromedp.ExecAllocatorOption) (context.Context, error) {
	path, err := exec.LookPath("chromium")
	if err != nil {
		return nil, fmt.Errorf("%w; install it: apt-get install chromium", err)
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("disable-background-networking", true), chromedp.Flag("lang", "en-GB"))
	options = append(options, microphone()...)
	options = append(options, flags...)
	allocator, stopProcess := chromedp.NewExecAllocator(context.Background(), options...)
	browser, stopBrowser := chromedp.NewContext(allocator)
	starting.Lock()
	defer starting.Unlock()
	others := stopChromium
	stopChromium = func() { stopBrowser(); stopProcess(); others() }
	return browser, chromedp.Do(browser)
}

// device is somebody's tablet or phone: its tabs share what the browser keeps, and share
// nothing with other devices.
type device struct {
	t      testing.TB
	ctx    context.Context //nolint:containedctx // of its first tab
	screen screen
	sheet  string // light or dark
	close  func() // puts the device away before the test ends
}

func newDevice(t testing.TB, s screen, sheet string) *device {
	t.Helper()
	return newDeviceOf(t, chromium, s, sheet)
}

// newDeviceOf is [newDevice] with the browser given.
func newDeviceOf(t testing.TB, start func() (context.Context, error), s screen, sheet string) *device {
	t.Helper()
	browser, err := start()
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := chromedp.NewContext(browser, chromedp.WithNewBrowserContext())
	t.Cleanup(stop)
	if err := chromedp.Do(ctx); err != nil {
		t.Fatal(err)
	}
	return &device{t, ctx, s, sheet, stop}
}

// tab is a page on a device. Every step fails the test that it cannot do.
type tab struct {
	t      testing.TB
	ctx    context.Context //nolint:containedctx // chromedp keeps the page in it
	screen screen
	close  func()    // closes the tab before the test ends
	typing time.Time // when its last key was pressed, by the keyboard's clock

	mu     sync.Mutex
	faults []string // errors of the page's scripts, and breaches of its policy
}

// open opens a page in a new tab. At the end the test fails if a script of the page failed
// or its policy was broken.
func (d *device) open(address string) *tab {
	d.t.Helper()
	ctx, stop := chromedp.NewContext(d.ctx)
	d.t.Cleanup(stop)
	p := &tab{t: d.t, ctx: ctx, close: stop}
	d.t.Cleanup(p.complain)
	if err := errors.Join(chromedp.Do(ctx), chromedp.Listen(ctx, p.listen)); err != nil {
		d.t.Fatal(err)
	}
	call(p, emulation.SetFocusEmulationEnabled, emulation.SetFocusEmulationEnabledParams{Enabled: true})
	p.show(d.screen, d.sheet)
	p.do("open "+address, chromedp.Navigate(address))
	return p
}

// show shows the page on another screen, or on the other sheet.
func (p *tab) show(s screen, sheet string) {
	p.t.Helper()
	p.screen = s
	call(p, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{
		Width: s.width, Height: s.height, ScreenWidth: s.width, ScreenHeight: s.height, DeviceScaleFactor: 1, Mobile: s.touch && s.width < 600,
	})
	call(p, emulation.SetTouchEmulationEnabled, emulation.SetTouchEmulationEnabledParams{Enabled: s.touch})
	call(p, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: sheet}},
	})
}

// listen collects what a page complains of. That the network is gone is what some tests
// are about.
func (p *tab) listen(event any) {
	fault := ""
	switch e := event.(type) {
	case *runtime.EventExceptionThrown:
		fault = e.ExceptionDetails.Text
		if x := e.ExceptionDetails.Exception; x != nil {
			fault += " " + x.Description
		}
	case *runtime.EventConsoleAPICalled:
		if e.Type == runtime.ConsoleAPICalledTypeError || e.Type == runtime.ConsoleAPICalledTypeAssert {
			fault = fmt.Sprintf("console: %v", e.Args)
		}
	case *log.EventEntryAdded:
		if e.Entry.Level == log.EntryLevelError && e.Entry.Source != log.EntrySourceNetwork {
			fault = fmt.Sprintf("%s: %s", e.Entry.Source, e.Entry.Text)
		}
	}
	if fault != "" {
		p.mu.Lock()
		defer p.mu.Unlock()
		p.faults = append(p.faults, fault)
	}
}

func (p *tab) complain() {
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, f := range p.faults {
		p.t.Errorf("the page complains: %s", f)
	}
}

// call gives the browser a command for the tab.
func call[P, R any](p *tab, command cdp.Command[P, R], params P) R {
	p.t.Helper()
	ctx, stop := context.WithTimeout(p.ctx, patience)
	defer stop()
	result, err := chromedp.Call(ctx, command, params)
	if err != nil {
		p.t.Fatalf("%s: %v", command.Method, err)
	}
	return result
}

func (p *tab) do(what string, steps ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	ctx, stop := context.WithTimeout(p.ctx, patience)
	defer stop()
	if err := chromedp.Do(ctx, steps...); err != nil {
		p.t.Fatalf("%s: %v", what, err)
	}
}

// eval runs a script in the page and returns what it gives; a promise is awaited. The
// page's policy does not bind it.
func eval[T any](p *tab, script string) T {
	p.t.Helper()
	ctx, stop := context.WithTimeout(p.ctx, patience)
	defer stop()
	result, err := chromedp.Run(ctx, chromedp.Evaluate[T](script, chromedp.EvalAwaitPromise))
	if err != nil {
		p.t.Fatalf("%.200s: %v", script, err)
	}
	return result
}

// await waits until a condition of the page holds; it is looked at after each change of
// the page, and of the page that this one leads to, and now and then: what is no part of
// the document (how far it has come in, a sound that plays) changes without one.
func (p *tab) await(condition string) {
	p.t.Helper()
	ctx, stop := context.WithTimeout(p.ctx, patience)
	defer stop()
	holds := fmt.Sprintf("(() => { try { return Boolean(%s); } catch { return false; } })()", condition)
	err := errors.New("not tried")
	for err != nil && ctx.Err() == nil { // a page that is left ends the wait on it
		_, err = chromedp.Run(ctx, chromedp.Poll[bool](holds, chromedp.WithPollingMutation(), chromedp.WithPollingTimeout(nowAndThen)))
	}
	if err == nil {
		return
	}
	p.shootTo(p.t.ArtifactDir(), "fault")
	p.t.Fatalf("waited in vain for %s: %v\nthe page says:\n%s", condition, err, eval[string](p, "document.body.innerText"))
}

// write puts a text into whatever has the focus, as a person types who does not look.
func (p *tab) write(text string) {
	p.t.Helper()
	call(p, input.InsertText, input.InsertTextParams{Text: text})
}

// press presses a key, such as [kb.Tab].
func (p *tab) press(key string) {
	p.t.Helper()
	p.do("press "+key, chromedp.KeyEvent(key))
}

// say types a note and enters it.
func (p *tab) say(text string) {
	p.t.Helper()
	p.write(text)
	p.press(kb.Enter)
}

// shoot writes what the screen shows to the folder that READBACK_SHOTS names, if it does.
func (p *tab) shoot(name string) {
	p.t.Helper()
	if dir := os.Getenv("READBACK_SHOTS"); dir != "" {
		p.shootTo(dir, name)
	}
}

func (p *tab) shootTo(dir, name string) {
	p.t.Helper()
	if err := os.MkdirAll(dir, 0o755); err != nil {
		p.t.Fatal(err)
	}
	picture := call(p, page.CaptureScreenshot, page.CaptureScreenshotParams{Format: page.CaptureScreenshotFormatPng})
	if err := os.WriteFile(filepath.Join(dir, name+"-"+p.screen.name+".png"), picture.Data, 0o600); err != nil {
		p.t.Fatal(err)
	}
}
