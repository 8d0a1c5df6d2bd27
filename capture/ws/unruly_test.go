package ws_test

import (
	"encoding/json"
	"errors"
	"net/http"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	"readback/capture/journal/journaltest"
	"readback/capture/ws"
)

func TestFrameOver64KiBClosesTheConnection(t *testing.T) {
	s := openShop(t)
	c := s.connect(t, "bench 1")
	frame := note(t, 1, strings.Repeat("x", 65537-len(note(t, 1, ""))))
	send(t, c, websocket.TextMessage, frame)
	if e := closing(t, c); e.Code != websocket.CloseMessageTooBig {
		t.Errorf("closed with %v, want 1009", e)
	}
	if n := len(s.entries(t)); n != 1 {
		t.Errorf("%d entries are kept, want the opening alone", n)
	}
}

// What breaks the protocol ends its own connection and nobody else's.
func TestTornFrames(t *testing.T) {
	whole := func(t *testing.T) []byte { return note(t, 1, "seat clean") }
	for _, tt := range []struct {
		name  string
		bytes func(t *testing.T) []byte
		leave bool // the bench closes its side
	}{
		{"half a header", func(*testing.T) []byte { return []byte{0x81} }, true},
		{"half a masked frame", func(t *testing.T) []byte {
			return append([]byte{0x81, 0x80 | 120, 0, 0, 0, 0}, whole(t)[:30]...)
		}, true},
		{"a fragment that nothing ends", func(t *testing.T) []byte {
			return append([]byte{0x01, 0x80 | 30, 0, 0, 0, 0}, whole(t)[:30]...)
		}, true},
		{"a frame without its mask", func(t *testing.T) []byte {
			return append([]byte{0x81, byte(len(whole(t)))}, whole(t)...)
		}, false},
		{"reserved bits", func(*testing.T) []byte { return []byte{0xf1, 0x80, 0, 0, 0, 0} }, false},
		{"a length that is not there", func(*testing.T) []byte {
			return []byte{0x81, 0xff, 0x7f, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0, 0, 0, 0}
		}, false},
		{"no websocket any more", func(*testing.T) []byte { return []byte("GET / HTTP/1.1\r\nHost: localhost\r\n\r\n") }, false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := openShop(t)
			c := s.connect(t, "bench 1")
			if _, err := c.NetConn().Write(tt.bytes(t)); err != nil {
				t.Fatal(err)
			}
			if tt.leave {
				c.Close()
			} else if _, _, err := c.ReadMessage(); err == nil {
				t.Error("the connection goes on")
			}
			s.Wait() // it has ended at the server as well
			if n := len(s.entries(t)); n != 1 {
				t.Errorf("%d entries are kept, want the opening alone", n)
			}
			say(t, s.connect(t, "bench 2"), 2, "seat clean")
		})
	}
}

// A bench that does not read is dropped; nobody waits for it, and it can read on.
func TestBenchThatNeverReads(t *testing.T) {
	s := openShop(t, func(h *ws.Handler) { h.SetLimits(0, 0, 100*time.Millisecond, 8, 0) })
	s.narrow = true
	deaf := s.connect(t, "deaf")
	s.narrow = false
	c := s.connect(t, "bench 1")
	const notes = 300
	long := strings.Repeat("tea is ready ", 150)
	for n := range notes {
		say(t, c, n, long)
	}
	var last int64
	for {
		_, text, err := deaf.ReadMessage()
		if err != nil {
			break
		}
		if strings.Contains(string(text), `"type":"entry"`) {
			last++
		}
	}
	if last == 0 || last >= notes {
		t.Fatalf("the deaf bench was sent %d of %d entries before it was dropped", last, notes)
	}
	// It reads on from where it was. On a busy machine it may be dropped again meanwhile: then it
	// comes back again.
	heard := int64(0)
	for came := 0; heard <= notes; came++ {
		if came == 100 {
			t.Fatalf("back for the %dth time it has heard %d of %d entries", came, heard, notes+1)
		}
		back := s.connect(t, "deaf", "after", strconv.FormatInt(heard, 10))
		for heard <= notes {
			_, text, err := back.ReadMessage()
			if err != nil {
				break
			}
			var m struct{ Seq int64 }
			if err := json.Unmarshal(text, &m); err != nil || m.Seq != heard+1 {
				t.Fatalf("back again it heard %.200s (%v), want seq %d", text, err, heard+1)
			}
			heard++
		}
	}
}

