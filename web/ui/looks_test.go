package ui_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"testing"

	"github.com/chromedp/cdproto/page"

	"readback/capture/floor/floortest"
)

// lettersHigh is 30 mm on a tablet of 10.1 inches with 1280 x 800 CSS pixels, which has
// 149 of them to the inch.
const lettersHigh = 30 / 25.4 * 149

// letters draws each word of a verdict on the sheet as an answer would.
const letters = `(async (word) => {
	const scripts = document.querySelector("script[type=module]").src;
	const { drawSlab } = await import(scripts.replace("sheet.js", "slab.js"));
	const { words } = await import(scripts.replace("sheet.js", "signs.js"));
	const finding = (rule, severity) => ({ id: word, text: word, findings: [{ rule, severity, text: word }] });
	const notes = {
		in: { readings: [{ verdict: "in" }] }, close: { readings: [{ verdict: "close" }] }, out: { readings: [{ verdict: "out" }] },
		unclear: finding("ask", "note"), stop: finding("hold_point", "stop"), order: finding("pass_order", "warn"), void: finding("void", "warn"),
		gauge: finding("instrument", "warn"), left: finding("missing", "warn"), done: { marks: [{ is: "done" }] }, noted: { kind: "remark" },
		kept: { waiting: true }, refused: { refused: "no room" },
	};
	if (Object.keys(words).join() !== Object.keys(notes).join()) throw new Error("the page has other words: " + Object.keys(words));
	if (!word) return "";
	drawSlab(notes[word]);
	const box = document.querySelector("#slab-word .plate").getBoundingClientRect();
	return JSON.stringify({ shown: document.getElementById("slab").dataset.word, label: document.getElementById("slab-word").ariaLabel, x: box.x, y: box.y, width: box.width, height: box.height });
})`

// plated is where a word stands.
type plated struct {
	Shown, Label        string
	X, Y, Width, Height float64
}

// TestLettersAreReadFromAfar measures the ink of each letter of each verdict on the
// tablet, by day and in the dark.
func TestLettersAreReadFromAfar(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	s.openJob("MW-1041", nil)
	for _, sheet := range []string{"light", "dark"} {
		p := newDevice(t, tablet, sheet).openSheet(s, "MW-1041")
		for word, plate := range map[string]string{
			"in": "IN", "close": "CLOSE", "out": "OUT", "unclear": "UNCLEAR", "stop": "STOP", "order": "ORDER", "void": "VOID",
			"gauge": "TOOL", "left": "LEFT", "done": "DONE", "noted": "NOTED", "kept": "KEPT", "refused": "REFUSED",
		} {
			var box plated
			if err := json.Unmarshal([]byte(eval[string](p, fmt.Sprintf("%s(%q)", letters, word))), &box); err != nil {
				t.Fatal(err)
			}
			if box.Shown != word || box.Label == "" {
				t.Errorf("%s: shown as %q, called %q", word, box.Shown, box.Label)
			}
			if box.X < 0 || box.X+box.Width > float64(tablet.width) {
				t.Errorf("%s: leaves the screen: %+v", word, box)
			}
			heights := inkHeights(t, call(p, page.CaptureScreenshot, page.CaptureScreenshotParams{
				Format: page.CaptureScreenshotFormatPng,
				Clip:   &page.Viewport{X: box.X, Y: box.Y - 4, Width: box.Width, Height: box.Height + 8, Scale: 1},
			}).Data)
			if len(heights) != len(plate) {
				t.Errorf("%s: %d letters are drawn apart, want the %d of %s", word, len(heights), len(plate), plate)
			}
			for i, h := range heights {
				if float64(h) < lettersHigh {
					t.Errorf("%s: letter %d is %d pixels high, want %.0f", word, i+1, h, lettersHigh)
				}
			}
		}
	}
}

