package ui_test

import (
	"bytes"
	"context"
	"fmt"
	"image/jpeg"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/google/go-cmp/cmp"
	"github.com/rs/zerolog"

	"readback/capture/evidence"
	"readback/capture/floor/floortest"
	"readback/capture/journal"
	"readback/capture/sound"
	"readback/parse"
)

// entries returns the job's entries of a kind.
func (s *shop) entries(job string, kind journal.Kind) (out []journal.Entry) {
	s.t.Helper()
	all, err := s.store.Entries(s.t.Context(), job, 0, 1000)
	if err != nil {
		s.t.Fatal(err)
	}
	for _, e := range all {
		if e.Kind == kind {
			out = append(out, e)
		}
	}
	return out
}

// purge purges all sounds and photos of the shop, as in a hundred days.
func (s *shop) purge() {
	s.t.Helper()
	p := evidence.Purger{
		Source: s.store, Record: s.floor.Record, Program: "test", Log: zerolog.Nop(),
		Now:     func() time.Time { return time.Now().Add(100 * 24 * time.Hour) },
		Folders: map[evidence.Sort]evidence.Folder{evidence.Sound: s.sounds, evidence.Photo: s.photos},
	}
	rule := evidence.Rule{Sounds: 90 * 24 * time.Hour, Photos: 90 * 24 * time.Hour}
	if _, err := p.Purge(s.t.Context(), rule, false); err != nil {
		s.t.Fatal(err)
	}
}

// fetch asks the shop as a browser does.
func (s *shop) fetch(path string) (int, []byte) {
	s.t.Helper()
	r, err := http.NewRequestWithContext(context.Background(), http.MethodGet, s.address+path, http.NoBody)
	if err != nil {
		s.t.Fatal(err)
	}
	response, err := (&http.Client{}).Do(r)
	if err != nil {
		s.t.Fatal(err)
	}
	defer response.Body.Close()
	body, err := io.ReadAll(response.Body)
	if err != nil {
		s.t.Fatal(err)
	}
	return response.StatusCode, body
}

// inRow are the photos of the newest note; atHand those of the page that says how it was read.
const (
	inRow  = `#notes > li:first-child .shots img`
	atHand = `#evidence img`
)

// sees waits until so many photos are there, and drawn.
func (p *tab) sees(photos int, where string) {
	p.t.Helper()
	p.await(fmt.Sprintf(`document.querySelectorAll(%q).length === %d`, where, photos))
	wide := eval[[]int](p, fmt.Sprintf(`Promise.all([...document.querySelectorAll(%q)].map(async (i) => { i.loading = "eager"; await i.decode(); return i.naturalWidth; }))`, where))
	for _, w := range wide {
		if w < 100 {
			p.t.Errorf("a photo is drawn %d pixels wide", w)
		}
	}
}

// takes takes the photo at once that the page is about to.
func (p *tab) takes() {
	p.t.Helper()
	p.await(`!document.getElementById("camera-now").hidden && document.activeElement.id === "camera-now"`)
	p.press(kb.Enter)
	p.await(`!document.getElementById("camera").open`)
}

// photographed opens a sheet with a note whose pages may use the camera.
func photographed(t *testing.T, s *shop, size screen) *tab {
	t.Helper()
	p := s.sheet(size, "camera")
	p.say("thrust washer badly scored on the inlet side")
	p.await(settled("thrust washer badly scored on the inlet side"))
	return p
}