// A bench that floods waits for its own answers, which come in order; others are served.
func TestBenchThatFloods(t *testing.T) {
	s := openShop(t, func(h *ws.Handler) { h.SetLimits(0, 0, 0, 8, 0) })
	flood, c := s.connect(t, "flood"), s.connect(t, "bench 1", "job", "MW-1042")
	const notes = 3000
	sent := make(chan error, 1)
	go func() {
		for n := range notes {
			if err := flood.WriteMessage(websocket.TextMessage, note(t, n, "seat clean")); err != nil {
				sent <- err
				return
			}
		}
		sent <- nil
	}()
	for n := range 10 {
		say(t, c, notes+n, "threads lubricated")
	}
	for n := range notes {
		if m := hear(t, flood); m.Type != "answer" || m.ID != journaltest.ID(n) {
			t.Fatalf("the flood heard %+v, want the answer to note %d", m, n)
		}
	}
	if err := <-sent; err != nil {
		t.Error(err)
	}
}

func TestSilentBenchIsTakenForGone(t *testing.T) {
	s := openShop(t, func(h *ws.Handler) { h.SetLimits(20*time.Millisecond, 400*time.Millisecond, 0, 0, 0) })
	alive, silent := s.connect(t, "alive"), s.connect(t, "silent")
	pings := make(chan struct{}, 10_000)
	alive.SetPingHandler(func(data string) error {
		pings <- struct{}{}
		return alive.WriteControl(websocket.PongMessage, []byte(data), time.Now().Add(time.Minute))
	})
	silent.SetPingHandler(func(string) error { return nil })
	answers := make(chan error, 1)
	go func() {
		_, _, err := alive.ReadMessage() // pings are answered while it waits
		answers <- err
	}()
	if _, _, err := silent.ReadMessage(); err == nil {
		t.Error("the silent bench heard something")
	}
	for range 25 { // the other one lives on past that silence
		<-pings
	}
	send(t, alive, websocket.TextMessage, note(t, 1, "seat clean"))
	if err := <-answers; err != nil {
		t.Errorf("the bench that answers pings: %v", err)
	}
}

func TestServerStopSaysGoingAway(t *testing.T) {
	s := openShop(t)
	c := s.connect(t, "bench 1")
	say(t, c, 1, "seat clean")
	s.stop()
	if e := closing(t, c); e.Code != websocket.CloseGoingAway || e.Text != "the server stops" {
		t.Errorf("closed with %v", e)
	}
	s.Wait()
	if n := s.Connections(); n != 0 {
		t.Errorf("%d connections are left", n)
	}
}

// A note that was being committed when the server stopped is answered before the goodbye.
func TestStopAnswersWhatWasKept(t *testing.T) {
	for range 20 { // both ends race
		s := openShop(t)
		c := s.connect(t, "bench 1")
		gate := make(chan struct{})
		s.mu.Lock()
		s.gate = gate
		s.mu.Unlock()
		send(t, c, websocket.TextMessage, note(t, 1, "seat clean"))
		<-s.busy
		s.stop()
		close(gate)
		if m := hear(t, c); m.Type != "answer" || m.Seq != 2 {
			t.Fatalf("heard %+v, want the answer", m)
		}
		if e := closing(t, c); e.Code != websocket.CloseGoingAway {
			t.Fatalf("closed with %v", e)
		}
	}
}

func TestBenchThatLeavesIsForgotten(t *testing.T) {
	for _, tt := range []struct {
		name  string
		leave func(*websocket.Conn) error
	}{
		{"with a goodbye", func(c *websocket.Conn) error {
			return errors.Join(c.WriteControl(websocket.CloseMessage, websocket.FormatCloseMessage(websocket.CloseNormalClosure, ""), time.Now().Add(time.Minute)), c.Close())
		}},
		{"without a word", func(c *websocket.Conn) error { return c.Close() }},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := openShop(t)
			c := s.connect(t, "bench 1")
			say(t, c, 1, "seat clean")
			if err := tt.leave(c); err != nil {
				t.Fatal(err)
			}
			s.Wait()
			if c, status, _ := s.dial(t, "?job=MW-1041", nil); c == nil || status != http.StatusSwitchingProtocols {
				t.Errorf("coming back: %d", status)
			} else {
				c.Close()
			}
		})
	}
}