// inkHeights returns how high each letter of a picture is: the rows with ink in each run
// of columns with ink. The first pixel is paper.
func inkHeights(t *testing.T, picture []byte) (heights []int) {
	t.Helper()
	img, err := png.Decode(bytes.NewReader(picture))
	if err != nil {
		t.Fatal(err)
	}
	b := img.Bounds()
	paper := img.At(b.Min.X+b.Dx()/2, b.Min.Y)
	top, bottom := b.Max.Y, b.Min.Y-1
	for x := b.Min.X; x <= b.Max.X; x++ {
		first, last := inkOf(img, x, paper)
		if x < b.Max.X && last >= first {
			top, bottom = min(top, first), max(bottom, last)
		} else if bottom >= top {
			heights = append(heights, bottom-top+1)
			top, bottom = b.Max.Y, b.Min.Y-1
		}
	}
	return heights
}

// inkOf returns the first and last row of a column that is clearly not paper.
func inkOf(img image.Image, x int, paper color.Color) (first, last int) {
	b := img.Bounds()
	first, last = b.Max.Y, b.Min.Y-1
	pr, pg, pb, _ := paper.RGBA()
	for y := b.Min.Y; y < b.Max.Y; y++ {
		r, g, bl, _ := img.At(x, y).RGBA()
		if apart(r, pr)+apart(g, pg)+apart(bl, pb) > 3*0x3000 {
			first, last = min(first, y), y
		}
	}
	return first, last
}

func apart(a, b uint32) uint32 { return max(a, b) - min(a, b) }

// misfits lists what a person could not read or hit: text that its box cuts off, what is
// wider than the screen, and targets too small for wet hands.
const misfits = `(() => {
	const wrong = [], wide = Math.min(innerWidth, screen.width); // a phone zooms out to what is wider than it
	if (document.documentElement.scrollWidth > wide) wrong.push("the page is " + document.documentElement.scrollWidth + " wide");
	const named = (e) => e.tagName.toLowerCase() + (e.id ? "#" + e.id : "." + e.className) + " " + JSON.stringify((e.innerText ?? "").slice(0, 40));
	for (const e of document.body.querySelectorAll("*")) {
		if (!e.checkVisibility({ visibilityProperty: true }) || e.closest("svg, .skip")) continue;
		const own = [...e.childNodes].some((n) => n.nodeType === Node.TEXT_NODE && n.data.trim());
		const style = getComputedStyle(e);
		const meant = e.id === "slab-heard" || e.id === "spoken" || /auto|scroll/.test(style.overflowX);
		for (const node of own ? e.childNodes : []) for (const word of node.nodeType === Node.TEXT_NODE ? node.data.matchAll(/\S+/g) : []) {
			const range = document.createRange();
			range.setStart(node, word.index);
			range.setEnd(node, word.index + word[0].length);
			if (word[0].length < 20 && !word[0].includes("-") && new Set([...range.getClientRects()].map((r) => r.top)).size > 1) wrong.push("broken: " + word[0] + " in " + named(e));
		}
		if (own && !meant && e.clientWidth && e.scrollWidth > e.clientWidth + 1) wrong.push("cut: " + named(e));
		const box = e.getBoundingClientRect();
		if (own && box.right > wide + 1 && !e.closest(".wide")) wrong.push("off the screen: " + named(e));
		if (e.matches("a, button, input, select, summary") && style.display !== "inline" && (box.width < 48 || box.height < 48)) wrong.push("small: " + named(e) + " " + box.width + " x " + box.height);
	}
	for (const id of ["slab-word", "next-where", "field"]) {
		const e = document.getElementById(id);
		if (!e?.checkVisibility() || (id === "next-where" && (innerWidth < 900 || innerHeight < 560))) continue;
		const box = e.getBoundingClientRect();
		const top = document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2);
		if (box.top < 0 || box.bottom > innerHeight || !e.contains(top)) wrong.push(id + " is not in sight");
	}
	return wrong;
})()`

