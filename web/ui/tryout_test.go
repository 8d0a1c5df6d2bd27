package ui_test

import (
	"context"
	"fmt"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/google/go-cmp/cmp"

	"readback/capture/hear"
	"readback/capture/hear/heartest"
)

// plays is a whole check: a quiet and a speech of so many dB, a quiet that is noise or a tone of so
// many hertz, and how many times too loud for the scale the speech is. Each sentence is read for so many frames, a second and a half
// where none are given, and for all of its time where it is not tried.
const plays = `(async (quiet, speech, hertz, cut, frames = 75) => {
	let n = 0;
	const text = (id) => document.getElementById(id).textContent;
	const frame = (level, f) => {
		const peak = level <= -100 ? 0 : 32768 * 10 ** (level / 20) * Math.SQRT2;
		return Int16Array.from({ length: 320 }, () => {
			n++;
			const x = f ? Math.sin((2 * Math.PI * f * n) / 16000) : (Math.random() * 2 - 1) * Math.sqrt(1.5);
			return Math.max(-32768, Math.min(32767, Math.round(peak * x * (cut || 1))));
		});
	};
	for (let i = 0; i < 250; i++) window.take(frame(quiet, hertz));
	for (let s = 0; s < 3 && text("check-go") === "Stop the check"; s++) {
		const reads = text("check-read");
		const goes = () => text("check-read") === reads && text("check-go") === "Stop the check";
		for (let i = 0; i < frames; i++) window.take(i % 2 ? frame(speech, 0) : frame(quiet, hertz));
		while (goes() && !text("check-found").includes("tried:")) {
			await new Promise((done) => setTimeout(done, 20));
			if (frames === 400) window.take(frame(quiet, hertz));
		}
		for (let i = frames; goes(); i++) window.take(i % 2 ? frame(speech, 0) : frame(quiet, hertz));
	}
	return true;
})`

// startCheck starts it, and waits for the quiet.
func (p *tab) startCheck() {
	p.t.Helper()
	p.do("start the check", chromedp.Click(chromedp.CSS("#check-go")))
	p.await(`document.body.dataset.mic === "on" && document.getElementById("check-say").innerText.startsWith("Be quiet")`)
}

// found is what stands in the form at the end of a check.
func (p *tab) found() string {
	p.t.Helper()
	p.await(`document.getElementById("check-go").innerText === "Start the check" && document.querySelector("#check-found li")`)
	return p.text("#check-say") + "\n" + strings.Join(p.texts("#check-found li"), "\n")
}

// reader is an engine that hears what it was told, one note after the other, whatever the sound; a note is over after a
// second. With nothing left it hears nothing.
type reader struct {
	heartest.Engine
	mu     sync.Mutex
	says   []string
	opened int
}

func (r *reader) notes() int {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.opened
}

func (r *reader) hears(says ...string) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.says = says
}

func (r *reader) Open(ctx context.Context, w hear.Words) (hear.Ear, error) {
	e, err := r.Engine.Open(ctx, w)
	r.mu.Lock()
	defer r.mu.Unlock()
	r.opened++
	return &readerEar{Ear: e, of: r}, err
}

type readerEar struct {
	hear.Ear
	of  *reader
	pcm int
}

func (e *readerEar) Write(_ context.Context, pcm []int16) (hear.Live, error) {
	e.pcm += len(pcm)
	if e.pcm > hear.Rate {
		return hear.Live{State: hear.Ended}, nil
	}
	return hear.Live{State: hear.Speaking}, nil
}

func (e *readerEar) End(ctx context.Context) (hear.Heard, error) {
	e.of.mu.Lock()
	defer e.of.mu.Unlock()
	if len(e.of.says) > 0 {
		for _, x := range e.of.says[0] {
			if _, err := e.Ear.Write(ctx, []int16{int16(x)}); err != nil {
				return hear.Heard{}, err
			}
		}
		e.of.says = e.of.says[1:]
	}
	return e.Ear.End(ctx)
}

// sentences are those of MW-1041, as they are heard.
var sentences = []string{"build spacer sixty four millimetres", "collar nut stage one forty eight newton metres", "tie rod one pass three twenty one newton metres"}

const goodMicrophone = "-60, -22, 0"

