package ui_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/google/go-cmp/cmp"

	"readback/capture/floor"
	"readback/capture/hear"
	"readback/capture/hear/heartest"
)

// carries brings the microphone of the test into every page of a tab, before the page's own scripts
// run, and notes what the pages say aloud and where. The pages themselves are silent: see
// [device.openSheet].
const carries = `try { localStorage.setItem("readback.sound", JSON.stringify({ mode: "off" })); } catch {}
document.addEventListener("readback:microphone", () => document.dispatchEvent(new CustomEvent("readback:source", { detail: async (take, fault) => {
	Object.assign(window, { take, unplug: fault });
	document.body.dataset.mic = "on";
	return { stop: () => (document.body.dataset.mic = "off") };
} })));
document.addEventListener("readback:say", ({ detail }) => sessionStorage.setItem("said", (sessionStorage.getItem("said") ?? "") + location.pathname + " " + detail.earcon + ": " + detail.text + "\n"));`

// atTheJobs opens the list of jobs of a shop that hears, with a microphone in every page.
func atTheJobs(t *testing.T, engine hear.Engine, with screen) (*shop, *tab) {
	t.Helper()
	s := newShopThatHears(t, floor.Register{}, engine)
	s.openJob("MW-1041", nil)
	p := newDevice(t, with, "light").open("about:blank")
	call(p, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: carries})
	p.do("open the jobs", chromedp.Navigate(s.address+"/"))
	p.await(`!document.getElementById("talk").hidden && document.querySelector("#jobs tbody tr") && document.querySelector("#options select")`)
	return s, p
}

// said holds once the desk says a text.
func said(text string) string {
	return fmt.Sprintf(`document.getElementById("desk-say").innerText.includes(%q)`, text)
}

// listens holds where the microphone is on and what it hears goes over the line: it is given a frame
// of silence to find out.
const listens = `document.getElementById("talk").dataset.talk === "listening" && document.body.dataset.mic === "on" &&
	(document.getElementById("talk").dataset.live === "true" || (window.take(new Int16Array(320)), false))`

// onSheet holds on the sheet of a job that listens.
func onSheet(job string) string {
	return fmt.Sprintf(`location.pathname === "/jobs/%[1]s" && document.getElementById("job").textContent === %[1]q && `, job) + listens
}

// TestByVoiceAlone: a job is opened from the list, worked on and handed over, and another is gone
// to, with an open microphone and without a touch between.
func TestByVoiceAlone(t *testing.T) {
	t.Parallel()
	s, p := atTheJobs(t, ears(), tablet)
	p.choose("open")
	p.do("turn the microphone on", chromedp.Click(chromedp.CSS("#talk-press")))
	speak := func(text, until string) {
		t.Helper()
		p.await(listens)
		p.sound(text, 60)
		p.await(until)
	}
	speak("open job mike whiskey one zero four two", said("Which build spec: bevel head or M R five?"))
	speak("m r five eight stages", said("Eight stages.")+` && document.getElementById("option-stages").value === "8" && document.getElementById("id").value === "MW-1042"`)
	p.shoot("opening-ready")
	speak("no", said("What is wrong?"))
	speak("six stages", said("Six stages.")+` && document.getElementById("desk-say").dataset.ready === "true"`)
	if jobs, err := s.store.Jobs(t.Context()); err != nil || len(jobs) != 1 {
		t.Fatalf("before a yes there are %d jobs, error %v", len(jobs), err)
	}
	speak("yes", onSheet("MW-1042"))
	speak("seat clean", settled("seat clean")+" && "+is("listening"))
	speak("handed over", settled("handed over")+` && !document.getElementById("over").hidden && `+is("listening"))
	speak("back to the jobs", `location.pathname === "/" && document.querySelectorAll("#jobs tbody tr").length === 2 && `+listens)
	speak("job mike whiskey one zero four one", onSheet("MW-1041"))
	speak("valve fitted", settled("valve fitted"))
	if diff := cmp.Diff([]string{"seat clean", "handed over"}, s.kept("MW-1042")); diff != "" {
		t.Errorf("notes in the journal (-said +kept):\n%s", diff)
	}
	if diff := cmp.Diff([]string{"valve fitted"}, s.kept("MW-1041")); diff != "" {
		t.Errorf("notes in the journal (-said +kept):\n%s", diff)
	}
	p.do("load the page again", chromedp.Reload())
	p.await(onSheet("MW-1041")) // it listens on
	p.tap()
	p.await(is("off"))
	p.do("load the page again", chromedp.Reload())
	p.await(drawn + " && " + is("off"))
	want := `/ ask: Job Mike Whiskey one zero four two. Which build spec: bevel head or M R five?
/ in: Job Mike Whiskey one zero four two, M R five. Eight stages. Not said, so as usual: base short, no cut impellers and no rebuild. Nobody's name stands with it. Say yes to open it, or say what is wrong.
/ ask: What is wrong? Say the number, the spec or the option again, or say start over.
/ in: Job Mike Whiskey one zero four two, M R five. Six stages. Not said, so as usual: base short, no cut impellers and no rebuild. Nobody's name stands with it. Say yes to open it, or say what is wrong.
/jobs/MW-1042 in: Job Mike Whiskey one zero four two is open.
/ in: The jobs. Say a number, or open job.
/jobs/MW-1041 in: Job Mike Whiskey one zero four one.
`
	if diff := cmp.Diff(want, eval[string](p, `sessionStorage.getItem("said")`)); diff != "" {
		t.Errorf("said aloud (-want +got):\n%s", diff)
	}
}

