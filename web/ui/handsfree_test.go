package ui_test

import (
	"bufio"
	"context"
	"encoding/base64"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/google/go-cmp/cmp"

	"readback/capture/hear/speechtest"
)

// room is where the browser of a test stands, made before a page's own scripts run. Its microphone
// is a stream of the test: a faint hiss, what the test plays into it with play(base64 of samples,
// 16 kHz, 16 bit), and half as loud all that the page itself sounds. It goes the whole way of a real
// one: getUserMedia, the page's audio context and worklet, the websocket, the recogniser. What the
// page says, and what comes over its line, is written down; both outlive the page.
const room = `(() => {
	const context = new AudioContext({ sampleRate: 16000 });
	const air = context.createGain();
	const hiss = context.createBuffer(1, 16000, 16000);
	hiss.getChannelData(0).forEach((_, i, all) => (all[i] = (Math.random() - 0.5) / 4000));
	const noise = new AudioBufferSourceNode(context, { buffer: hiss, loop: true });
	noise.connect(air);
	noise.start();
	const microphone = { getUserMedia: async () => {
		await context.resume();
		const out = context.createMediaStreamDestination();
		air.connect(out);
		return out.stream;
	} };
	Object.assign(navigator.mediaDevices, microphone);

	const connect = AudioNode.prototype.connect;
	AudioNode.prototype.connect = function (to, ...rest) {
		if (to === this.context.destination) {
			const copy = this.context.createMediaStreamDestination();
			connect.call(this, copy);
			const half = new GainNode(context, { gain: 0.5 });
			context.createMediaStreamSource(copy.stream).connect(half).connect(air);
		}
		return connect.call(this, to, ...rest);
	};

	window.play = (base64) => new Promise((done) => {
		const bytes = Uint8Array.from(atob(base64), (c) => c.charCodeAt(0));
		const samples = Float32Array.from(new Int16Array(bytes.buffer), (x) => x / 32768);
		const buffer = context.createBuffer(1, samples.length, 16000);
		buffer.copyToChannel(samples, 0);
		const source = new AudioBufferSourceNode(context, { buffer });
		source.connect(air);
		source.addEventListener("ended", () => done(true));
		source.start();
	});

	const log = (name, what) => sessionStorage.setItem(name, JSON.stringify([...window.logged(name), what]));
	window.logged = (name) => JSON.parse(sessionStorage.getItem(name) ?? "[]");
	document.addEventListener("readback:speaking", ({ detail }) => log("spoken", detail.what + ": " + detail.text));
	const Socket = window.WebSocket;
	window.WebSocket = class extends Socket {
		constructor(...of) {
			super(...of);
			this.addEventListener("message", ({ data }) => {
				const { type, text, verdict, say, reason, leave, go, do: does } = JSON.parse(data);
				if (!["answer", "heard", "opening", "refused"].includes(type)) return;
				log("came", { type, text, verdict, say, reason, leave, go, do: does });
			});
		}
	};
})();`

// came is a message that a page got for what was said.
type came struct {
	Type, Text, Verdict, Say, Reason, Go, Do string
	Leave                                    bool
}

// stem is a text without the ends of its words: "cleaned" records what "clean" does.
func stem(text string) string {
	words := strings.Fields(text)
	for i, w := range words {
		words[i] = strings.TrimSuffix(strings.TrimSuffix(w, "s"), "ed")
	}
	return strings.Join(words, " ")
}

// attempts is how often a sentence is said before the test gives up: a recogniser asks back.
const attempts = 6

// utter says a sentence once the page listens, and again as long as it was not understood; a
// question whether it was that is answered with yes. It returns once it was taken. Words that were
// taken for others fail the test.
func (p *tab) utter(text string) came {
	p.t.Helper()
	say := text
	for n := range attempts {
		m := p.voice(speakers[n%len(speakers)], say)
		switch {
		case m.Type == "answer", m.Type == "opening", m.Type == "heard" && m.Verdict == "taken":
			if stem(m.Text) != stem(text) {
				p.t.Fatalf("%q was taken for %q", text, m.Text)
			}
			return m
		case m.Verdict == "asked" && m.Text == text && strings.HasPrefix(m.Say, "Did you say "):
			say = "yes"
		default:
			say = text
		}
		p.t.Logf("%q: %+v", text, m)
	}
	p.t.Fatalf("%q is not understood", text)
	return came{}
}

// speakers are the voices that say it, the next where one is not understood.
var speakers = []string{"awb", "rms", "slt"}

// voice says a sentence once, and returns what came of it; nothing where nothing did.
func (p *tab) voice(voice, text string) came {
	p.t.Helper()
	p.await(is("listening") + ` && document.getElementById("talk").dataset.live === "true"`)
	before := eval[int](p, `logged("came").length`)
	pcm := slices.Concat(speechtest.Say(p.t, voice, text), speechtest.Hush(8000))
	data, err := binary.Append(nil, binary.LittleEndian, pcm)
	if err != nil {
		p.t.Fatal(err)
	}
	// The page may be left for another while the end of the sentence sounds.
	eval[chromedp.Void](p, fmt.Sprintf(`(document.body.dataset.played = "no", play(%q).then(() => (document.body.dataset.played = "yes")), undefined)`, base64.StdEncoding.EncodeToString(data)))
	p.await(`document.body.dataset.played !== "no" && ["listening", "speaking"].includes(document.getElementById("talk").dataset.talk)`)
	all := eval[[]came](p, `logged("came")`)[before:]
	for _, m := range all {
		if m.Type != "heard" || m.Verdict != "silent" {
			return m
		}
	}
	return came{}
}