// TestMicrophoneCheck: each thing that can be wrong is said in words, and nothing that was said
// in the check is recorded.
func TestMicrophoneCheck(t *testing.T) {
	t.Parallel()
	r := &reader{Engine: heartest.Engine{Ears: 4}}
	s, p := hearing(t, r)
	eval[chromedp.Void](p, `document.getElementById("talk-ways").click()`)
	for _, tt := range []struct{ name, with, want string }{
		{"good", goodMicrophone, "The microphone is good"},
		{"no signal", "-100, -100, 0", "No signal"},
		{"too quiet", "-80, -50, 0", "Too quiet"},
		{"clips", "-50, -6, 0, 8", "it clips"},
		{"hum of 50", "-45, -20, 50", "It hums"},
		{"hum of 60", "-45, -20, 60", "It hums"},
		{"noisy", "-30, -20, 0", "Noisy"},
		{"nobody reads", "-50, -50, 0", "No speech was heard"},
	} {
		r.hears(sentences...)
		p.startCheck()
		eval[bool](p, plays+"("+tt.with+")")
		found := p.found()
		if !strings.Contains(found, tt.want) {
			t.Errorf("%s: %q", tt.name, found)
		}
		if n := strings.Count(found, "Heard: “"); n != 3 {
			t.Errorf("%s: of %d sentences it is said that they were heard: %q", tt.name, n, found)
		}
		if tt.name == "good" && len(p.texts("#check-found li")) != 4 {
			t.Errorf("a good microphone is told %q", found)
		}
		p.await(`document.body.dataset.mic === "off"`)
	}
	p.startCheck()
	eval[chromedp.Void](p, `window.unplug("The microphone was unplugged.")`)
	p.await(`document.getElementById("check-say").innerText.includes("unplugged") && document.getElementById("check-go").innerText === "Start the check"`)
	p.press(kb.Escape)
	p.await(`!document.getElementById("ways").open && ` + atField) // its end comes a moment later
	s.nothingKept()
	r.hears("seat clean")
	p.speak("")
	p.await(settled("seat clean"))
}

// nothingKept fails the test if MW-1041 has a note, or anything its sound.
func (s *shop) nothingKept() {
	s.t.Helper()
	if kept := s.kept("MW-1041"); len(kept) > 0 {
		s.t.Errorf("recorded: %q", kept)
	}
	if sounds, err := s.sounds.Before(time.Now().Add(time.Hour)); err != nil || len(sounds) > 0 {
		s.t.Errorf("sounds that are kept: %q, error %v", sounds, err)
	}
}

// TestSentencesAreTried: what was heard of each is said, and what would have come of it; what was asked before still waits.
func TestSentencesAreTried(t *testing.T) {
	t.Parallel()
	r := &reader{Engine: heartest.Engine{Ears: 1}}
	s, p := hearing(t, r)
	eval[chromedp.Void](p, collects)
	r.hears(twoWays)
	p.speak("")
	p.await(`document.getElementById("slab").dataset.word === "unclear"`)
	eval[chromedp.Void](p, `document.getElementById("talk-ways").click()`)
	const other = "collar nut stage one forty five newton metres"
	for _, tt := range []struct {
		name string
		hear []string
		want []string
	}{
		{"all", sentences, []string{
			"The microphone is good. Talk as you read.", "Heard: “" + sentences[0] + "”. It would be taken.",
			"Heard: “" + sentences[1] + "”. It would be taken.", "Heard: “" + sentences[2] + "”. It would be taken.",
		}},
		{"two of three", []string{sentences[0], other, sentences[2]}, []string{
			"The microphone is good. Talk as you read.", "Heard: “" + sentences[0] + "”. It would be taken.",
			"Heard something else for “collar nut stage one forty-eight newton metres”: “" + other + "”. It would be taken.", "Heard: “" + sentences[2] + "”. It would be taken.",
		}},
		{"one of three", []string{"~" + sentences[0], "", sentences[2]}, []string{
			"This is to be mended:", "Not understood. Read each sentence in one go, close to the microphone, and keep others from talking into it.",
			"Not understood: “build spacer sixty-four millimetres”.", "Nothing was heard of “collar nut stage one forty-eight newton metres”.", "Heard: “" + sentences[2] + "”. It would be taken.",
		}},
		{"asked", []string{twoWays, sentences[1] + "|" + other, sentences[2]}, []string{
			"This is to be mended:", "Heard, but not surely: most of it would be asked about. Speak closer to the microphone, and where it is less loud.",
			"Heard: “" + sentences[0] + "”. It would be asked about.", "Heard: “" + sentences[1] + "”. It would be asked about.", "Heard: “" + sentences[2] + "”. It would be taken.",
		}},
	} {
		r.hears(tt.hear...)
		p.startCheck()
		eval[bool](p, plays+"("+goodMicrophone+", 1, 300)") // after which there is no time to read again
		lines := strings.Split(p.found(), "\n")
		if diff := cmp.Diff(tt.want, lines[:len(lines)-1]); diff != "" {
			t.Errorf("%s (-want +said):\n%s", tt.name, diff)
		}
		for _, screen := range []screen{phone, wall, tablet} {
			p.show(screen, "light")
			eval[bool](p, `(document.getElementById("check-title").scrollIntoView({ block: "start" }), true)`)
			p.shoot("check-" + strings.ReplaceAll(tt.name, " ", "-"))
			for _, wrong := range eval[[]string](p, misfitsInForm) {
				t.Errorf("%s, %s: %s", tt.name, screen.name, wrong)
			}
		}
	}
	checkAccess(t, p, everyRule)
	r.hears(sentences...)
	p.startCheck()
	p.sound("", 250+75)
	p.await(`document.getElementById("check-read").innerText === "Collar nut stage one forty-eight newton metres."`)
	for _, screen := range []screen{phone, wall, tablet} {
		p.show(screen, "dark")
		eval[bool](p, `(document.getElementById("check-title").scrollIntoView({ block: "start" }), true)`)
		p.shoot("check-middle")
		p.inSight("#check-go", "#check-say", "#check-read", "#check-found li")
		for _, wrong := range eval[[]string](p, misfitsInForm) {
			t.Errorf("in the middle, %s: %s", screen.name, wrong)
		}
	}
	checkAccess(t, p, everyRule)
	p.press(kb.Escape)
	p.await(`!document.getElementById("ways").open && ` + atField)
	s.nothingKept()
	if said := eval[[]struct{ Text string }](p, "window.said"); len(said) != 1 || !strings.HasPrefix(said[0].Text, "Did you say") {
		t.Errorf("said aloud: %q", said)
	}
	r.hears("yes")
	p.speak("")
	p.await(settled("build spacer sixty four millimetres"))
}

