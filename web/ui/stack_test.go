package ui_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/google/go-cmp/cmp"

	"readback/capture/floor/floortest"
)

// built describes the picture of the stack, the lowest level first: its state, what lies in
// it and how it is written, and its further callouts with their words.
const built = `[...document.querySelectorAll("#stack-picture .level")].reverse().map((g) =>
	[g.dataset.level, [...g.classList].slice(1).join(" "), g.querySelector(".on").textContent,
	...[...g.querySelectorAll(".cell")].map((c) => c.textContent + (c.classList.contains("now") ? " (next)" : ""))].join(" | "))`

// TestStackIsDrawnAsItIsBuilt: what was laid is filled, what is to do an outline, what comes
// next is marked, and so is a stop.
func TestStackIsDrawnAsItIsBuilt(t *testing.T) {
	t.Parallel()
	s := newShopWith(t, floortest.Register(t))
	s.openJob("MW-1060", map[string]string{"stages": "3", "cut_impellers": "1"})
	p := newDevice(t, tablet, "light").openSheet(s, "MW-1060")
	before := []string{"build spacer 64 millimetres", "seat is clean", "o-rings new", "letters up", "shaft held", "narrow adapter"}
	stages := []string{
		"full impeller stage one", "stage one seated", "collar nut stage one forty eight newton metres",
		"full impeller stage two", "stage two seated",
	}
	steps := []struct {
		name  string
		notes []string
		done  string
		want  []string
	}{
		{"nothing lies yet", before[:1], "0 of 3 done", []string{
			"stage 1 | todo | full | seated | collar nut", "stage 2 | todo | full | seated | collar nut",
			"stage 3 | todo | cut | seated | collar nut", "cover | todo cover | cover on",
		}},
		{"a level is whole, the next is under way", append(before[1:], stages...), "1 of 3 done", []string{
			"stage 1 | whole | full | seated | 48 N·m in", "stage 2 | laid now | full | seated | collar nut (next)",
			"stage 3 | todo | cut | seated | collar nut", "cover | todo cover | cover on",
		}},
		{"a reading is out and a part is wrong", []string{"collar nut stage two fifty one newton metres", "full impeller stage three"}, "1 of 3 done", []string{
			"stage 1 | whole | full | seated | 48 N·m in", "stage 2 | laid | full | seated | 51 N·m out",
			"stage 3 | stop now | stop: full | seated (next) | collar nut", "cover | todo cover | cover on",
		}},
		{"the cover went on too early", []string{"cut impeller stage three", "cover is on"}, "1 of 3 done", []string{
			"stage 1 | whole | full | seated | 48 N·m in", "stage 2 | laid | full | seated | 51 N·m out",
			"stage 3 | laid now | cut | seated (next) | collar nut", "cover | stop cover | stop", // its name has no room beside the word
		}},
		{"all of it stands", []string{
			"cover off", "collar nut stage two again forty eight newton metres", "stage three seated",
			"collar nut stage three forty eight newton metres", "valve fitted", "cover is on",
		}, "3 of 3 done", []string{
			"stage 1 | whole | full | seated | 48 N·m in", "stage 2 | whole | full | seated | 48 N·m in",
			"stage 3 | whole | cut | seated | 48 N·m in", "cover | whole cover | cover on",
		}},
	}
	for _, step := range steps {
		for _, note := range step.notes {
			p.verdictOn(note)
		}
		if diff := cmp.Diff(step.want, eval[[]string](p, built)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", step.name, diff)
		}
		if done := p.text("#stack-done"); done != step.done {
			t.Errorf("%s: %q, want %q", step.name, done, step.done)
		}
		stopped := strings.Contains(strings.Join(step.want, ""), "| stop")
		if shown := eval[bool](p, `document.getElementById("stack-stop").checkVisibility()`); shown != stopped {
			t.Errorf("%s: the fold shows a stop: %t", step.name, shown)
		}
		p.shoot("stack-" + strings.Fields(step.name)[1])
	}
	if told := eval[string](p, `document.getElementById("stack-told").textContent`); !strings.HasPrefix(told, "stage 1, full on, seated done, collar nut 48 N·m in. stage 2") {
		t.Errorf("who does not see the picture is told %q", told)
	}
	if figures := strings.Join(strings.Fields(p.text("#callouts [data-callout=collar_nut_torque] li")), " "); figures != "stage 1 48 N·m, 35.4 lbf·ft in" {
		t.Errorf("in two units the sheet shows %q", figures)
	}
	p.verdictOn("shaft runout 0.0501 millimetres")
	if figures := strings.Join(strings.Fields(p.text("#slab-figures")), " "); figures != "Shaft runout 0.0501 mm, 0.001972 in at most 0.05 mm" {
		t.Errorf("in two units stands large %q", figures)
	}
}

