package ui_test

import (
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/google/go-cmp/cmp"
)

// listensOn holds where an open microphone is on, and has the browser keep the screen on.
const listensOn = `document.getElementById("talk").dataset.talk === "listening" && document.body.dataset.mic === "on" && locks.at(-1)?.released === false`

// locked writes down what the browser gives a page that keeps the screen on.
const locked = `(() => {
	window.locks = [];
	const own = WakeLock.prototype.request;
	WakeLock.prototype.request = async function (what) {
		const lock = await own.call(this, what);
		locks.push(lock);
		return lock;
	};
})();`

// TestASheetThatIsSeenAgainListensOn: an open microphone that was on when the sheet was hidden is on when it is seen,
// without a touch, and that is said; one that was turned off stays so.
func TestASheetThatIsSeenAgainListensOn(t *testing.T) {
	t.Parallel()
	s, p := hearing(t, ears())
	eval[chromedp.Void](p, locked)
	eval[chromedp.Void](p, collects)
	p.choose("open")
	p.tap()
	p.await(listensOn)
	eval[chromedp.Void](p, goesHidden)
	p.await(is("off") + ` && document.body.dataset.mic === "off" && locks.every((l) => l.released)`)
	eval[chromedp.Void](p, isSeen)
	p.await(listensOn + ` && said.some((s) => s.text === "Listening again.")`)
	p.shoot("talk-seen")
	p.sound("seat clean", 60)
	p.await(settled("seat clean") + " && " + listensOn)

	eval[chromedp.Void](p, `void (said.length = 0)`)
	staysOff := func(why string) {
		t.Helper()
		eval[chromedp.Void](p, goesHidden)
		eval[chromedp.Void](p, isSeen)
		if !eval[bool](p, is("off")+` && said.every((s) => s.text !== "Listening again.") && locks.every((l) => l.released)`) {
			t.Errorf("%s: it is on when the sheet is seen", why)
		}
	}
	p.tap()
	p.await(is("off") + ` && locks.every((l) => l.released)`)
	staysOff("turned off")
	p.tap()
	p.await(listensOn)
	eval[chromedp.Void](p, `window.unplug("The microphone was unplugged.")`)
	p.await(is("off") + ` && locks.every((l) => l.released)`)
	staysOff("unplugged")
	p.tap()
	p.await(listensOn)
	p.choose("tap")
	p.await(is("off"))
	p.choose("open")
	staysOff("another way to talk")
	if diff := cmp.Diff([]string{"seat clean"}, s.kept("MW-1041")); diff != "" {
		t.Errorf("notes in the journal (-said +kept):\n%s", diff)
	}
}

// TestTheDeskThatIsSeenAgainListensOn: it is the same where jobs are opened, also for a page that is loaded while it is
// hidden, as a browser does that has let it go.
func TestTheDeskThatIsSeenAgainListensOn(t *testing.T) {
	t.Parallel()
	_, p := atTheJobs(t, ears(), tablet)
	call(p, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: locked})
	p.do("reload", chromedp.Reload())
	p.await(`!document.getElementById("talk").hidden && document.getElementById("talk-how").innerText !== ""`)
	p.choose("open")
	p.do("turn the microphone on", chromedp.Click(chromedp.CSS("#talk-press")))
	p.await(listensOn)
	eval[chromedp.Void](p, goesHidden)
	p.await(is("off") + ` && document.body.dataset.mic === "off" && locks.every((l) => l.released)`)
	eval[chromedp.Void](p, isSeen)
	p.await(listensOn + ` && sessionStorage.getItem("said") === "/ : Listening again.\n"`)
	p.await(listens)
	p.sound("open job mike whiskey one zero four two", 60)
	p.await(said("Which build spec: bevel head or M R five?"))

	call(p, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{
		Source: `Object.defineProperty(document, "hidden", { value: true, configurable: true })`,
	})
	p.do("reload while it is hidden", chromedp.Reload())
	p.await(`!document.getElementById("talk").hidden && document.getElementById("line")?.dataset.line !== "down" && document.getElementById("talk-how").innerText !== ""`)
	if eval[bool](p, `document.body.dataset.mic === "on"`) {
		t.Error("a hidden page listens")
	}
	eval[chromedp.Void](p, isSeen)
	p.await(listensOn)
}

