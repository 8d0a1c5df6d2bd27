package ui_test

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// plays is a whole check: a quiet and a speech of so many dB, a quiet that is noise or a tone of so
// many hertz, and how many times too loud for the scale the speech is.
const plays = `((quiet, speech, hertz, cut) => {
	let n = 0;
	const frame = (level, f) => {
		const peak = level <= -100 ? 0 : 32768 * 10 ** (level / 20) * Math.SQRT2;
		return Int16Array.from({ length: 320 }, () => {
			n++;
			const x = f ? Math.sin((2 * Math.PI * f * n) / 16000) : (Math.random() * 2 - 1) * Math.sqrt(1.5);
			return Math.max(-32768, Math.min(32767, Math.round(peak * x * (cut || 1))));
		});
	};
	for (let i = 0; i < 250; i++) window.take(frame(quiet, hertz));
	for (let i = 0; i < 1200; i++) window.take(i % 2 ? frame(speech, 0) : frame(quiet, hertz));
})`

// TestMicrophoneCheck: each thing that can be wrong is said in words, and nothing that was said
// in the check is recorded.
func TestMicrophoneCheck(t *testing.T) {
	t.Parallel()
	s, p := hearing(t, ears())
	eval[chromedp.Void](p, `document.getElementById("talk-ways").click()`)
	for _, tt := range []struct{ name, with, want string }{
		{"good", "-60, -22, 0", "The microphone is good"},
		{"no signal", "-100, -100, 0", "No signal"},
		{"too quiet", "-80, -50, 0", "Too quiet"},
		{"clips", "-50, -6, 0, 8", "it clips"},
		{"hum of 50", "-45, -20, 50", "It hums"},
		{"hum of 60", "-45, -20, 60", "It hums"},
		{"noisy", "-30, -20, 0", "Noisy"},
		{"nobody reads", "-50, -50, 0", "No speech was heard"},
	} {
		p.do("start the check", chromedp.Click(chromedp.CSS("#check-go")))
		p.await(`document.body.dataset.mic === "on" && document.getElementById("check-say").innerText.startsWith("Be quiet")`)
		eval[chromedp.Void](p, plays+"("+tt.with+")")
		p.await(`document.querySelector("#check-found li")`)
		if found := p.text("#check-say") + " " + p.text("#check-found"); !strings.Contains(found, tt.want) {
			t.Errorf("%s: %q", tt.name, found)
		}
		if tt.name == "good" && len(p.texts("#check-found li")) != 1 {
			t.Errorf("a good microphone is told %q", p.texts("#check-found li"))
		}
		p.await(`document.body.dataset.mic === "off"`)
	}
	p.do("start the check", chromedp.Click(chromedp.CSS("#check-go")))
	p.await(`document.body.dataset.mic === "on" && document.getElementById("check-say").innerText.startsWith("Be quiet")`)
	eval[chromedp.Void](p, `window.unplug("The microphone was unplugged.")`)
	p.await(`document.getElementById("check-say").innerText.includes("unplugged") && document.getElementById("check-go").innerText === "Start the check"`)
	p.press(kb.Escape)
	p.await(`!document.getElementById("ways").open && ` + atField) // its end comes a moment later
	if kept := s.kept("MW-1041"); len(kept) > 0 {
		t.Errorf("the check has recorded %q", kept)
	}
	p.speak("seat clean")
	p.await(settled("seat clean"))
}

// TestTalkFits looks at the strip and at the form at each size, and at their access.
func TestTalkFits(t *testing.T) {
	t.Parallel()
	_, p := hearing(t, ears())
	p.speak("build spacer sixty four millimetres")
	p.await(settled("build spacer sixty four millimetres"))
	sizes := []screen{phone, phoneTyping, tabletTyping, wall, tablet}
	for _, way := range []string{"hold", "tap", "open", "type"} {
		p.choose(way)
		for _, screen := range sizes {
			p.show(screen, "light")
			p.shoot("talk-" + way)
			p.inSight("#talk-word", "#talk-ways", "#field")
			for _, wrong := range eval[[]string](p, misfits) {
				t.Errorf("%s, %s: %s", way, screen.name, wrong)
			}
		}
	}
	checkAccess(t, p, everyRule)
	p.choose("hold")
	p.speak(twoWays)
	p.await(`document.getElementById("slab").dataset.word === "unclear"`)
	for _, sheet := range []string{"light", "dark"} {
		for _, screen := range sizes {
			p.show(screen, sheet)
			p.shoot("talk-asked-" + sheet)
			p.inSight("#talk-press", "#field")
			for _, wrong := range eval[[]string](p, misfits) {
				t.Errorf("asked, %s: %s", screen.name, wrong)
			}
		}
		checkAccess(t, p, everyRule)
	}
	eval[chromedp.Void](p, `document.getElementById("talk-ways").click()`)
	p.do("start the check", chromedp.Click(chromedp.CSS("#check-go")))
	p.await(`document.getElementById("check-say").innerText.startsWith("Be quiet")`)
	for _, sheet := range []string{"light", "dark"} {
		for _, screen := range sizes {
			p.show(screen, sheet)
			p.shoot("ways-" + sheet)
			for _, wrong := range eval[[]string](p, misfits) {
				if !strings.HasSuffix(wrong, "is not in sight") { // it lies under the form
					t.Errorf("form, %s: %s", screen.name, wrong)
				}
			}
		}
		checkAccess(t, p, everyRule)
	}
}

// TestDeafServer: a server that cannot hear is told of once, and the sheet is one for typing.
func TestDeafServer(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := s.sheet(phone)
	p.await(`!document.getElementById("deaf").hidden && document.getElementById("talk").hidden`)
	if why := p.text("#deaf-why"); !strings.Contains(why, "started without hearing") {
		t.Errorf("it says %q", why)
	}
	p.press(" ")
	p.write("seat is clean")
	p.press(kb.Enter)
	p.await(`document.querySelector("#notes .text")?.textContent === "seat is clean" && document.getElementById("deaf").hidden`)
	p.do("reload", chromedp.Reload())
	p.await(drawn)
	p.verdictOn("shaft held")
	if eval[bool](p, `!document.getElementById("deaf").hidden`) {
		t.Error("it is said again after a reload")
	}
}