// TestTheDeskWithoutALine: what was said of a job before the line broke is forgotten and told so,
// and what is said meanwhile as well; nothing of it is taken later.
func TestTheDeskWithoutALine(t *testing.T) {
	t.Parallel()
	s, p := atTheJobs(t, ears(), phone)
	p.speak("open job mike whiskey one zero four two m r five")
	p.await(said("Say yes"))
	s.line.cut()
	p.await(`document.getElementById("hint").innerText.includes("is forgotten")`)
	p.speak("yes")
	p.await(`document.getElementById("talk-words").innerText.includes("not kept")`)
	p.shoot("opening-down")
	p.do("typed as well", chromedp.SetValue(chromedp.CSS("#desk-field"), "yes"), chromedp.Click(chromedp.CSS("#entry .row button")))
	again := `document.getElementById("hint").innerText.includes("Enter it again") && document.getElementById("desk-field").value === "yes"`
	p.await(again)
	eval[chromedp.Void](p, `new Promise((done) => { // through an attempt that fails
		const own = window.WebSocket;
		window.WebSocket = class extends own { constructor(...of) { super(...of); window.WebSocket = own; this.addEventListener("close", () => setTimeout(done)); } };
		dispatchEvent(new Event("online"));
	})`)
	if !eval[bool](p, again) {
		t.Errorf("an attempt that failed took the hint away, which now is %q", eval[string](p, `document.getElementById("hint").innerText`))
	}
	s.line.mend()
	p.await(`document.getElementById("hint").hidden`)
	p.do("enter it again", chromedp.Click(chromedp.CSS("#entry .row button")))
	p.await(said("Which job number?"))
	if jobs, err := s.store.Jobs(t.Context()); err != nil || len(jobs) != 1 {
		t.Errorf("there are %d jobs, error %v", len(jobs), err)
	}
}

// TestTheDeskWaits: what is said at the desk waits for a recogniser as well. What is said behind it is not kept, and
// told so.
func TestTheDeskWaits(t *testing.T) {
	t.Parallel()
	s, p := atTheJobs(t, &heartest.Engine{Ears: 1}, phone)
	one := newDevice(t, tablet, "light").openSheet(s, "MW-1041")
	one.mic()
	one.hold()
	one.sound("seat", 2)
	one.await(is("hearing"))
	p.speak("open job mike whiskey one zero four two m r five")
	p.await(is("thinking") + " && " + inQueue) // before that the key is still going up, and a press goes on with the note
	p.speak("long base")
	p.await(inQueue + ` && document.getElementById("hint").innerText.includes("not kept")`)
	p.shoot("opening-queued")
	one.sound(" clean", 20)
	one.release()
	p.await(said("Say yes") + ` && document.getElementById("hint").hidden && !` + inQueue)
}