// TestABangBeforeASentence: a sound without words is none while there is time to read.
func TestABangBeforeASentence(t *testing.T) {
	t.Parallel()
	r := &reader{Engine: heartest.Engine{Ears: 1}}
	s, p := hearing(t, r)
	eval[chromedp.Void](p, `document.getElementById("talk-ways").click()`)
	r.hears("", sentences[0])
	p.startCheck()
	p.sound("", 250+75)
	until(t, "it is listened to again", func() bool { return r.notes() == 2 })
	p.sound("", 75)
	p.await(`document.getElementById("check-read").innerText === "Collar nut stage one forty-eight newton metres."`)
	if found := p.texts("#check-found li"); len(found) != 1 || !strings.HasPrefix(found[0], "Heard: “build spacer") {
		t.Errorf("%q", found)
	}
	s.nothingKept()
}

// TestSentencesThatAreNotTried: the check measures the levels alone then, and says why.
func TestSentencesThatAreNotTried(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name string
		do   func(s *shop, p *tab) // in the middle of the quiet
		want string
		read int // frames of each sentence
	}{
		{"the line is down", func(s *shop, p *tab) {
			s.line.cut()
			p.await(cutOff)
		}, "The sentences were not tried: the line to the server is down.", 75},
		{"another bench speaks", func(s *shop, _ *tab) {
			one := newDevice(s.t, phone, "light").openSheet(s, "MW-1041")
			one.mic()
			one.hold()
			one.sound("seat", 2)
			one.await(is("hearing"))
		}, "The sentences were not tried: no recogniser is free.", 400},
		{"the recogniser is lost", func(*shop, *tab) {}, "The sentences were not tried: the recogniser was lost in the middle of the note and is started again.", 75},
		{"the server has no such page", func(*shop, *tab) {}, "The sentences were not tried: the server could not be asked what to read.", 75},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			s, p := hearing(t, &heartest.Engine{Ears: 1, Lost: strings.HasSuffix(tt.name, "lost")})
			eval[chromedp.Void](p, `document.getElementById("talk-ways").click()`)
			if strings.HasPrefix(tt.name, "the server") {
				eval[chromedp.Void](p, `((ask) => { window.fetch = (path, init) => path.endsWith("/check") ? Promise.reject(new Error("no")) : ask(path, init); })(fetch)`)
			}
			p.startCheck()
			tt.do(s, p)
			eval[bool](p, fmt.Sprintf("%s(%s, 1, %d)", plays, goodMicrophone, tt.read))
			found := p.found()
			if !strings.HasPrefix(found, "The levels are good.\n") || !strings.Contains(found, tt.want) {
				t.Errorf("%q", found)
			}
			p.shoot("check-not-tried")
			s.nothingKept()
		})
	}
}

