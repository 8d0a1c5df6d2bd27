package ws_test

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	hearing "readback/capture/hear"
	"readback/capture/hear/heartest"
	"readback/capture/hear/judge"
	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/listen"
	"readback/capture/sound"
	"readback/capture/ws"
	"readback/rules"
)

// speaking lets the benches of a shop speak, through an engine of the tests.
func speaking(t *testing.T, e *heartest.Engine) (func(*ws.Handler), *sound.Store) {
	t.Helper()
	sounds, err := sound.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	return func(h *ws.Handler) {
		h.Hear(&listen.Hearing{
			Engine: e, Policy: judge.Usual(), Sounds: sounds,
			Grammar: func(*rules.Job, []string) (hearing.Words, error) { return hearing.Words{}, nil },
		})
	}, sounds
}

// spokenReply is what a bench gets of a spoken note.
type spokenReply struct {
	Type, ID, Text, Say, Verdict, Reason, State string
	Do, Person                                  string
	Seq                                         int64
	Samples                                     int
	Leave, StandBy, Then, Why                   bool
	Words                                       []string
	Readings                                    []struct{ Callout, Value, Verdict string }
}

// speak sends a spoken note in frames of 20 ms.
func speak(t *testing.T, c *websocket.Conn, n int, text, until string) {
	t.Helper()
	begin(t, c, n, until)
	letters(t, c, text)
	if until == "" {
		end(t, c, n)
	}
}

// letters sends the sound of a text.
func letters(t *testing.T, c *websocket.Conn, text string) {
	t.Helper()
	samples(t, c, heartest.Say(text))
}

// samples sends sound.
func samples(t *testing.T, c *websocket.Conn, pcm []int16) {
	t.Helper()
	for len(pcm) > 0 {
		k := min(320, len(pcm))
		frame := make([]byte, 0, 2*k)
		for _, x := range pcm[:k] {
			frame = append(frame, byte(x), byte(uint16(x)>>8))
		}
		if err := c.WriteMessage(websocket.BinaryMessage, frame); err != nil {
			t.Fatal(err)
		}
		pcm = pcm[k:]
	}
}

func end(t *testing.T, c *websocket.Conn, n int) {
	t.Helper()
	if err := c.WriteJSON(map[string]any{"type": "sound-end", "id": journaltest.ID(n)}); err != nil {
		t.Fatal(err)
	}
}

// outcome reads up to what came of the note.
func outcome(t *testing.T, c *websocket.Conn, n int) (m spokenReply, shown []spokenReply) {
	t.Helper()
	if err := c.SetReadDeadline(time.Now().Add(10 * time.Second)); err != nil {
		t.Fatal(err)
	}
	for {
		_, text, err := c.ReadMessage()
		if err != nil {
			t.Fatal(err)
		}
		m = spokenReply{}
		if err := json.Unmarshal(text, &m); err != nil {
			t.Fatal(err)
		}
		if m.ID == journaltest.ID(n) && m.Type != "hearing" {
			return m, shown
		}
		if m.Type == "hearing" {
			shown = append(shown, m)
		}
	}
}

func TestASpokenNote(t *testing.T) {
	prepare, sounds := speaking(t, &heartest.Engine{})
	s := openShop(t, prepare)
	c := s.connect(t, "bench 1", "person", "Ines")
	speak(t, c, 1, "build spacer sixty four millimetres", "")
	m, shown := outcome(t, c, 1)
	if m.Type != "answer" || m.Seq != 2 || len(m.Readings) != 1 || m.Readings[0].Verdict != "in" {
		t.Fatalf("%+v", m)
	}
	if len(shown) == 0 || shown[len(shown)-1].State != "ended" {
		t.Errorf("shown while it was spoken: %+v", shown)
	}
	e, err := s.store.ByID(t.Context(), "MW-1041", journaltest.ID(1))
	if err != nil || e.Kind != journal.Note || e.Text != "build spacer sixty four millimetres" || e.Sound == "" || e.Person != "Ines" {
		t.Fatalf("%+v, error %v", e, err)
	}
	data, err := sounds.Get(e.Sound)
	if err != nil {
		t.Fatal(err)
	}
	pcm, err := sound.Decode(data)
	if err != nil || len(pcm) != len(heartest.Say(e.Text)) {
		t.Errorf("its sound has %d samples, error %v", len(pcm), err)
	}
	var record listen.Record
	if err := json.Unmarshal(e.Heard, &record); err != nil || record.Engine != "test" {
		t.Errorf("heard: %s, error %v", e.Heard, err)
	}
	// The same id again, as after a line that broke: the first answer, and one sound.
	speak(t, c, 1, "build spacer sixty five millimetres", "")
	if again, _ := outcome(t, c, 1); again.Seq != 2 || again.Text != e.Text {
		t.Errorf("the same id again: %+v", again)
	}
}

