package ui_test

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"readback/capture/journal"
)

// wallLarge is a wall of four times as many pixels.
var wallLarge = screen{"wall-large", 3840, 2160, false}

// ofBench is what the wall shows of a job, as text.
func ofBench(job string) string {
	return `document.querySelector('#benches > li[data-job="` + job + `"]')`
}

// openWall opens the wall, and waits until it shows so many benches.
func (d *device) openWall(s *shop, benches int) *tab {
	d.t.Helper()
	p := d.open(s.address + "/wall")
	p.await(fmt.Sprintf(`document.getElementById("line").dataset.line === "up" && document.querySelectorAll("#benches > li").length === %d`, benches))
	return p
}

// click clicks an element as a mouse does, which wakes the loudspeaker.
func (p *tab) click(selector string) {
	p.t.Helper()
	p.do("click "+selector, chromedp.Click(chromedp.CSS(selector)))
}

// calledOut counts the calls of a wall from now on.
const calledOut = `(window.calls = 0, document.addEventListener("readback:speaking", (e) => e.detail.text === "call" && window.calls++), true)`

// TestAStopReachesEveryWall: a stop that is typed on one browser stands on all others' walls, first and
// with a call, until somebody answers it by name; that is shown on every wall and on the sheet, kept in
// the record, and ends when the stop is mended. What is raised anew wants a new answer.
func TestAStopReachesEveryWall(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	s.openJob("MW-1041", nil)
	s.openJob("MW-1042", map[string]string{"base": "long", "stages": "3"})
	s.bench("MW-1041", "build spacer 64 millimetres")
	large, small := newDevice(t, wall, "light").openWall(s, 2), newDevice(t, phone, "light").openWall(s, 2)
	if got := eval[[]string](large, `[...document.querySelectorAll("#benches > li")].map((e) => e.dataset.job + " " + e.dataset.word)`); strings.Join(got, ",") != "MW-1041 working,MW-1042 working" {
		t.Fatalf("the wall shows %v", got)
	}
	eval[bool](large, calledOut)
	large.click("#call")
	large.await(`document.getElementById("call").ariaPressed === "true"`)
	fetched := eval[int](large, `performance.getEntriesByType("resource").filter((e) => e.initiatorType === "fetch").length`)

	sheet := newDevice(t, tablet, "light").openSheet(s, "MW-1042")
	sheet.say("build spacer 88.5 millimetres")
	sheet.await(allSent)
	sheet.say("seat is clean")
	sheet.await(allSent)
	sheet.say("cut impeller stage one")
	for _, p := range []*tab{large, small} {
		p.await(ofBench("MW-1042") + `.dataset.word === "stop"`)
		if first := eval[string](p, `document.querySelector("#benches > li").dataset.job`); first != "MW-1042" {
			t.Errorf("%s: %s stands first", p.screen.name, first)
		}
		if title := eval[string](p, "document.title"); !strings.HasPrefix(title, "STOP MW-1042") {
			t.Errorf("%s: its title is %q", p.screen.name, title)
		}
		if alarm := p.text("#alarm"); !strings.Contains(alarm, "MW-1042") {
			t.Errorf("%s: it announces %q", p.screen.name, alarm)
		}
	}
	if text := eval[string](large, ofBench("MW-1042")+".innerText"); !strings.Contains(text, "88.5 mm") || !strings.Contains(strings.ToUpper(text), "STOP") {
		t.Errorf("the bench says %q", text)
	}
	large.await("window.calls > 0")
	if n := eval[int](large, `performance.getEntriesByType("resource").filter((e) => e.initiatorType === "fetch").length`); n != fetched {
		t.Errorf("the wall has asked the server %d times for what should be pushed", n-fetched)
	}

	small.click(`li[data-job="MW-1042"] button`)
	small.await(`document.getElementById("answer").open && document.querySelectorAll("#answer-known button").length === 1`)
	small.press(kb.Enter) // without a name
	small.await(`!document.getElementById("answer-wrong").hidden`)
	small.write("Tom Reed")
	small.press(kb.Enter)
	for _, p := range []*tab{large, small} {
		p.await(ofBench("MW-1042") + `.textContent.includes("Tom Reed sees to it, since ")`)
		p.await(`document.title === "Wall · Readback" && document.getElementById("alarm").textContent === ""`)
	}
	if eval[bool](small, `document.getElementById("answer").open`) {
		t.Error("the form is still open")
	}
	sheet.await(`document.querySelector("#open-list .heeded")?.textContent.includes("Tom Reed sees to it")`)

	entries, err := s.store.Entries(t.Context(), "MW-1042", 0, 100)
	if err != nil {
		t.Fatal(err)
	}
	if e := entries[len(entries)-1]; e.Kind != journal.Heeded || e.Person != "Tom Reed" || e.Of != 4 {
		t.Errorf("the record ends with %+v", e)
	}

	sheet.say("full impeller stage one")
	for _, p := range []*tab{large, small} {
		p.await(ofBench("MW-1042") + `.dataset.word === "working"`)
	}
	sheet.say("cut impeller stage one")
	large.await(ofBench("MW-1042") + `.querySelector("button") !== null`)
	sheet.await(`document.querySelector("#open-list .heeds") !== null`)
}