// TestACheckBesideTheBrowsersOwnHearing: what the server hears tells nothing of what that does.
func TestACheckBesideTheBrowsersOwnHearing(t *testing.T) {
	t.Parallel()
	engine := &heartest.Engine{Ears: 1}
	s, p := browserHearsBy(t, engine)
	p.mic()
	p.letListen()
	p.await(`!document.getElementById("ways").open`)
	eval[chromedp.Void](p, `document.getElementById("talk-ways").click()`)
	p.startCheck()
	eval[bool](p, plays+"("+goodMicrophone+")")
	if found := p.found(); !strings.HasPrefix(found, "The levels are good.\nThe sentences were not tried: the browser itself listens.\n") {
		t.Errorf("%q", found)
	}
	s.nothingKept()
}

// TestACheckWhereJobsAreOpened tries what may be said there, and changes nothing of what was said of a job.
func TestACheckWhereJobsAreOpened(t *testing.T) {
	t.Parallel()
	r := &reader{Engine: heartest.Engine{Ears: 1}}
	s, p := atTheJobs(t, r, tablet)
	r.hears("open job mike whiskey one zero four two")
	p.speak("")
	p.await(said("Which build spec"))
	asked := p.text("#desk-say")
	r.hears("open a new job", "start over", "read that back")
	eval[chromedp.Void](p, `document.getElementById("talk-ways").click()`)
	p.startCheck()
	eval[bool](p, plays+"("+goodMicrophone+")")
	found := p.found()
	if !strings.HasPrefix(found, "The microphone is good. Talk as you read.\nHeard: “open a new job”. It would be taken.\nHeard something else for “bevel head ") {
		t.Errorf("%q", found)
	}
	p.shoot("check-desk")
	p.do("done", chromedp.Click(chromedp.CSS("#ways-done")))
	if says := p.text("#desk-say"); says != asked {
		t.Errorf("after the check it says %q, before it %q", says, asked)
	}
	r.hears("m r five")
	p.speak("")
	p.await(said("Job Mike Whiskey one zero four two, M R five."))
	s.nothingKept()
}