// With the state of a note goes up to where in its sound that holds.
func TestHowFarANoteIsHeard(t *testing.T) {
	prepare, _ := speaking(t, &heartest.Engine{})
	c := openShop(t, prepare).connect(t, "bench 1")
	begin(t, c, 1, "")
	samples(t, c, make([]int16, 320))
	m := next(t, c)
	for m.Type != "hearing" || m.State == "queued" {
		m = next(t, c)
	}
	if m.State != "waiting" || m.Samples != 320 {
		t.Errorf("%+v", m)
	}
	end(t, c, 1)
	if m, shown := outcome(t, c, 1); m.Verdict != "silent" || len(shown) == 0 || shown[len(shown)-1].Samples != 0 {
		t.Errorf("%+v behind %+v", m, shown)
	}
}

func TestWhatIsNotTakenIsNotKept(t *testing.T) {
	prepare, _ := speaking(t, &heartest.Engine{})
	s := openShop(t, prepare)
	c := s.connect(t, "bench 1")
	for n, tt := range []struct{ text, verdict, say string }{
		{"build spacer sixty four millimetres|build spacer sixty five millimetres", "asked", "Did you say"},
		{"no", "refused", "Say again."},
		{"~somebody talks|of something", "refused", "Say again."},
		{"", "silent", ""},
		{"build spacer sixty four millimetres|build spacer sixty five millimetres", "asked", "Did you say"},
	} {
		speak(t, c, n+1, tt.text, "")
		if m, _ := outcome(t, c, n+1); m.Type != "heard" || m.Verdict != tt.verdict || !strings.HasPrefix(m.Say, tt.say) {
			t.Errorf("%q: %+v", tt.text, m)
		}
	}
	jobs, err := s.store.Jobs(t.Context())
	if err != nil || jobs[0].Entries != 1 {
		t.Fatalf("kept: %+v, error %v", jobs, err)
	}
	speak(t, c, 9, "yes", "")
	if m, _ := outcome(t, c, 9); m.Type != "answer" || m.Text != "build spacer sixty four millimetres" {
		t.Errorf("after a yes: %+v", m)
	}
}

// A note that the server ends: at once behind whole words, later behind others.
func TestTheServerEndsANote(t *testing.T) {
	prepare, _ := speaking(t, &heartest.Engine{})
	s := openShop(t, prepare)
	c := s.connect(t, "bench 1")
	speak(t, c, 1, "seat clean", "silence")
	if m, _ := outcome(t, c, 1); m.Type != "answer" {
		t.Errorf("%+v", m)
	}
	speak(t, c, 2, "build spacer", "silence")
	if m, _ := outcome(t, c, 2); m.Type != "answer" { // a question of the rules: which value?
		t.Errorf("%+v", m)
	}
	end(t, c, 2) // the bench ends it as well
	speak(t, c, 3, "seat clean", "silence")
	if m, _ := outcome(t, c, 3); m.Type != "answer" {
		t.Errorf("after an end that came late: %+v", m)
	}
}