// TestPhotoByWord: "photo", typed and spoken, takes a picture with the browser's camera into the note
// before it, and is itself no note.
func TestPhotoByWord(t *testing.T) {
	t.Parallel()
	s := newShopThatHears(t, floortest.Register(t), ears())
	p := photographed(t, s, tablet)
	note := s.entries("MW-1041", journal.Note)[0]
	p.say("Take a photo.")
	p.await(`document.getElementById("camera").open && document.getElementById("camera-say").innerText.startsWith("Hold still") && !document.getElementById("camera-view").hidden`)
	if of := p.text("#camera-of"); of != note.Text {
		t.Errorf("it says that the photo goes with %q", of)
	}
	p.shoot("camera")
	p.await(`!document.getElementById("camera").open`) // the count ends by itself
	p.sees(1, inRow)
	p.mic()
	p.speak("photo")
	p.takes()
	p.sees(2, inRow)
	if at := eval[string](p, `document.activeElement.id`); at != "field" {
		t.Errorf("afterwards the focus is at %q", at)
	}
	p.shoot("photos")

	photos := s.entries("MW-1041", journal.Photo)
	if len(photos) != 2 || photos[0].Of != note.Seq || photos[1].Of != note.Seq {
		t.Fatalf("the journal has the photos %+v", photos)
	}
	if diff := cmp.Diff([]string{note.Text}, s.kept("MW-1041")); diff != "" {
		t.Errorf("notes in the journal (-said +kept):\n%s", diff)
	}
	status, data := s.fetch("/api/jobs/MW-1041/photos/" + photos[0].Photo)
	if m, err := jpeg.Decode(bytes.NewReader(data)); err != nil || status != http.StatusOK || m.Bounds().Dx() < 320 || evidence.HashOf(data) != photos[0].Photo {
		t.Errorf("the photo is served with status %d, error %v", status, err)
	}

	p.do("how it was read", chromedp.Navigate(s.address+"/jobs/MW-1041/notes/2"))
	p.sees(2, atHand)
	p.shoot("photos-words")
	p.do("large", chromedp.Click(chromedp.CSS("#evidence .shots button")))
	p.sees(1, "dialog[open] img")
	p.shoot("photo-large")
	p.press(kb.Enter) // on the button that closes it
	p.await(`!document.querySelector("dialog[open]")`)
}

// TestPhotoWords: the page and the parser know the same commands.
func TestPhotoWords(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := s.sheet(tablet)
	says := func(text string) bool {
		return eval[bool](p, fmt.Sprintf(`import(document.querySelector("script[type=module]").src.replace("sheet.js", "photos.js")).then((m) => m.isPhoto(%q))`, text))
	}
	for _, text := range append(parse.Photos(), "Photo", "TAKE A PHOTO!", " picture. ", "photo of the seat", "no photo", "photo 2", "") {
		if page, parser := says(text), parse.IsPhoto(text); page != parser {
			t.Errorf("%q is the command to the page: %t, to the parser: %t", text, page, parser)
		}
	}
	eval[chromedp.Void](p, collects)
	p.say("photo")
	p.await(`document.getElementById("hint").innerText.includes("Say a note first") && said.at(-1)?.text.startsWith("Say a note first")`)
	eval[chromedp.Void](p, `(document.getElementById("sound-open").click(), document.getElementById("photo-open").click())`)
	p.await(`said.at(-1).text === "Close the form first." && document.getElementById("hint").innerText === "Close the form first."`)
}

// TestPhotoWhileTheLineIsDown: it is kept over a reload, behind its note, and sent when the line is
// back.
func TestPhotoWhileTheLineIsDown(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := photographed(t, s, tablet)
	eval[bool](p, keepsPages)
	s.line.cut()
	p.await(cutOff)
	p.say("seat is clean")
	p.await(`document.querySelector("#notes > li").dataset.word === "kept"`)
	p.say("photo")
	p.takes()
	const here = `document.querySelector("#notes > li:first-child .shots canvas")?.width > 100 && document.querySelector("#notes > li:first-child .shots").innerText.includes("not sent yet")`
	p.await(here)
	p.do("reload", chromedp.Reload())
	p.await(here)
	p.shoot("photo-waits")
	for _, wrong := range eval[[]string](p, misfits) {
		t.Errorf("%s", wrong)
	}
	if got := s.entries("MW-1041", journal.Photo); len(got) != 0 {
		t.Fatalf("with the line down the journal has %+v", got)
	}
	s.line.mend()
	p.await(settled("seat is clean"))
	p.sees(1, inRow)
	if left := eval[int](p, inOutbox); left != 0 {
		t.Errorf("the browser still keeps %d", left)
	}
	notes, photos := s.entries("MW-1041", journal.Note), s.entries("MW-1041", journal.Photo)
	if len(notes) != 2 || len(photos) != 1 || photos[0].Of != notes[1].Seq || photos[0].ClientAt == 0 {
		t.Errorf("the journal has %d notes and the photos %+v", len(notes), photos)
	}
}

