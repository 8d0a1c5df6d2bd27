package ui_test

import (
	"context"
	"fmt"
	"slices"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/google/go-cmp/cmp"

	"readback/capture/floor"
	"readback/capture/hear"
	"readback/capture/hear/heartest"
)

// steady is an engine that knows a bang for none of its voices.
type steady struct{ *heartest.Engine }

func (e steady) Open(ctx context.Context, w hear.Words) (hear.Ear, error) {
	ear, err := e.Engine.Open(ctx, w)
	return steadyEar{ear}, err
}

type steadyEar struct{ hear.Ear }

func (e steadyEar) Write(ctx context.Context, pcm []int16) (hear.Live, error) {
	pcm = slices.Clone(pcm)
	for i, x := range pcm {
		if x > 1000 { // no letter
			pcm[i] = 0
		}
	}
	return e.Ear.Write(ctx, pcm)
}

// tallies writes down how many spoken notes a page begins and ends on the line, and how far the server has heard the last.
const tallies = `(() => {
	Object.assign(window, { begun: 0, ended: 0, samples: 0 });
	const Socket = window.WebSocket;
	window.WebSocket = class extends Socket {
		constructor(...of) {
			super(...of);
			this.addEventListener("message", ({ data }) => (samples = JSON.parse(data).samples ?? samples));
		}
		send(data) {
			const type = typeof data === "string" && JSON.parse(data).type;
			if (type === "sound") begun++;
			if (type === "sound-end") ended++;
			return super.send(data);
		}
	};
})();`

// benchThatBangs is a sheet with an open microphone and a server with one recogniser, which knows a bang for what it is.
func benchThatBangs(t *testing.T) (*shop, *tab) {
	t.Helper()
	s := newShopThatHears(t, floor.Register{}, steady{&heartest.Engine{Ears: 1}})
	p := s.sheet(tablet)
	call(p, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: tallies})
	p.do("reload", chromedp.Reload())
	p.await(drawn)
	p.mic()
	p.choose("open")
	p.tap()
	p.await(is("listening") + ` && document.body.dataset.mic === "on"`)
	return s, p
}

// frames that a bang and what is around it last.
const banged = 24

// goOn gives the page one frame of silence after the other, which the server answers, until a condition holds or n are
// given. It returns how many were.
func (p *tab) goOn(n int, until string) int {
	p.t.Helper()
	return eval[int](p, fmt.Sprintf(`(async () => {
		let i = 0;
		for (; i < %d && !(%s); i++) {
			window.take(new Int16Array(320));
			await new Promise((done) => setTimeout(done, 120)); // the server tells of ten frames a second
		}
		return i;
	})()`, n, until))
}

// TestABangCutsNoNote: a dropped tool does not begin a note that a sentence would be cut by, ten seconds later.
func TestABangCutsNoNote(t *testing.T) {
	t.Parallel()
	s, p := benchThatBangs(t)
	p.loud()
	p.sound("", 400)
	n := banged + 400 + p.goOn(100, "begun > 1")
	p.sound("", 570-n)
	for _, text := range []string{"build", " spacer", " sixty", " four"} {
		p.sound(text, 11)
	}
	p.sound(" millimetres", 60)
	p.await(settled("build spacer sixty four millimetres") + " && " + is("listening"))
	if says := p.text("#talk-words"); says != "" {
		t.Errorf("the strip says %q", says)
	}
	if diff := cmp.Diff([]string{"build spacer sixty four millimetres"}, s.kept("MW-1041")); diff != "" {
		t.Errorf("notes in the journal (-said +kept):\n%s", diff)
	}
}

// TestAVoiceBehindABang: what is said too softly for the page, behind a bang, is a note: the server has told of a voice.
func TestAVoiceBehindABang(t *testing.T) {
	t.Parallel()
	s, p := benchThatBangs(t)
	p.loud()
	p.sound("", 370)
	p.sound("seat", 0)
	p.goOn(10, is("hearing"))
	p.sound("", 8) // past the time at which a note of nobody is begun anew
	p.sound(" clean", 60)
	p.await(settled("seat clean"))
	if diff := cmp.Diff([]string{"seat clean"}, s.kept("MW-1041")); diff != "" {
		t.Errorf("notes in the journal (-said +kept):\n%s", diff)
	}
}

// TestABangThatIsNotHeardYet: as long as the server has not told what it was, the note goes on.
func TestABangThatIsNotHeardYet(t *testing.T) {
	t.Parallel()
	s, p := benchThatBangs(t)
	p.sound("", 20)
	p.await(`samples > 0`)
	s.line.silence()
	p.loud()
	p.sound("", 400)
	p.goOn(5, "false")
	if n := eval[int](p, `begun`); n != 1 {
		t.Errorf("%d notes are begun", n)
	}
}

// TestABangOnALineThatLags: the server has heard that it was a bang, and not yet what came after it: somebody may speak there.
func TestABangOnALineThatLags(t *testing.T) {
	t.Parallel()
	s, p := benchThatBangs(t)
	p.loud()
	p.sound("", 40)
	n := banged + 40 + p.goOn(100, fmt.Sprintf("samples >= %d", (banged+20)*320))
	s.line.silence()
	p.sound("", 420-n)
	p.goOn(3, "false")
	if n := eval[int](p, `begun`); n != 1 {
		t.Errorf("%d notes are begun", n)
	}
}

// TestABangHoldsNoBench: the next person need not wait for a note that a bang began.
func TestABangHoldsNoBench(t *testing.T) {
	t.Parallel()
	s, p := benchThatBangs(t)
	p.loud()
	p.sound("", 40)
	p.goOn(100, fmt.Sprintf("samples >= %d", (banged+40)*320))
	p.give("Ines")
	p.await(atBench("Ines"))
	eval[bool](p, closed)
	p.sound("seat clean", 60)
	p.await(settled("seat clean"))
	if diff := cmp.Diff([]string{"Ines: seat clean"}, s.by("MW-1041")); diff != "" {
		t.Errorf("who said what (-want +kept):\n%s", diff)
	}
}

// TestANoteThatIsBegunAnewHoldsNoEar: where the new one cannot go over the line, the server is told that the old one is over.
func TestANoteThatIsBegunAnewHoldsNoEar(t *testing.T) {
	t.Parallel()
	s, p := benchThatBangs(t)
	p.sound("", 20)
	p.await(`begun === 1`)
	s.line.silence()
	p.say("shaft held")
	p.say("valve fitted") // waits for the answer to the other
	p.await(`document.getElementById("line").dataset.waiting === "2"`)
	p.sound("", 400)
	p.await(`ended === 1 && begun === 2`)
}