// TestTheDeskStaysOff: a microphone that was turned off, by a page that was hidden or by being unplugged,
// is not turned on by a line that is back.
func TestTheDeskStaysOff(t *testing.T) {
	t.Parallel()
	s, p := atTheJobs(t, ears(), tablet)
	p.choose("open")
	eval[chromedp.Void](p, `(() => {
		const own = window.fetch;
		window.asked = 0;
		window.fetch = async (...of) => {
			const reply = await own(...of);
			if (String(of[0]).endsWith("/api/hearing")) setTimeout(() => (document.body.dataset.asked = ++window.asked), 300);
			return reply;
		};
	})()`)
	for n, off := range []string{
		`(() => { Object.defineProperty(document, "hidden", { value: true, configurable: true }); document.dispatchEvent(new Event("visibilitychange")); delete document.hidden; })()`,
		`window.unplug("The microphone was unplugged.")`,
	} {
		p.do("turn the microphone on", chromedp.Click(chromedp.CSS("#talk-press")))
		p.await(is("listening") + ` && document.body.dataset.mic === "on"`)
		eval[chromedp.Void](p, off)
		p.await(is("off"))
		eval[chromedp.Void](p, `void (document.body.dataset.mic = "off")`)
		s.line.cut()
		p.await(`!document.getElementById("hint").hidden`)
		s.line.mend()
		p.await(fmt.Sprintf(`document.getElementById("hint").hidden && document.body.dataset.asked === "%d"`, n+1))
		if !eval[bool](p, is("off")+` && document.body.dataset.mic === "off"`) {
			t.Errorf("the microphone turns itself on after %s", off)
		}
	}
	p.do("load the page again", chromedp.Reload())
	p.await(`document.querySelector("#jobs tbody tr") && !document.getElementById("talk").hidden && document.getElementById("talk-how").innerText !== ""`)
	if !eval[bool](p, is("off")) {
		t.Error("unplugged, it is on on the next page")
	}
}

// TestJobsPageAsksBack: words that were half heard are asked, and open nothing.
func TestJobsPageAsksBack(t *testing.T) {
	t.Parallel()
	s, p := atTheJobs(t, ears(), wall)
	p.speak("open job mike whiskey one zero four two m r five")
	p.await(said("Say yes"))
	p.speak("yes|no")
	p.await(said("Did you say yes? Yes or no."))
	p.speak("~what a day|is it")
	p.await(is("off"))
	p.speak("yes")
	p.await(`location.pathname === "/jobs/MW-1042"`)
	if jobs, err := s.store.Jobs(t.Context()); err != nil || len(jobs) != 2 {
		t.Errorf("there are %d jobs, error %v", len(jobs), err)
	}
}

// TestTheDeskWithALeadIn: an open microphone at the jobs takes what begins with the lead-in and says so;
// the browser is not offered to listen there.
func TestTheDeskWithALeadIn(t *testing.T) {
	t.Parallel()
	_, p := atTheJobs(t, &guessing{Engine: ears(), leadIn: "bench seven"}, phone)
	if eval[bool](p, `document.getElementById("own") !== null`) {
		t.Error("the browser is offered to listen where its words are not taken")
	}
	p.await(`document.getElementById("talk-how").innerText !== ""`)
	p.choose("open")
	if what := eval[string](p, `document.getElementById("ways-what").textContent`); !strings.Contains(what, "bench seven") {
		t.Errorf("the form says %q", what)
	}
	p.do("turn the microphone on", chromedp.Click(chromedp.CSS("#talk-press")))
	p.await(listens + ` && document.getElementById("talk-how").innerText === "Begin with “bench seven”."`)
	p.shoot("opening-led")
	p.sound("open job mike whiskey one zero four two", 60)
	p.await(is("listening") + ` && document.getElementById("talk").dataset.live === "false"`) // the note is over and answered
	p.await(listens)
	if eval[bool](p, said("Which build spec")) {
		t.Error("it took what was said without the lead-in")
	}
	p.sound("bench seven open job mike whiskey one zero four two", 60)
	p.await(said("Which build spec: bevel head or M R five?"))
}
