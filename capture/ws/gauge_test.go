package ws_test

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/gorilla/websocket"

	"readback/capture/journal/journaltest"
)

// told is a message with what concerns a gauge, or words that a browser has heard.
type told struct {
	Type, ID, From, Verdict, Text, Where string
	Next                                 *struct{ Callout string }
	Gauge                                *struct{ Where string }
	Readings                             []struct{ Callout, Value, Verdict, How string }
}

func sendFrom(t *testing.T, c *websocket.Conn, n int, text, from string) {
	t.Helper()
	if err := c.WriteJSON(map[string]any{"type": "note", "id": journaltest.ID(n), "text": text, "from": from}); err != nil {
		t.Fatal(err)
	}
}

func receive(t *testing.T, c *websocket.Conn) (m told) {
	t.Helper()
	if err := c.SetReadDeadline(time.Now().Add(10 * time.Second)); err != nil {
		t.Fatal(err)
	}
	_, text, err := c.ReadMessage()
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &m); err != nil {
		t.Fatal(err)
	}
	return m
}

// A bench's gauge is its own: another's numbers are asked back. One that comes again is told where it is,
// and others see what was sent by it.
func TestAGaugeOnTheWire(t *testing.T) {
	s := openShop(t)
	one, other := s.connect(t, "bench 1", "person", "Ines"), s.connect(t, "bench 2", "person", "Tom")
	sendFrom(t, one, 1, "gauge on collar nuts from stage two", "")
	if m := receive(t, one); m.Gauge == nil || m.Gauge.Where != "collar nut two" {
		t.Fatalf("%+v", m)
	}
	receive(t, other)
	sendFrom(t, one, 2, "48.0", "gauge")
	if m := receive(t, one); len(m.Readings) != 1 || m.Readings[0].How != "gauge" || m.Readings[0].Verdict != "in" || m.Gauge.Where != "collar nut three" {
		t.Errorf("%+v", m)
	}
	if m := receive(t, other); m.Type != "entry" || m.From != "gauge" || m.Text != "48.0" {
		t.Errorf("the other bench gets %+v", m)
	}
	sendFrom(t, other, 3, "48.0", "gauge")
	if m := receive(t, other); len(m.Readings) != 0 {
		t.Errorf("a number of the other bench's gauge is read as %+v", m.Readings)
	}
	if m := receive(t, s.connect(t, "bench 1", "person", "Ines")); m.Type != "gauge" || m.Where != "collar nut three" || m.Next == nil {
		t.Errorf("who comes again is told %+v", m)
	}
	again := s.connect(t, "bench 2", "person", "Tom")
	sendFrom(t, again, 4, "what's left", "") // its answer is the first that it gets
	if m := receive(t, again); m.Type != "answer" {
		t.Errorf("who has no gauge on anything is told %+v", m)
	}
}

// What a browser has heard is asked about, also by a server that cannot hear; what is typed ends the question.
func TestWordsOfABrowserOnTheWire(t *testing.T) {
	s := openShop(t)
	c := s.connect(t, "bench 1", "person", "Ines")
	sendFrom(t, c, 1, "Build spacer 64.0 mm.", "browser")
	if m := receive(t, c); m.Type != "heard" || m.Verdict != "asked" || m.ID != journaltest.ID(1) {
		t.Fatalf("%+v", m)
	}
	sendFrom(t, c, 2, "Yes.", "browser")
	if m := receive(t, c); m.Type != "answer" || len(m.Readings) != 1 || m.Readings[0].Value != "64.0" || m.Text != "build spacer 64.0 mm" {
		t.Errorf("%+v", m)
	}
	sendFrom(t, c, 3, "Seat clean.", "browser")
	receive(t, c)
	sendFrom(t, c, 4, "what's left", "")
	receive(t, c)
	sendFrom(t, c, 5, "Yes.", "browser")
	if m := receive(t, c); m.Text == "seat clean" || len(m.Readings) != 0 {
		t.Errorf("a yes after something else was typed: %+v", m)
	}
}