// TestTheBrowsersOwnIsBegunByHand: what may send the sound elsewhere does not listen on by itself.
func TestTheBrowsersOwnIsBegunByHand(t *testing.T) {
	t.Parallel()
	_, p := browserHears(t)
	p.letListen()
	p.choose("open")
	p.tap()
	p.await(is("listening") + ` && document.body.dataset.own === "one"`)
	eval[chromedp.Void](p, goesHidden)
	p.await(is("off") + ` && !document.body.dataset.own`)
	eval[chromedp.Void](p, isSeen)
	if !eval[bool](p, is("off")+` && !document.body.dataset.own`) {
		t.Error("the browser listens again by itself")
	}
}

// TestTheScreenStaysOn: what the browser takes back is asked for again; one that refuses, or cannot, is no fault.
func TestTheScreenStaysOn(t *testing.T) {
	t.Parallel()
	_, p := hearing(t, ears())
	eval[chromedp.Void](p, locked)
	p.speak("valve fitted") // a key is held for a moment alone
	p.await(settled("valve fitted"))
	if n := eval[int](p, `locks.length`); n != 0 {
		t.Errorf("a key that is held has asked %d times", n)
	}
	p.choose("open")
	p.tap()
	p.await(listensOn)
	eval[any](p, `locks[0].release()`)
	eval[chromedp.Void](p, `document.dispatchEvent(new Event("visibilitychange"))`)
	p.await(`locks.length === 2 && ` + listensOn)
	p.tap()
	p.await(is("off") + ` && locks.every((l) => l.released)`)
	for _, without := range []string{
		`WakeLock.prototype.request = () => Promise.reject(new DOMException("the battery is low", "NotAllowedError"))`,
		`Object.defineProperty(navigator, "wakeLock", { value: undefined })`,
	} {
		eval[chromedp.Void](p, "void ("+without+")")
		p.tap()
		p.await(is("listening") + ` && document.body.dataset.mic === "on"`)
		if says := p.text("#talk-words"); says != "" {
			t.Errorf("the strip says %q", says)
		}
		p.tap()
		p.await(is("off"))
	}
}

// TestAFormThatIsSeenAgain: while nobody may talk nothing is turned on, nor said to be. At the end of the form the microphone
// listens on, unless another way to talk was chosen.
func TestAFormThatIsSeenAgain(t *testing.T) {
	t.Parallel()
	_, p := hearing(t, ears())
	eval[chromedp.Void](p, collects)
	p.choose("open")
	p.tap()
	p.await(is("listening") + ` && document.body.dataset.mic === "on"`)
	const ownHidden = `document.getElementById("talk-ways").click(); ` + goesHidden + "; " + isSeen
	const stillOff = `document.body.dataset.mic === "off" && said.length === 0`
	eval[chromedp.Void](p, ownHidden)
	if !eval[bool](p, stillOff) {
		t.Errorf("behind the form it listens, and says %q", eval[[]struct{ Text string }](p, "said"))
	}
	eval[chromedp.Void](p, `document.getElementById("ways-done").click()`)
	p.await(is("listening") + ` && document.body.dataset.mic === "on" && said.some((s) => s.text === "Listening again.")`)
	eval[chromedp.Void](p, `said.length = 0; `+ownHidden+`; document.querySelector("[data-way=tap]").click(); document.getElementById("ways-done").click()`)
	p.await(`document.getElementById("talk").dataset.way === "tap" && !document.getElementById("ways").open`)
	if !eval[bool](p, stillOff) {
		t.Error("it listens on in another way to talk")
	}
}