// TestPhotoIsRefused: a photo whose note the server does not have is told of, and put with another.
func TestPhotoIsRefused(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := photographed(t, s, phone)
	s.line.cut()
	p.await(cutOff)
	p.say("seat is clean")
	p.await(`document.querySelector("#notes > li").dataset.word === "kept"`)
	p.say("photo")
	p.takes()
	p.await(`document.querySelector("#notes > li:first-child .shots canvas")`)
	s.store.full.Store(true) // the note is refused
	s.line.mend()
	p.await(`document.querySelector("#notes > li:first-child").innerText.includes("disk is full") && document.querySelector("#notes .shots")?.innerText.includes("Not kept")`)
	s.store.full.Store(false)
	p.shoot("photo-refused")
	for _, wrong := range eval[[]string](p, misfits) {
		t.Errorf("%s", wrong)
	}
	eval[chromedp.Void](p, `[...document.querySelectorAll("#notes > li:first-child > .acts button")].find((b) => b.innerText === "Drop it").click()`)
	p.await(`document.querySelector("#notes > li:first-child").innerText.includes("Photos whose note is not in the record")`)
	eval[chromedp.Void](p, `void ((window.row = document.querySelector("#notes > li:first-child")), window.row.querySelector("button").focus())`)
	s.line.cut() // the sheet is drawn again
	p.await(cutOff)
	if !eval[bool](p, `document.querySelector("#notes > li:first-child") === window.row && window.row.contains(document.activeElement)`) {
		t.Error("the row of the photo was drawn anew, and has lost the focus")
	}
	s.line.mend()
	eval[chromedp.Void](p, `[...document.querySelectorAll("#notes .shots button")].find((b) => b.innerText === "Put it with the last note").click()`)
	p.sees(1, inRow)
	if got := s.entries("MW-1041", journal.Photo); len(got) != 1 || got[0].Of != 2 {
		t.Errorf("the journal has %+v", got)
	}
}

// TestPhotoThatTheServerCannotKeep: it says why, holds up no other, and is sent later.
func TestPhotoThatTheServerCannotKeep(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := photographed(t, s, phone)
	s.store.full.Store(true)
	p.say("photo")
	p.takes()
	const first = `document.querySelector("#notes > li:first-child .shots > li:first-child")`
	p.await(first + `?.innerText.includes("not sent yet: ") && ` + first + `.innerText.includes("disk is full")`)
	p.shoot("photo-delayed")
	for _, wrong := range eval[[]string](p, misfits) {
		t.Errorf("%s", wrong)
	}
	s.store.full.Store(false)
	eval[chromedp.Void](p, `(() => {
		window.whole = window.fetch;
		let one = "";
		window.fetch = (at, init) => {
			const id = String(at).includes("/photos?") && new URL(at, location).searchParams.get("id");
			one ||= id;
			return id && id === one ? Promise.resolve(new Response(JSON.stringify({ error: "the store is busy" }), { status: 503 })) : window.whole(at, init);
		};
	})()`)
	p.say("photo")
	p.takes()
	p.await(first + `.innerText.includes("not sent yet: The store is busy")`)
	p.sees(1, inRow) // the second
	eval[chromedp.Void](p, `void (window.fetch = window.whole)`)
	p.say("seat is clean")
	p.sees(2, "#n2 .shots img")
	if got := s.entries("MW-1041", journal.Photo); len(got) != 2 {
		t.Errorf("the journal has %+v", got)
	}
}

// TestPhotoIsCancelledAsItIsTaken: it is not kept; the next is.
func TestPhotoIsCancelledAsItIsTaken(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	p := photographed(t, s, tablet)
	eval[chromedp.Void](p, collects+`; (() => {
		const own = HTMLCanvasElement.prototype.toBlob;
		HTMLCanvasElement.prototype.toBlob = function (done, ...rest) {
			HTMLCanvasElement.prototype.toBlob = own;
			document.body.dataset.taken = "yes";
			window.release = () => new Promise((over) => own.call(this, (blob) => (done(blob), setTimeout(over, 300)), ...rest));
		};
	})()`)
	p.say("photo")
	p.await(`!document.getElementById("camera-now").hidden && document.activeElement.id === "camera-now"`)
	p.press(kb.Enter)
	p.await(`document.body.dataset.taken === "yes"`)
	p.press(kb.Escape)
	p.await(`!document.getElementById("camera").open`)
	eval[any](p, `window.release()`)
	if left := eval[int](p, inOutbox); left != 0 || eval[bool](p, `said.length > 0 || document.querySelector("#notes .shots") !== null`) {
		t.Errorf("the browser keeps %d, and says %v", left, eval[any](p, `said`))
	}
	p.say("photo")
	p.takes()
	p.sees(1, inRow)
	if got := s.entries("MW-1041", journal.Photo); len(got) != 1 {
		t.Errorf("the journal has %+v", got)
	}
}