// TestASheetAnswersAStop by whoever is at the bench.
func TestASheetAnswersAStop(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	s.openJob("MW-1042", map[string]string{"base": "long", "stages": "3"})
	s.bench("MW-1042", "cut impeller stage one")
	p, w := newDevice(t, tablet, "light").openSheet(s, "MW-1042"), newDevice(t, wall, "light").openWall(s, 1)
	p.await(`document.querySelector("#open-list .heeds") !== null`)
	p.click("#open-list .heeds")
	p.await(`document.getElementById("hint").textContent.includes("Give a name first")`)
	p.give("Ines")
	p.await(atBench("Ines"))
	p.click("#open-list .heeds")
	w.await(ofBench("MW-1042") + `.textContent.includes("Ines sees to it")`)
	p.await(`document.querySelector("#open-list .heeded") !== null`)
}

// TestSilenceIsOfTheServersClock: it grows by that, and while the line is down nothing is said of it.
// When it is back, the wall shows what has happened meanwhile.
func TestSilenceIsOfTheServersClock(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	s.openJob("MW-1041", nil)
	s.bench("MW-1041", "build spacer 64 millimetres")
	p := newDevice(t, wall, "light").openWall(s, 1)
	silent := func(what string) {
		t.Helper()
		p.await(ofBench("MW-1041") + fmt.Sprintf(`.querySelector(".silence").textContent === %q`, what))
	}
	silent("Spoke just now")
	p.letters("MW-1041", 4.1, 3.2, 3.2)
	s.ahead.Store(int64(25 * time.Minute))
	silent("Silent 25 min") // with the next sign of life
	p.await(ofBench("MW-1041") + `.dataset.word === "quiet"`)
	s.bench("MW-1041", "seat is clean")
	silent("Spoke just now")
	p.await(ofBench("MW-1041") + `.dataset.word === "working"`)

	s.line.cut()
	silent("Silence not known: the line is down")
	p.await(ofBench("MW-1041") + `.dataset.word === "unknown"`)
	if said := p.text("#line"); !strings.Contains(said, "Line lost") || !strings.Contains(said, "as it was at") {
		t.Errorf("with the line down it says %q", said)
	}
	p.shoot("wall-down")
	s.ahead.Store(int64(50 * time.Minute))
	s.line.mend()
	silent("Silent 25 min")
	p.await(`document.getElementById("line").dataset.line === "up"`)
	s.openJob("MW-1042", nil)
	p.await(ofBench("MW-1042") + ` !== null`)

	s.line.silence() // a dead radio link: nothing ends, and nothing comes
	silent("Silence not known: the line is down")
	s.line.cut()
	s.line.mend()
	silent("Silent 25 min")
}

// fullWall is a shop whose benches stand in every way that there is.
func fullWall(t *testing.T) *shop {
	s := fullShop(t)
	s.openJob("MW-1054", nil)
	s.ahead.Store(int64(3 * time.Hour)) // all others are quiet
	s.bench("MW-1050", "build spacer 64 millimetres")
	s.openJob("MW-1055", map[string]string{"base": "long", "stages": "3"})
	s.bench("MW-1055", "cut impeller stage one")
	s.heed(t, "MW-1055", "Tom Reed")
	return s
}