// TestPagesFit tries each page at each size, by day and in the dark, empty and full, and
// with what the keyboard on the screen leaves of it.
func TestPagesFit(t *testing.T) {
	t.Parallel()
	full, empty := fullShop(t), newShop(t)
	for _, v := range views {
		t.Run(v.name, func(t *testing.T) {
			s := full
			if v.empty {
				s = empty
			}
			p := newDevice(t, tablet, "light").open(s.address + v.path)
			p.await(v.ready)
			for _, screen := range []screen{phone, phoneTyping, tabletTyping, wall, tablet} {
				p.show(screen, "light")
				p.shoot(v.name + "-light")
				for _, wrong := range eval[[]string](p, misfits) {
					t.Errorf("%s: %s", screen.name, wrong)
				}
			}
			checkAccess(t, p, everyRule)
			for _, screen := range screens { // of the same shape in the dark
				p.show(screen, "dark")
				p.shoot(v.name + "-dark")
			}
			checkAccess(t, p, contrast)
		})
	}
}

// view is a page as it is looked at.
type view struct {
	name  string
	path  string
	ready string // the condition that holds once all is there
	empty bool   // of a shop without jobs
}

var views = []view{
	{"jobs", "/", `document.querySelectorAll("#jobs tbody tr").length === 5 && document.querySelector("#options select")`, false},
	{"jobs-none", "/", `document.getElementById("list-none").textContent.includes("No job") && document.querySelector("#options select")`, true},
	{"search", "/search?q=scored", `document.querySelectorAll("#hits li").length > 0`, false},
	{"search-none", "/search?q=zzz", `document.getElementById("found").textContent.includes("No note")`, false},
	{"sheet-new", "/jobs/MW-1050", drawn, false},
	{"sheet-out", "/jobs/MW-1053", drawn + ` && document.getElementById("slab").dataset.word === "out" && !document.getElementById("first").hidden`, false},
	{"sheet-stop", "/jobs/MW-1051", drawn + ` && document.getElementById("slab").dataset.word === "stop"`, false},
	{"sheet-18-stages", "/jobs/MW-1052", drawn + ` && document.getElementById("slab").dataset.word === "unclear"`, false},
	{"sheet-done", "/jobs/MW-1041", drawn + ` && document.getElementById("next-where").textContent.includes("Nothing is left")`, false},
	{"sheet-unknown", "/jobs/MW-9999", `document.getElementById("line-word").textContent === "No such job"`, false},
	{"words", "/jobs/MW-1051/notes/4", `document.querySelectorAll("#words tbody tr").length > 2`, false},
	{"words-unknown", "/jobs/MW-1051/notes/400", `document.getElementById("state").textContent.includes("is no note")`, false},
	{"transcript", "/api/jobs/MW-1041/export?as=html", `document.querySelectorAll("table.said tbody tr").length > 50`, false},
}

// fullShop returns a shop with jobs in several states.
func fullShop(t testing.TB) *shop {
	t.Helper()
	options, notes := demoNotes(t, "mr5-demo.txt")
	s := newShopThatHears(t, floortest.Register(t), ears())
	s.openJob("MW-1041", options)
	s.bench("MW-1041", notes...)
	s.openJob("MW-1050", nil)
	s.openJob("MW-1051", map[string]string{"base": "long", "stages": "3"})
	s.bench("MW-1051", "build spacer 88.9 millimetres", "seat is clean", "cut impeller stage one")
	s.openJob("MW-1053", nil)
	s.bench("MW-1053", "build spacer 64 millimetres", "collar nut stage one fifty one newton metres")
	s.openJob("MW-1052", map[string]string{"stages": "18", "cut_impellers": "2"})
	s.bench("MW-1052", "build spacer 64 millimetres", "seat is clean",
		"impeller stage one full", "stage one seated", "collar nut stage one forty eight newton metres",
		"impeller stage two full", "stage two seated", "collar nut stage two about forty eight newton metres")
	s.kept("MW-1052") // the search knows them
	return s
}

// A list of nominal sizes is as long as a spec has it, and stands on a phone whole.
func TestLongLimitsFitAPhone(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	s.openJobOf("bevel-head", "MW-1077", nil)
	p := newDevice(t, phone, "light").openSheet(s, "MW-1077")
	p.say("shim pack zero point four two millimetres")
	p.await(`document.querySelector("#slab-figures .limits")?.innerText.includes("1.2")`)
	p.shoot("long-limits")
	for _, fault := range eval[[]string](p, misfits) {
		t.Error(fault)
	}
}