// TestNoCamera: whatever is wrong with it is said in words, also aloud, and it can be tried again. The
// form is closed, so that the key to talk works.
func TestNoCamera(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	s.openJob("MW-1041", nil)
	s.bench("MW-1041", "seat is clean")
	for _, tt := range []struct{ name, setting, make, want string }{
		{"refused", "denied", ``, "was refused"},
		{"missing", "granted", `navigator.mediaDevices.getUserMedia = () => Promise.reject(new DOMException("none", "NotFoundError"))`, "no camera"},
		{"in use", "granted", `navigator.mediaDevices.getUserMedia = () => Promise.reject(new DOMException("busy", "NotReadableError"))`, "another program"},
		{"not to be had here", "granted", `Object.defineProperty(navigator, "mediaDevices", { value: undefined })`, "https"},
		{"unplugged", "granted", `new MutationObserver(() => { const s = document.getElementById("camera-view").srcObject; s?.getTracks()[0].dispatchEvent(new Event("ended")); }).observe(document.getElementById("camera-say"), { childList: true })`, "unplugged"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			d := newDevice(t, phone, "light")
			p := d.openSheet(s, "MW-1041")
			d.permit(s, "camera", browser.PermissionSetting(tt.setting))
			p.await(`document.querySelector("#notes .text")`)
			if tt.make != "" {
				eval[chromedp.Void](p, "void ("+tt.make+")")
			}
			eval[chromedp.Void](p, collects)
			eval[chromedp.Void](p, `document.getElementById("photo-open").click()`)
			p.await(fmt.Sprintf(`document.getElementById("hint").innerText.includes(%[1]q) && said.at(-1)?.text.includes(%[1]q) && !document.getElementById("camera").open && document.activeElement.id === "field"`, tt.want))
			p.shoot("camera-" + strings.ReplaceAll(tt.name, " ", "-"))
			for _, wrong := range eval[[]string](p, misfits) {
				t.Errorf("%s", wrong)
			}
			if tt.name == "refused" {
				d.permit(s, "camera", "granted")
				p.say("photo")
				p.await(`!document.getElementById("camera-now").hidden`)
				checkAccess(t, p, everyRule)
				p.press(kb.Escape)
			}
			p.await(`!document.getElementById("camera").open && !document.getElementById("camera-view").srcObject`)
		})
	}
	if got := s.entries("MW-1041", journal.Photo); len(got) != 0 {
		t.Errorf("the journal has %+v", got)
	}
}

// collectsSpeaking notes when the page sounds.
const collectsSpeaking = `(() => { window.told = []; for (const what of ["speaking", "silent"]) document.addEventListener("readback:" + what, (e) => window.told.push(what + (e.detail?.what ? " " + e.detail.what : ""))); })()`

// TestPlay: the sound of a spoken note is played by the keyboard alone, on the sheet, with how it was
// read, and in the search; the page is deaf meanwhile. Purged, it is told of instead.
func TestPlay(t *testing.T) {
	t.Parallel()
	s, p := hearing(t, ears())
	p.speak("seat clean")
	p.await(settled("seat clean"))
	note := s.entries("MW-1041", journal.Note)[0]
	status, data := s.fetch("/api/jobs/MW-1041/sounds/" + note.Sound)
	if pcm, err := sound.Decode(data); err != nil || status != http.StatusOK || len(pcm) < 3200 || pcm[0] != 's' {
		t.Fatalf("status %d, %d samples, error %v", status, len(pcm), err)
	}
	s.kept("MW-1041")
	for _, at := range []string{"/jobs/MW-1041", "/jobs/MW-1041/notes/2", "/search?q=seat"} {
		p.do("open "+at, chromedp.Navigate(s.address+at))
		p.await(`document.querySelector(".play")`)
		eval[chromedp.Void](p, collectsSpeaking+`; document.querySelector(".play").focus()`)
		if label := eval[string](p, `document.querySelector(".play").ariaLabel`); !strings.HasPrefix(label, "Play the sound of note 2") {
			t.Errorf("%s: the button is called %q", at, label)
		}
		p.press(kb.Enter)
		p.await(`window.told.join() === "speaking played,silent" && document.querySelector(".play").dataset.plays === "false"`) // to its end
		p.shoot("play" + strings.NewReplacer("/", "-", "?", "-", "=", "-").Replace(at))
		for _, wrong := range eval[[]string](p, misfits) {
			t.Errorf("%s: %s", at, wrong)
		}
	}
	p.do("back to the sheet", chromedp.Navigate(s.address+"/jobs/MW-1041"))
	p.await(`document.querySelector(".play")`)
	eval[chromedp.Void](p, `void (window.old = document.querySelector(".play"))`)
	s.purge()
	p.await(`document.querySelector("#notes .gone")?.innerText.includes("Sound purged") && document.querySelector("#notes .gone").innerText.includes("older than 90 days") && !document.querySelector("#notes .play")`)
	p.shoot("purged")
	eval[chromedp.Void](p, `document.querySelector("#notes > li div").append(window.old.parentElement); window.old.click()`) // one that does not know
	p.await(`document.querySelector("#notes .sound-of [role=status]").innerText.startsWith("The sound was purged on")`)
	p.do("how it was read", chromedp.Navigate(s.address+"/jobs/MW-1041/notes/2"))
	p.await(`document.querySelector("#evidence .gone")?.innerText.includes("Sound purged")`)
	if status, _ := s.fetch("/api/jobs/MW-1041/sounds/" + note.Sound); status != http.StatusGone {
		t.Errorf("purged, it is served with status %d", status)
	}
}