// TestACheckReachesNobodyElse: not another sheet of the job, nor the record that walls follow.
func TestACheckReachesNobodyElse(t *testing.T) {
	t.Parallel()
	r := &reader{Engine: heartest.Engine{Ears: 1}}
	s, p := hearing(t, r)
	p.say("shaft held")
	p.await(settled("shaft held"))
	other := newDevice(t, tablet, "light").openSheet(s, "MW-1041")
	other.await(`document.querySelector("#notes .text")?.textContent === "shaft held"`)
	r.hears("collar nut stage one ninety newton metres", "scratch that", "valve fitted")
	eval[chromedp.Void](p, `document.getElementById("talk-ways").click()`)
	p.startCheck()
	eval[bool](p, plays+"("+goodMicrophone+")")
	if found := p.found(); !strings.HasPrefix(found, "This is to be mended:") {
		t.Errorf("%q", found)
	}
	p.press(kb.Escape)
	p.await(`!document.getElementById("ways").open && ` + atField)
	p.say("seat clean")
	p.await(settled("seat clean"))
	other.await(`document.querySelector("#notes .text")?.textContent === "seat clean"`) // behind all that came before it
	if diff := cmp.Diff([]string{"seat clean", "shaft held"}, other.texts("#notes .text")); diff != "" {
		t.Errorf("the other sheet shows (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff([]string{"shaft held", "seat clean"}, s.kept("MW-1041")); diff != "" {
		t.Errorf("notes in the journal (-said +kept):\n%s", diff)
	}
	if sounds, err := s.sounds.Before(time.Now().Add(time.Hour)); err != nil || len(sounds) > 0 {
		t.Errorf("sounds that are kept: %q, error %v", sounds, err)
	}
}

// TestACheckThatIsLeft: in the middle of a sentence the form is left, the check is stopped, or the microphone
// is unplugged: the recogniser is free again, and the next note is heard.
func TestACheckThatIsLeft(t *testing.T) {
	t.Parallel()
	engine := &heartest.Engine{Ears: 1}
	s, p := hearing(t, engine)
	for _, leave := range []string{`document.getElementById("ways-done").click()`, `document.getElementById("check-go").click()`, `window.unplug("The microphone was unplugged."), document.body.dataset.mic = "off"`, "cut"} {
		eval[chromedp.Void](p, `document.getElementById("talk-ways").click()`)
		p.startCheck()
		p.sound("", 250)
		p.await(`document.getElementById("check-say").innerText.startsWith("Read this") && document.getElementById("check-read").innerText === "Build spacer sixty-four millimetres."`)
		p.sound("build spacer", 2)
		until(t, "the recogniser is taken", func() bool { return engine.InUse() == 1 })
		if leave == "cut" {
			s.line.cut()
			p.await(cutOff)
			p.sound("", 1)
			p.await(`document.getElementById("check-found").innerText.includes("the line to the server is down")`)
		} else {
			eval[chromedp.Void](p, leave)
		}
		until(t, "the recogniser is given back", func() bool { return engine.InUse() == 0 })
		if leave == "cut" {
			s.line.mend()
		}
		eval[chromedp.Void](p, `document.getElementById("ways").open && document.getElementById("ways-done").click()`)
		p.await(`!document.getElementById("ways").open && document.body.dataset.mic === "off"`)
		p.await(connected)
		s.nothingKept()
	}
	p.speak("seat clean")
	p.await(settled("seat clean"))
	if diff := cmp.Diff([]string{"seat clean"}, s.kept("MW-1041")); diff != "" {
		t.Errorf("notes in the journal (-said +kept):\n%s", diff)
	}
}

// TestACheckThatIsHidden: a page that is hidden is deaf, in the check too, in each of its steps; the microphone stays off, and
// nothing is said of it.
func TestACheckThatIsHidden(t *testing.T) {
	t.Parallel()
	engine := &heartest.Engine{Ears: 1}
	s, p := hearing(t, engine)
	eval[chromedp.Void](p, collects)
	for _, reads := range []bool{false, true} {
		p.choose("open")
		p.tap()
		p.await(is("listening") + ` && document.body.dataset.mic === "on"`)
		eval[chromedp.Void](p, `document.getElementById("talk-ways").click()`)
		p.startCheck()
		p.sound("", 20)
		if reads {
			p.sound("", 230)
			p.await(`document.getElementById("check-say").innerText.startsWith("Read this")`)
			p.sound("build spacer", 2)
			until(t, "the recogniser is taken", func() bool { return engine.InUse() == 1 })
		}
		eval[chromedp.Void](p, goesHidden)
		p.await(`document.body.dataset.mic === "off" && document.getElementById("check-go").innerText === "Start the check"`)
		until(t, "the recogniser is given back", func() bool { return engine.InUse() == 0 })
		eval[chromedp.Void](p, isSeen)
		if says := p.text("#check-say"); !strings.Contains(says, "since the page was hidden") {
			t.Errorf("the form says %q", says)
		}
		p.shoot("check-hidden")
		eval[chromedp.Void](p, `document.getElementById("ways-done").click()`)
		p.await(`!document.getElementById("ways").open && ` + is("off") + ` && document.body.dataset.mic === "off"`)
	}
	if said := eval[[]struct{ Text string }](p, "said"); len(said) > 0 {
		t.Errorf("said aloud: %q", said)
	}
	s.nothingKept()
}

// TestACheckDoesNotHearThePage: what the page says meanwhile is no noise of the shop, and no reading; a sentence into which it
// speaks is read again, in its full time.
func TestACheckDoesNotHearThePage(t *testing.T) {
	t.Parallel()
	engine := &heartest.Engine{Ears: 1}
	s, p := hearing(t, engine)
	eval[chromedp.Void](p, `document.getElementById("talk-ways").click()`)
	p.startCheck()
	speaks := func(text string) {
		t.Helper()
		eval[chromedp.Void](p, `document.dispatchEvent(new CustomEvent("readback:speaking"))`)
		p.await(is("speaking"))
		p.sound(text, 60)
		if says := p.text("#check-say"); says != "One moment: the page speaks." {
			t.Errorf("while the page speaks the form says %q", says)
		}
		p.shoot("check-page-speaks")
		eval[chromedp.Void](p, `document.dispatchEvent(new CustomEvent("readback:silent"))`)
		p.await(`document.getElementById("talk").dataset.talk !== "speaking"`)
	}
	p.sound("", 248)
	speaks(strings.Repeat("\u2003", 8*320))
	p.sound("", 1)
	if says := p.text("#check-say"); !strings.HasPrefix(says, "Be quiet") {
		t.Errorf("before the last frame of the quiet the form says %q", says)
	}
	p.sound("", 1)
	const first = "Build spacer sixty-four millimetres."
	p.await(fmt.Sprintf(`document.getElementById("check-read").innerText === %q`, first))
	p.sound("", 300)
	p.sound("build spacer", 2)
	until(t, "the recogniser is taken", func() bool { return engine.InUse() == 1 })
	speaks("ninety nine millimetres")
	until(t, "the recogniser is given back", func() bool { return engine.InUse() == 0 })
	p.sound("", 200)
	if says, reads := p.text("#check-say"), p.text("#check-read"); !strings.HasPrefix(says, "Read this") || reads != first {
		t.Errorf("behind it the form says %q %q", says, reads)
	}
	p.sound("build spacer sixty four millimetres", 60)
	p.await(`document.getElementById("check-read").innerText === "Collar nut stage one forty-eight newton metres."`)
	if diff := cmp.Diff([]string{"Heard: “build spacer sixty four millimetres”. It would be taken."}, p.texts("#check-found li")); diff != "" {
		t.Errorf("(-want +found):\n%s", diff)
	}
	s.nothingKept()
}

// ponders is an engine that judges its first note once it is told to.
type ponders struct {
	*heartest.Engine
	opened       atomic.Int32
	first        sync.Once
	ended, judge chan struct{}
}

func (e *ponders) Open(ctx context.Context, w hear.Words) (hear.Ear, error) {
	ear, err := e.Engine.Open(ctx, w)
	e.opened.Add(1)
	return ponderingEar{ear, e}, err
}

type ponderingEar struct {
	hear.Ear
	of *ponders
}

func (e ponderingEar) End(ctx context.Context) (hear.Heard, error) {
	e.of.first.Do(func() {
		close(e.of.ended)
		<-e.of.judge
	})
	return e.Ear.End(ctx)
}

// TestASentenceThatBeginsWhileABangIsJudged: its beginning is not lost.
func TestASentenceThatBeginsWhileABangIsJudged(t *testing.T) {
	t.Parallel()
	engine := &ponders{Engine: &heartest.Engine{Ears: 1}, ended: make(chan struct{}), judge: make(chan struct{})}
	s, p := hearing(t, engine)
	eval[chromedp.Void](p, `document.getElementById("talk-ways").click()`)
	p.startCheck()
	p.sound("", 250)
	p.await(`document.getElementById("check-say").innerText.startsWith("Read this")`)
	p.sound(strings.Repeat("\u2003", 4*320), 60)
	<-engine.ended
	p.sound("build", 0)
	close(engine.judge)
	until(t, "it is listened to again", func() bool { return engine.opened.Load() == 2 })
	p.sound(" spacer sixty four millimetres", 60)
	p.await(`document.getElementById("check-read").innerText === "Collar nut stage one forty-eight newton metres."`)
	if diff := cmp.Diff([]string{"Heard: “build spacer sixty four millimetres”. It would be taken."}, p.texts("#check-found li")); diff != "" {
		t.Errorf("(-want +found):\n%s", diff)
	}
	s.nothingKept()
}

// TestTheBrowserTakesOverInACheck: that ends the check, and its microphone.
func TestTheBrowserTakesOverInACheck(t *testing.T) {
	t.Parallel()
	engine := &heartest.Engine{Ears: 1}
	s, p := browserHearsBy(t, engine)
	p.mic()
	eval[chromedp.Void](p, `document.getElementById("talk-ways").click()`)
	p.startCheck()
	p.sound("", 250)
	p.await(`document.getElementById("check-say").innerText.startsWith("Read this")`)
	p.sound("build spacer", 2)
	until(t, "the recogniser is taken", func() bool { return engine.InUse() == 1 })
	eval[chromedp.Void](p, `document.getElementById("own-on").click(); document.getElementById("own-accept").click()`)
	p.await(`document.getElementById("own-now").innerText.startsWith("The browser listens itself")`)
	if !eval[bool](p, `document.getElementById("check-go").innerText === "Start the check" && document.body.dataset.mic === "off"`) {
		t.Error("the check goes on")
	}
	until(t, "the recogniser is given back", func() bool { return engine.InUse() == 0 })
	s.nothingKept()
}

// until waits for what no page shows.
func until(t *testing.T, what string, holds func() bool) {
	t.Helper()
	for late := time.Now().Add(20 * time.Second); !holds(); time.Sleep(5 * time.Millisecond) {
		if time.Now().After(late) {
			t.Fatalf("not so: %s", what)
		}
	}
}
