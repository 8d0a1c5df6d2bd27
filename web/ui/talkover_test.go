package ui_test

import (
	"fmt"
	"slices"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/google/go-cmp/cmp"

	"readback/capture/floor"
)

// aloudAndHearing opens a sheet that speaks, writes down what it plays, and has a microphone of the test.
func aloudAndHearing(t *testing.T, job string, options map[string]string) (*shop, *tab) {
	t.Helper()
	s := newShopWhole(t, floor.Register{}, ears(), &hummer{word: quick}, nil)
	s.openJob(job, options)
	p := listenTo(t, s, job)
	p.mic()
	return s, p
}

// once waits until the page has said a text and is silent, and returns all that it played.
func (p *tab) once(text string) []string {
	p.t.Helper()
	p.await(fmt.Sprintf(`heard.includes(%q) && heard.at(-1) === "silent"`, text))
	return eval[[]string](p, `heard`)
}

const sayAgain = "say: What you said just now was not heard."

// TestThePageWaitsForWhoTalks: an answer that comes while the key is held is said once it is let go; nothing of the
// note is lost.
func TestThePageWaitsForWhoTalks(t *testing.T) {
	t.Parallel()
	s, p := aloudAndHearing(t, "MW-1041", nil)
	p.hold()
	p.sound("seat", 2)
	p.await(is("hearing"))
	p.say("shaft held")
	p.await(settled("shaft held"))
	if got := eval[[]string](p, `heard`); len(got) > 0 {
		t.Errorf("into the note the page plays %q", got)
	}
	p.sound(" clean", 20)
	p.release()
	p.await(settled("seat clean"))
	got := p.once("say: Seat clean.")
	if first, second := slices.Index(got, "say: Shaft held."), slices.Index(got, "say: Seat clean."); first < 0 || second < first || slices.Contains(got, sayAgain) {
		t.Errorf("behind the note is heard %q", got)
	}
	if diff := cmp.Diff([]string{"shaft held", "seat clean"}, s.kept("MW-1041")); diff != "" {
		t.Errorf("notes in the journal (-said +kept):\n%s", diff)
	}
}

// stops makes another bench say what is a stop.
func (s *shop) stops() {
	s.t.Helper()
	s.bench("MW-1051", "build spacer 88.5 millimetres", "build spacer 88.9 millimetres", "seat is clean", "cut impeller stage one")
}

// TestAStopBreaksIntoANote: a stop of another bench ends what is spoken, of which nothing is recorded; that is said
// behind the stop, before what waits.
func TestAStopBreaksIntoANote(t *testing.T) {
	t.Parallel()
	for _, way := range []string{"hold", "tap", "open"} {
		t.Run(way, func(t *testing.T) {
			t.Parallel()
			s, p := aloudAndHearing(t, "MW-1051", map[string]string{"base": "long", "stages": "3"})
			p.choose(way)
			p.key(input.DispatchKeyEventTypeKeyDown, " ", "Space", 32)
			if way != "hold" {
				p.release()
			}
			p.await(is("listening") + ` && document.body.dataset.mic === "on"`)
			p.sound("shaft runout four hundredths of a milli", 2)
			p.await(is("hearing"))
			if way != "open" {
				p.say("shaft held")
				p.await(settled("shaft held"))
			}
			s.stops()
			got := p.once(sayAgain)
			if stop, again := slices.Index(got, "signal: out"), slices.Index(got, sayAgain); stop != 0 || again < stop {
				t.Errorf("heard was %q", got)
			} else if held := slices.Index(got, "say: Shaft held."); way != "open" && held < again {
				t.Errorf("before what waits it is to be said that the note was not heard: %q", got)
			}
			p.release()
			if way != "open" { // there the next note has begun
				p.shoot("talk-not-heard")
				p.await(`document.getElementById("talk-words").innerText.includes("was not heard")`)
				p.key(input.DispatchKeyEventTypeKeyDown, " ", "Space", 32)
			}
			p.await(is("listening"))
			p.sound("valve fitted", 60)
			p.release()
			p.await(settled("valve fitted"))
			want := []string{"build spacer 88.5 millimetres", "build spacer 88.9 millimetres", "seat is clean", "cut impeller stage one", "valve fitted"}
			if way != "open" {
				want = append([]string{"shaft held"}, want...)
			}
			if diff := cmp.Diff(want, s.kept("MW-1051")); diff != "" {
				t.Errorf("notes in the journal (-said +kept):\n%s", diff)
			}
		})
	}
}

// TestAStopBreaksIntoTheBrowsersOwn: it is the same where the browser listens itself.
func TestAStopBreaksIntoTheBrowsersOwn(t *testing.T) {
	t.Parallel()
	s, p := browserHears(t)
	eval[chromedp.Void](p, collects)
	eval[chromedp.Void](p, `(window.talking = [], document.addEventListener("readback:talking", (e) => talking.push(e.detail)), undefined)`)
	p.letListen()
	p.key(input.DispatchKeyEventTypeKeyDown, " ", "Space", 32)
	p.await(is("listening") + ` && document.body.dataset.own === "whole" && talking.join() === "true"`) // the page waits
	eval[bool](p, `(own.said("collar nut stage", true), own.last = "collar nut stage one forty", true)`)
	p.await(is("hearing"))
	eval[chromedp.Void](p, `document.dispatchEvent(new CustomEvent("readback:speaking"))`)
	p.await(`!document.body.dataset.own && talking.join() === "true,false" && said.length === 1 && said[0].next && said[0].text.includes("was not heard")`)
	p.release()
	eval[chromedp.Void](p, `document.dispatchEvent(new CustomEvent("readback:silent"))`)
	p.await(is("off") + ` && document.getElementById("talk-words").innerText.includes("was not heard")`)
	p.tells("What's left?")
	p.await(settled("what's left") + ` && talking.join() === "true,false,true,false"`)
	if diff := cmp.Diff([]string{"what's left"}, s.kept("MW-1041")); diff != "" {
		t.Errorf("notes in the journal (-said +kept):\n%s", diff)
	}
}