// TestPlayIsStopped: by a pause from without it ends as by its button, of which there is one also where
// the row was drawn anew.
func TestPlayIsStopped(t *testing.T) {
	t.Parallel()
	s, p := hearing(t, &guessing{Engine: ears(), guess: "note the housing went gold", again: "note the housing went old"})
	p.speak("~note the housing went gold")
	p.await(settled("note the housing went gold"))
	eval[chromedp.Void](p, collectsSpeaking+`; (() => {
		const own = HTMLMediaElement.prototype.play;
		HTMLMediaElement.prototype.play = function () {
			window.audio = this;
			this.loop = true;
			return own.call(this);
		};
	})()`)
	play := func() {
		t.Helper()
		eval[chromedp.Void](p, `document.querySelector("#n2 .play").click()`)
		p.await(`document.querySelector("#n2 .play").dataset.plays === "true"`)
		eval[any](p, `new Promise((done) => window.audio.addEventListener("timeupdate", () => done(0)))`)
	}
	const silent = `document.querySelector("#n2 .play").dataset.plays === "false" && window.told.at(-1) === "silent" && window.audio.paused`
	play()
	eval[chromedp.Void](p, `window.audio.pause()`)
	p.await(silent)
	play()
	eval[chromedp.Void](p, `void window.audio.dispatchEvent(new Event("error"))`)
	p.await(silent + ` && document.querySelector("#n2 .sound-of [role=status]").innerText !== ""`)
	play()
	eval[chromedp.Void](p, `void (window.old = document.querySelector("#n2 .play"))`)
	eval[chromedp.Void](p, `document.querySelector("#n2 .guess button:last-child").click()`)
	p.await(`document.querySelector("#n2 .guess").textContent.includes("Heard again") && document.querySelector("#n2 .play") !== window.old`)
	if text := p.text("#n2 .play"); !strings.Contains(text, "Stop") {
		t.Errorf("while it plays the button of the new row says %q", text)
	}
	eval[chromedp.Void](p, `document.querySelector("#n2 .play").click()`)
	p.await(silent)
	if notes := s.entries("MW-1041", journal.Note); len(notes) != 2 {
		t.Errorf("the journal has %+v", notes)
	}
}

// TestEvidenceFits: a note with its sound and its photos on every screen.
func TestEvidenceFits(t *testing.T) {
	t.Parallel()
	for _, size := range screens {
		s := newShopThatHears(t, floortest.Register(t), ears())
		p := photographed(t, s, size)
		p.mic()
		p.speak("seat clean")
		p.await(settled("seat clean"))
		for n := range 2 {
			p.say("photo")
			p.takes()
			p.sees(n+1, inRow)
		}
		p.shoot("evidence")
		for _, wrong := range eval[[]string](p, misfits) {
			t.Errorf("%s: %s", size.name, wrong)
		}
		checkAccess(t, p, everyRule)
		eval[chromedp.Void](p, `document.querySelector("#notes .evidence").scrollIntoView({ block: "center" })`)
		p.shoot("evidence-row")
		p.do("how it was read", chromedp.Navigate(s.address+"/jobs/MW-1041/notes/3"))
		p.sees(2, atHand)
		p.shoot("evidence-words")
		for _, wrong := range eval[[]string](p, misfits) {
			t.Errorf("%s, how it was read: %s", size.name, wrong)
		}
	}
}