// heed answers the first stop of a job.
func (s *shop) heed(t *testing.T, job, person string) {
	t.Helper()
	state, err := s.floor.State(t.Context(), job)
	if err != nil {
		t.Fatal(err)
	}
	stop := state.Stops[0]
	body := fmt.Sprintf(`{"id":"01J0000000000000000000HEED","rule":%q,"callout":%q,"at":{"stage":"1"},"text":%q,"since":%d,"person":%q}`, stop.Rule, stop.Callout, stop.Text, stop.Since, person)
	request, err := http.NewRequestWithContext(t.Context(), http.MethodPost, s.address+"/api/jobs/"+job+"/heed", strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	request.Header.Set("Content-Type", "application/json")
	r, err := (&http.Client{Timeout: 10 * time.Second}).Do(request)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Body.Close()
	if r.StatusCode != http.StatusCreated {
		t.Fatalf("answer a stop of %s: status %d", job, r.StatusCode)
	}
}

// TestWallIsReadFromAfar looks at the wall at each size, by day and in the dark, and measures its letters
// on the large ones as shares of the screen's height.
func TestWallIsReadFromAfar(t *testing.T) {
	t.Parallel()
	s, empty := fullWall(t), newShop(t)
	p := newDevice(t, wall, "light").openWall(s, 7)
	stands := eval[string](p, `[...document.querySelectorAll("#benches > li")].map((e) => e.dataset.job + " " + e.dataset.word).join(", ")`)
	if want := "MW-1051 stop, MW-1055 stop, MW-1053 out, MW-1052 unclear, MW-1050 working, MW-1054 quiet, MW-1041 finished"; stands != want && stands != strings.Replace(want, "unclear", "asked", 1) {
		t.Errorf("the wall shows %s, want %s", stands, want)
	}
	for _, screen := range []screen{wall, wallLarge, tablet, phone} {
		p.show(screen, "light")
		p.shoot("wall-light")
		for _, wrong := range eval[[]string](p, misfits) {
			t.Errorf("%s: %s", screen.name, wrong)
		}
		if screen == tablet {
			checkAccess(t, p, everyRule)
		}
		if screen != wall && screen != wallLarge {
			continue
		}
		p.letters("MW-1050", 3.4, 2.8, 2.4)
	}
	for _, screen := range []screen{phone, wall} {
		p.show(screen, "dark")
		p.shoot("wall-dark")
		checkAccess(t, p, contrast)
	}
	p.click(`li[data-job="MW-1051"] button`)
	p.await(`document.getElementById("answer").open && document.querySelector("#answer-known button")`)
	for _, screen := range []screen{phone, phoneTyping, tabletTyping, wall} {
		p.show(screen, "light")
		p.shoot("wall-answer")
		for _, wrong := range eval[[]string](p, misfits) {
			t.Errorf("%s: %s", screen.name, wrong)
		}
	}
	checkAccess(t, p, everyRule)
	none := newDevice(t, phone, "light").openWall(empty, 0)
	none.await(`document.getElementById("none").textContent === "No bench is at work."`)
	checkAccess(t, none, everyRule)
}

// TestWallOfManyBenches shows more than nine on a wall, all of them on the screen.
func TestWallOfManyBenches(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	for i := range 16 {
		s.openJob(fmt.Sprintf("MW-%d", 2001+i), nil)
	}
	s.bench("MW-2009", "cut impeller stage one")
	p := newDevice(t, wall, "light").openWall(s, 16)
	p.await(ofBench("MW-2009") + `.dataset.word === "stop"`)
	p.shoot("wall-many")
	for _, wrong := range eval[[]string](p, misfits) {
		t.Error(wrong)
	}
	if eval[bool](p, `document.documentElement.scrollHeight > innerHeight`) {
		t.Error("sixteen benches do not fit on the wall")
	}
}

// letters measures the capitals of a bench on the wall, in % of the screen's height: of the job, of its
// word and of its silence. At 5 m a capital of 23 mm is seen under 16 minutes of arc, the least that ISO
// 9241-303 has for text; on a wall of 55 inches that is 3.4 %, on one of 75 inches 2.5 %.
func (p *tab) letters(job string, leastJob, leastWord, leastSilence float64) {
	p.t.Helper()
	for what, least := range map[string]float64{"h2 a": leastJob, ".word b": leastWord, ".silence": leastSilence} {
		if high := 100 * p.capital(fmt.Sprintf(`li[data-job=%q] %s`, job, what)) / float64(p.screen.height); high < least {
			p.t.Errorf("%s: capitals of %s are %.2f %% of the screen's height, want %.1f", p.screen.name, what, high, least)
		}
	}
}

// capital measures how high the first letter of an element is drawn, in pixels of the page: its ink.
func (p *tab) capital(selector string) float64 {
	p.t.Helper()
	box := eval[[]float64](p, fmt.Sprintf(`(() => {
		const e = document.querySelector(%q), r = document.createRange();
		e.scrollIntoView({ block: "center" });
		r.setStart(e.firstChild, 0);
		r.setEnd(e.firstChild, 1);
		const b = r.getBoundingClientRect();
		return [b.x + scrollX, b.y + scrollY, b.width, b.height];
	})()`, selector))
	picture := call(p, page.CaptureScreenshot, page.CaptureScreenshotParams{
		Format: page.CaptureScreenshotFormatPng, CaptureBeyondViewport: new(true),
		Clip: &page.Viewport{X: box[0], Y: box[1], Width: box[2], Height: box[3], Scale: 1},
	}).Data
	img, err := png.Decode(bytes.NewReader(picture))
	if err != nil {
		p.t.Fatal(err)
	}
	return float64(tall(img))
}

// tall is how many rows of a picture, but for an underline's, have ink in the middle half of its columns.
func tall(img image.Image) int {
	b := img.Bounds()
	paper := img.At(b.Min.X, b.Min.Y)
	first, last := b.Max.Y, b.Min.Y-1
	for x := b.Min.X; x < b.Min.X+b.Dx()*3/4; x++ {
		top, _ := inkOf(img, x, paper)
		first = min(first, top)
	}
	// The foot of the letter: the last row with ink before the first that has none.
	for y := first; y < b.Max.Y; y++ {
		if !rowInk(img, y, paper) {
			break
		}
		last = y
	}
	return last - first + 1
}

func rowInk(img image.Image, y int, paper interface{ RGBA() (r, g, b, a uint32) }) bool {
	b := img.Bounds()
	pr, pg, pb, _ := paper.RGBA()
	for x := b.Min.X; x < b.Max.X; x++ {
		r, g, bl, _ := img.At(x, y).RGBA()
		if apart(r, pr)+apart(g, pg)+apart(bl, pb) > 3*0x3000 {
			return true
		}
	}
	return false
}