func TestUnrulySound(t *testing.T) {
	engine := &heartest.Engine{Ears: 1}
	prepare, _ := speaking(t, engine)
	s := openShop(t, prepare)
	c := s.connect(t, "bench 1")
	send := func(m any) {
		t.Helper()
		if err := c.WriteJSON(m); err != nil {
			t.Fatal(err)
		}
	}
	send(map[string]any{"type": "sound", "id": journaltest.ID(1), "rate": 44100, "encoding": "s16le"})
	if m, _ := outcome(t, c, 1); m.Type != "refused" || !strings.Contains(m.Reason, "44100") {
		t.Errorf("another rate: %+v", m)
	}
	end(t, c, 1)
	send(map[string]any{"type": "sound", "id": journaltest.ID(2), "rate": 16000, "encoding": "s16le"})
	if err := c.WriteMessage(websocket.BinaryMessage, []byte{1, 2, 3}); err != nil {
		t.Fatal(err)
	}
	if m, _ := outcome(t, c, 2); m.Type != "refused" || !strings.Contains(m.Reason, "half a sample") {
		t.Errorf("half a sample: %+v", m)
	}
	// A note that is left in the middle keeps its ear until the next begins, and nothing of it.
	send(map[string]any{"type": "sound", "id": journaltest.ID(3), "rate": 16000, "encoding": "s16le"})
	speak(t, c, 4, "seat clean", "")
	if m, _ := outcome(t, c, 4); m.Type != "answer" {
		t.Errorf("after a note that was left: %+v", m)
	}
	// A bench that vanishes in the middle gives its ear back.
	send(map[string]any{"type": "sound", "id": journaltest.ID(5), "rate": 16000, "encoding": "s16le"})
	if err := c.Close(); err != nil {
		t.Fatal(err)
	}
	other := s.connect(t, "bench 2")
	speak(t, other, 6, "valve fitted", "")
	if m, _ := outcome(t, other, 6); m.Type != "answer" {
		t.Errorf("at the next bench: %+v", m)
	}
}

// A note that cannot be heard lets go of its recogniser: it is not kept from others until its bench speaks again.
func TestANoteThatFailsKeepsNoRecogniser(t *testing.T) {
	for _, tt := range []struct {
		name, reason string
		lost         bool
		send         func(t *testing.T, c *websocket.Conn) error
		of           int // the note that is refused
	}{
		{"its recogniser is lost", "recogniser was lost", true, func(_ *testing.T, c *websocket.Conn) error {
			return c.WriteMessage(websocket.BinaryMessage, []byte{'a', 0})
		}, 1},
		{"half a sample", "half a sample", false, func(_ *testing.T, c *websocket.Conn) error {
			return c.WriteMessage(websocket.BinaryMessage, []byte{'a', 0, 'b'})
		}, 1},
		{"another note that is none", "44100", false, func(_ *testing.T, c *websocket.Conn) error {
			return c.WriteJSON(map[string]any{"type": "sound", "id": journaltest.ID(2), "rate": 44100, "encoding": "s16le"})
		}, 2},
	} {
		t.Run(tt.name, func(t *testing.T) {
			engine := &heartest.Engine{Ears: 2, Lost: tt.lost}
			prepare, _ := speaking(t, engine)
			c := openShop(t, prepare).connect(t, "bench 1")
			if tt.lost {
				begin(t, c, 1, "")
			} else {
				hold(t, c, 1)
				if n := engine.InUse(); n != 1 {
					t.Fatalf("%d recognisers are in use while a note is spoken", n)
				}
			}
			if err := tt.send(t, c); err != nil {
				t.Fatal(err)
			}
			if m, _ := outcome(t, c, tt.of); m.Type != "refused" || !strings.Contains(m.Reason, tt.reason) {
				t.Fatalf("%+v", m)
			}
			if n := engine.InUse(); n != 0 {
				t.Errorf("%d recognisers are in use behind it", n)
			}
		})
	}
}

// A browser that hears "stand by" while a note is spoken has the bench stand by for that too.
func TestStandByInTheMiddleOfANote(t *testing.T) {
	prepare, _ := speaking(t, &heartest.Engine{})
	c := openShop(t, prepare).connect(t, "bench 1")
	hold(t, c, 1)
	if err := c.WriteJSON(map[string]any{"type": "note", "id": journaltest.ID(2), "text": "Stand by.", "from": "browser"}); err != nil {
		t.Fatal(err)
	}
	if m, _ := outcome(t, c, 2); !m.StandBy {
		t.Fatalf("%+v", m)
	}
	letters(t, c, "seat clean")
	end(t, c, 1)
	if m, _ := outcome(t, c, 1); m.Type != "heard" || m.Verdict != "silent" || !m.StandBy {
		t.Errorf("the note that was spoken: %+v", m)
	}
}