// TestKindsDifferByShape: a part that is cut is narrower than a full one.
func TestKindsDifferByShape(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	s.openJob("MW-1061", map[string]string{"stages": "3", "cut_impellers": "2"})
	p := newDevice(t, tablet, "light").openSheet(s, "MW-1061")
	p.await(`document.querySelectorAll("#stack-picture .level").length === 4`)
	const wide = `[...document.querySelectorAll("#stack-picture .plate-of")].reverse().map((e) => e.getBBox().width)`
	w := eval[[]float64](p, wide)
	if !(w[0] > 1.2*w[1] && w[1] == w[2] && w[3] > w[0]) {
		t.Errorf("full, cut, cut and the cover are %v wide", w)
	}
}

// TestStackOfManyLevelsFits: all levels of the tallest unit are in sight on the tablet and
// the wall, large enough to be read, and nothing else is pushed away; the phone has it
// behind a fold, at hand for a finger.
func TestStackOfManyLevelsFits(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	s.openJob("MW-1062", map[string]string{"stages": "18", "cut_impellers": "2"})
	s.bench("MW-1062", "build spacer 64 millimetres", "full impeller stage one", "stage one seated", "collar nut stage one forty eight newton metres")
	p := newDevice(t, tablet, "light").openSheet(s, "MW-1062")
	const small = `(() => {
		const svg = document.querySelector("#stack-picture svg").getBoundingClientRect();
		const wrong = [];
		for (const e of document.querySelectorAll("#stack-picture :is(text, .plate-of, .mark-of, .box)")) {
			const box = e.getBoundingClientRect();
			if (box.left < svg.left - 1 || box.right > svg.right + 1 || box.top < svg.top - 1 || box.bottom > svg.bottom + 1) wrong.push("leaves the picture: " + (e.textContent || e.outerHTML));
			if (e.matches(".mark-of") && !(box.height > 4 && box.height <= 30)) wrong.push("a sign " + box.height + " high");
			if (e.matches("text") && parseFloat(getComputedStyle(e).fontSize) < 13) wrong.push("small: " + e.textContent);
			if (e.matches("text[textLength]") && e.textLength.baseVal.value < 0.5 * e.textContent.length * parseFloat(getComputedStyle(e).fontSize) * 0.56) wrong.push("squeezed: " + e.textContent);
		}
		return wrong;
	})()`
	for _, screen := range []screen{tablet, wall, phone} {
		p.show(screen, "light")
		p.await(fmt.Sprintf(`document.getElementById("stack").open === %t`, screen != phone))
		if screen == phone {
			p.inSight("#slab-word", "#field")
			if high := eval[float64](p, `document.querySelector("#stack summary").getBoundingClientRect().height`); high < 48 {
				t.Errorf("the fold is %.0f pixels high", high)
			}
			p.do("unfold", chromedp.Click(chromedp.CSS("#stack summary")))
			p.await(`document.querySelector("#stack-picture svg")?.checkVisibility()`)
		}
		p.await(fmt.Sprintf(`Math.abs(document.querySelector("#stack-picture svg").clientWidth - document.getElementById("stack-picture").clientWidth) <= 1 && innerWidth === %d`, screen.width))
		if screen != phone {
			p.inSight("#stack-picture", "#slab-word", "#next-where", "#field", ".roll")
		}
		p.shoot("stack-18")
		for _, wrong := range eval[[]string](p, small) {
			t.Errorf("%s: %s", screen.name, wrong)
		}
		if n := eval[int](p, `document.querySelectorAll("#stack-picture .level").length`); n != 19 {
			t.Errorf("%s: %d levels with the cover, want 19", screen.name, n)
		}
	}
}

// TestStackIsPrinted: on paper the fold is open, and the dark sheet is light.
func TestStackIsPrinted(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	s.openJob("MW-1063", nil)
	p := newDevice(t, phone, "dark").openSheet(s, "MW-1063")
	p.await(`!document.getElementById("stack").open`)
	eval[bool](p, `dispatchEvent(new Event("beforeprint"))`)
	call(p, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Media: "print", Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: "dark"}},
	})
	p.await(`document.querySelector("#stack-picture svg").checkVisibility() && document.documentElement.dataset.sheet === "light" && !document.getElementById("entry").checkVisibility()`)
	eval[bool](p, `dispatchEvent(new Event("afterprint"))`)
	p.await(`!document.getElementById("stack").open && document.documentElement.dataset.sheet === "dark"`)
}

// TestUnitWithoutLevels has no picture.
func TestUnitWithoutLevels(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	s.openJobOf("bevel-head", "MW-1064", nil)
	p := newDevice(t, tablet, "light").openSheet(s, "MW-1064")
	if eval[bool](p, `document.getElementById("stack").checkVisibility()`) {
		t.Error("a gear head is drawn as a stack")
	}
}