// program builds the program and starts its server with the offline recogniser, in a folder of its
// own. It returns its address and the folder.
func program(t *testing.T) (address, folder string) {
	t.Helper()
	dir := t.TempDir()
	exe, folder := filepath.Join(dir, "readback"), filepath.Join(dir, "data")
	if out, err := exec.CommandContext(t.Context(), "go", "build", "-o", exe, "readback/cmd/readback").CombinedOutput(); err != nil {
		t.Fatalf("build: %v\n%s", err, out)
	}
	c := exec.CommandContext(context.WithoutCancel(t.Context()), exe, "serve", "--data", folder, "--key-file", folder+"-seal.key", "--listen", "127.0.0.1:0", "--stt", "offline", "--speak", "flite")
	c.Stderr = t.Output()
	out, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := c.Process.Signal(os.Interrupt); err != nil {
			t.Error(err)
		}
		if err := c.Wait(); err != nil {
			t.Errorf("the server ended: %v", err)
		}
	})
	line, err := bufio.NewReader(out).ReadString('\n')
	_, address, found := strings.Cut(strings.TrimSpace(line), "Readback serves at ")
	if err != nil || !found {
		t.Fatalf("the server says %q, error %v", line, err)
	}
	return address, folder
}

// inRoom opens the list of jobs as that person, in a room in which the page is heard.
func inRoom(t *testing.T, address, person string) *tab {
	t.Helper()
	p := newDeviceOf(t, sounding, tablet, "light").open("about:blank")
	call(p, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: `if (location.protocol === "http:") ` + room})
	p.do("open the jobs", chromedp.Navigate(address+"/"))
	eval[chromedp.Void](p, fmt.Sprintf(`(localStorage.setItem("readback.sound", JSON.stringify({ speed: 1.6 })), localStorage.setItem("readback.person", %q), undefined)`, person))
	return p
}

// TestAStageByVoiceAlone works the first stage of a pump by sound alone, in a real browser with the
// real recogniser and a real voice, from opening the job to leaving its sheet. The microphone hears
// the page's own voice as well, and none of it may become a note.
func TestAStageByVoiceAlone(t *testing.T) { //nolint:paralleltest // a recogniser beside many browsers misses its time limits
	speechtest.Need(t)
	address, folder := program(t)
	p := inRoom(t, address, "Ines")
	p.do("open the jobs as Ines", chromedp.Reload())
	p.await(`!document.getElementById("talk").hidden && document.querySelector("#options select")`)
	p.choose("open")
	p.do("turn the microphone on", chromedp.Click(chromedp.CSS("#talk-press"))) // the last touch

	p.utter("open job mike whiskey one zero four two")
	if m := p.utter("m r five long base"); m.Go != "" || !strings.Contains(m.Say, "Base long.") {
		t.Errorf("it says %q", m.Say)
	}
	p.utter("yes")
	p.await(`location.pathname === "/jobs/MW-1042"`)
	notes := []string{
		"seat is clean", "impeller stage one full", "stage one is seated",
		"collar nut stage one fifty one newton metres", "collar nut stage one forty eight newton metres",
	}
	for i, note := range notes {
		p.await(settled(p.utter(note).Text))
		if word := eval[string](p, `document.getElementById("slab").dataset.word`); word != []string{"done", "done", "done", "out", "in"}[i] {
			t.Errorf("%q stands as %q", note, word)
		}
	}
	p.shoot("stage-by-voice")
	p.utter("back to the jobs")
	p.await(`location.pathname === "/" && document.querySelector("#jobs tbody tr a")?.textContent === "MW-1042" && ` + is("listening"))

	type entry struct{ Kind, Text, Person, Sound string }
	var kept []entry
	for _, e := range record[entry](t, address+"/api/jobs/MW-1042/export?as=json") {
		if e.Kind == "note" && (e.Sound == "" || e.Person != "Ines") {
			t.Errorf("%+v", e)
		}
		kept = append(kept, entry{Kind: e.Kind, Text: stem(e.Text)})
	}
	want := []entry{{Kind: "opened"}}
	for _, n := range notes {
		want = append(want, entry{Kind: "note", Text: stem(n)})
	}
	if diff := cmp.Diff(want, kept); diff != "" {
		t.Errorf("the journal (-said +kept):\n%s", diff)
	}
	sounds, err := filepath.Glob(filepath.Join(folder, "sounds", "*"))
	if err != nil || len(sounds) == 0 {
		t.Errorf("sounds %v, error %v", sounds, err)
	}
	spoken := eval[[]string](p, `logged("spoken")`)
	for _, s := range []string{
		"say: Job Mike Whiskey one zero four two is open.",
		"signal: out", "say: Collar nut one, fifty-one newton metres.", "say: Collar nut one, forty-eight newton metres.", "say: In.",
		"say: The jobs.",
	} {
		if !slices.Contains(spoken, s) {
			t.Errorf("it has not said %q but %q", s, spoken)
		}
	}
}

// record returns the entries of a job as they are exported.
func record[E any](t *testing.T, address string) []E {
	t.Helper()
	request, err := http.NewRequestWithContext(t.Context(), http.MethodGet, address, http.NoBody)
	if err != nil {
		t.Fatal(err)
	}
	response, err := (&http.Client{}).Do(request)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	var out struct{ Entries []E }
	if err := json.NewDecoder(response.Body).Decode(&out); err != nil {
		t.Fatal(err)
	}
	return out.Entries
}