// A bench that stands by does so when its line is back too, whoever hears for it, until "resume".
func TestStandByOutlivesTheLine(t *testing.T) {
	prepare, _ := speaking(t, &heartest.Engine{})
	s := openShop(t, prepare)
	c := s.connect(t, "bench 1")
	speak(t, c, 1, "stand by", "")
	if m, _ := outcome(t, c, 1); m.Verdict != "taken" || !m.StandBy {
		t.Fatalf("%+v", m)
	}
	browser := func(c *websocket.Conn, n int, text string) spokenReply {
		t.Helper()
		if err := c.WriteJSON(map[string]any{"type": "note", "id": journaltest.ID(n), "text": text, "from": "browser"}); err != nil {
			t.Fatal(err)
		}
		m, _ := outcome(t, c, n)
		return m
	}
	if m := browser(c, 2, "What's left?"); m.Verdict != "silent" || !m.StandBy {
		t.Errorf("the browser hears %+v", m)
	}
	c.Close()
	c = s.connect(t, "bench 1", "standby", "yes")
	speak(t, c, 3, "seat clean", "")
	if m, _ := outcome(t, c, 3); m.Type != "heard" || m.Verdict != "silent" || !m.StandBy {
		t.Errorf("when the line is back: %+v", m)
	}
	if m := browser(c, 4, "Resume."); m.Verdict != "taken" || m.StandBy {
		t.Errorf("resume: %+v", m)
	}
	speak(t, c, 5, "seat clean", "")
	if m, _ := outcome(t, c, 5); m.Type != "answer" {
		t.Errorf("after it: %+v", m)
	}
}

// What a browser has heard in an open microphone begins with the lead-in, or is nothing.
func TestTheLeadInOfABrowser(t *testing.T) {
	prepare := func(h *ws.Handler) { h.Hear(&listen.Hearing{LeadIn: "bench seven"}) }
	c := openShop(t, prepare).connect(t, "bench 1")
	for n, tt := range []struct {
		text string
		open bool
		want string
	}{
		{"What's left?", true, "silent"},
		{"Bench 7, what's left?", true, ""},
		{"What's left?", false, ""},
		{"Bench seven. Seat clean", true, "asked"},
		{"Yes.", true, ""}, // an answer needs none
		{"Seat clean", true, "silent"},
	} {
		if err := c.WriteJSON(map[string]any{"type": "note", "id": journaltest.ID(n + 1), "text": tt.text, "from": "browser", "open": tt.open}); err != nil {
			t.Fatal(err)
		}
		if m, _ := outcome(t, c, n+1); m.Verdict != tt.want {
			t.Errorf("%s, open %t: %+v", tt.text, tt.open, m)
		}
	}
}

// hold begins a note and waits until it has its recogniser: its first frame is answered by what is heard.
func hold(t *testing.T, c *websocket.Conn, n int) {
	t.Helper()
	begin(t, c, n, "")
	if err := c.WriteMessage(websocket.BinaryMessage, []byte{' ', 0}); err != nil {
		t.Fatal(err)
	}
	next(t, c)
}

// begin begins a note.
func begin(t *testing.T, c *websocket.Conn, n int, until string) {
	t.Helper()
	m := map[string]any{"type": "sound", "id": journaltest.ID(n), "rate": hearing.Rate, "encoding": "s16le"}
	if until != "" {
		m["until"] = until
	}
	if err := c.WriteJSON(m); err != nil {
		t.Fatal(err)
	}
}

// next reads a message.
func next(t *testing.T, c *websocket.Conn) (m spokenReply) {
	t.Helper()
	if err := c.SetReadDeadline(time.Now().Add(10 * time.Second)); err != nil {
		t.Fatal(err)
	}
	if err := c.ReadJSON(&m); err != nil {
		t.Fatal(err)
	}
	return m
}
