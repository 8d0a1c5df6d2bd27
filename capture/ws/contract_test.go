package ws_test

import (
	"errors"
	"net/http"
	"strings"
	"testing"

	"github.com/gorilla/websocket"

	"readback/capture/floor"
	"readback/capture/journal/journaltest"
	"readback/capture/wire"
	"readback/capture/ws"
)

func TestHandshake(t *testing.T) {
	s := openShop(t)
	for _, tt := range []struct {
		name, query string
		header      http.Header
		status      int
		say         string
	}{
		{"a job that is there", "?job=MW-1041", nil, http.StatusSwitchingProtocols, ""},
		{"names and a seq", "?job=MW-1041&after=0&bench=bench+2&person=Z%C3%B6e", nil, http.StatusSwitchingProtocols, ""},
		{"one protocol of several", "?job=MW-1041", http.Header{"Sec-Websocket-Protocol": {"other.v9, readback.v1"}}, http.StatusSwitchingProtocols, ""},
		{"a page of this server", "?job=MW-1041", http.Header{"Origin": {s.base}}, http.StatusSwitchingProtocols, ""},
		{"no job", "", nil, http.StatusBadRequest, "names no job"},
		{"a job that is not there", "?job=MW-9999", nil, http.StatusNotFound, "there is no job MW-9999"},
		{"a seq below 0", "?job=MW-1041&after=-1", nil, http.StatusBadRequest, "after is not the seq"},
		{"standing by in other words", "?job=MW-1041&standby=maybe", nil, http.StatusBadRequest, "send yes, or leave it out"},
		{"a seq that is none", "?job=MW-1041&after=last", nil, http.StatusBadRequest, "after is not the seq"},
		{"a bench's name too long", "?job=MW-1041&bench=" + strings.Repeat("x", 101), nil, http.StatusBadRequest, "bench is not a name"},
		{"a person's name with a control character", "?job=MW-1041&person=a%00b", nil, http.StatusBadRequest, "person is not a name"},
		{"a name that is no UTF-8", "?job=MW-1041&bench=%ff", nil, http.StatusBadRequest, "bench is not a name"},
		{"a protocol that is not spoken", "?job=MW-1041", http.Header{"Sec-Websocket-Protocol": {"readback.v9"}}, http.StatusBadRequest, "offer readback.v1"},
		{"a foreign page", "?job=MW-1041", http.Header{"Origin": {"http://elsewhere.example"}}, http.StatusForbidden, "from a page of this server"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			c, status, text := s.dial(t, tt.query, tt.header)
			if status != tt.status || !strings.Contains(text, tt.say) {
				t.Fatalf("%d %s, want %d %s", status, text, tt.status, tt.say)
			}
			if c == nil {
				return
			}
			defer c.Close()
			if c.Subprotocol() != wire.Protocol {
				t.Errorf("subprotocol %q, want %s", c.Subprotocol(), wire.Protocol)
			}
		})
	}
	t.Run("no websocket at all", func(t *testing.T) {
		request, err := http.NewRequestWithContext(t.Context(), http.MethodGet, s.base+"/ws?job=MW-1041", http.NoBody)
		if err != nil {
			t.Fatal(err)
		}
		response, err := new(http.Client).Do(request)
		if err != nil {
			t.Fatal(err)
		}
		response.Body.Close()
		if response.StatusCode != http.StatusBadRequest {
			t.Errorf("status %d, want 400", response.StatusCode)
		}
	})
}

func TestTooManyBenches(t *testing.T) {
	s := openShop(t, func(h *ws.Handler) { h.SetLimits(0, 0, 0, 0, 2) })
	first := s.connect(t, "bench 1")
	s.connect(t, "bench 2")
	if c, status, text := s.dial(t, "?job=MW-1041", nil); c != nil || status != http.StatusServiceUnavailable || !strings.Contains(text, "try again") {
		t.Errorf("a third bench got %d %s", status, text)
	}
	say(t, first, 1, "seat clean")
}

func TestAnswer(t *testing.T) {
	s := openShop(t)
	a, b := s.connect(t, "bench 1", "person", "Ines"), s.connect(t, "bench 2")
	got := say(t, a, 1, "collar nut stage one forty eight newton metres")
	if got.Seq != 2 || got.Kind != "reading" || got.Say == "" || got.Text == "" {
		t.Errorf("answered %+v", got)
	}
	if m := hear(t, b); m.Type != "entry" || m.Entry != "note" || m.Seq != 2 || m.Bench != "bench 1" || m.Person != "Ines" || m.Kind != "reading" || m.Say != got.Say {
		t.Errorf("the other bench heard %+v", m)
	}
	if again := say(t, a, 1, "scratch that"); again != got {
		t.Errorf("the same id got %+v, first %+v", again, got)
	}
	// Its own entry is not told to a bench: the next that it hears is of bench 2.
	say(t, b, 2, "seat clean")
	if m := hear(t, a); m.Type != "entry" || m.Seq != 3 || m.Bench != "bench 2" {
		t.Errorf("bench 1 heard %+v", m)
	}
}

func TestAnswerComesAfterTheCommit(t *testing.T) {
	s := openShop(t)
	a, b := s.connect(t, "bench 1"), s.connect(t, "bench 2")
	gate := make(chan struct{})
	s.mu.Lock()
	s.gate = gate
	s.mu.Unlock()
	send(t, a, websocket.TextMessage, note(t, 1, "seat clean"))
	send(t, a, websocket.TextMessage, []byte("junk")) // would be answered at once
	<-s.busy
	send(t, b, websocket.TextMessage, []byte("junk"))
	if m := hear(t, b); m.Type != "refused" {
		t.Errorf("before the commit bench 2 heard %+v", m)
	}
	close(gate)
	if m := hear(t, a); m.Type != "answer" || m.Seq != 2 {
		t.Errorf("bench 1 heard %+v, want its answer first", m)
	}
}

func TestRefusedNotesKeepNothing(t *testing.T) {
	s := openShop(t)
	other := s.connect(t, "bench 2")
	elsewhere, _, _ := s.dial(t, "?job=MW-1042", nil)
	defer elsewhere.Close()
	say(t, elsewhere, 7, "seat clean")
	c := s.connect(t, "bench 1")
	id := journaltest.ID(1)
	for _, tt := range []struct {
		name    string
		kind    int
		frame   string
		id, say string
	}{
		{"2,001 characters", websocket.TextMessage, string(note(t, 1, strings.Repeat("Ω", 2001))), id, "longer than 2000 characters"},
		{"a frame of 64 KiB", websocket.TextMessage, string(note(t, 1, strings.Repeat("x", 65536-len(note(t, 1, ""))))), id, "longer than 2000 characters"},
		{"no text", websocket.TextMessage, string(note(t, 1, "  ")), id, "the note is empty"},
		{"a control character", websocket.TextMessage, string(note(t, 1, "seat\x00clean")), id, "control character"},
		{"an id that is no ULID", websocket.TextMessage, `{"type":"note","id":"1","text":"seat clean"}`, "1", "not a ULID"},
		{"an id past the last ULID", websocket.TextMessage, `{"type":"note","id":"8ZZZZZZZZZZZZZZZZZZZZZZZZZ","text":"seat clean"}`, "8ZZZZZZZZZZZZZZZZZZZZZZZZZ", "not a ULID"},
		{"an id in small letters", websocket.TextMessage, `{"type":"note","id":"01arz3ndektsv4rrffq69g5fav","text":"seat clean"}`, "01arz3ndektsv4rrffq69g5fav", "not a ULID"},
		{"an id of another job", websocket.TextMessage, string(note(t, 7, "seat clean")), journaltest.ID(7), "used on another job"},
		{"no JSON", websocket.TextMessage, "seat clean", "", "not a JSON object"},
		{"half of a message", websocket.TextMessage, `{"type":"note","id":"` + id, "", "not whole JSON"},
		{"deep JSON", websocket.TextMessage, `{"type":` + strings.Repeat("[", 60000), "", "not whole JSON"},
		{"no UTF-8", websocket.TextMessage, `{"type":"note","text":"` + "\xff" + `"}`, "", "not UTF-8"},
		{"an unknown type", websocket.TextMessage, `{"type":"shout","id":"` + id + `"}`, id, `"shout" is no type`},
		{"binary junk", websocket.BinaryMessage, "\x00\x01\x02", "", "belongs to no spoken note"},
		{"a spoken note", websocket.TextMessage, `{"type":"sound","id":"` + id + `","rate":16000,"encoding":"s16le"}`, id, "this server cannot hear"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			send(t, c, tt.kind, []byte(tt.frame))
			if m := hear(t, c); m.Type != "refused" || m.ID != tt.id || !strings.Contains(m.Reason, tt.say) {
				t.Errorf("heard %+v, want id %s refused: %s", m, tt.id, tt.say)
			}
		})
	}
	// Sound of a refused note is passed over without a word, and notes go on.
	send(t, c, websocket.BinaryMessage, make([]byte, 3200))
	send(t, c, websocket.TextMessage, []byte(`{"type":"sound-end","id":"`+id+`"}`))
	if m := say(t, c, 1, strings.Repeat("Ω", 2000)); m.Seq != 2 {
		t.Errorf("a note of 2,000 characters got %+v", m)
	}
	if m := hear(t, other); m.Seq != 2 {
		t.Errorf("the other bench heard %+v", m)
	}
	if n := len(s.entries(t)); n != 2 {
		t.Errorf("%d entries are kept, want the opening and one note", n)
	}
}

// A bench that joins with after=SEQ while others work misses nothing and hears nothing twice.
func TestAfterReplaysAndGoesOn(t *testing.T) {
	s := openShop(t)
	const notes = 300
	writer := s.connect(t, "bench 1")
	for n := range 20 {
		say(t, writer, n, "seat clean")
	}
	done := make(chan struct{})
	// The writer keeps no further ahead of the first to join than a bench may fall behind.
	ahead := make(chan struct{}, 16)
	go func() {
		defer close(done)
		for n := 20; n < notes; n++ {
			select {
			case ahead <- struct{}{}:
			case <-t.Context().Done():
				return
			}
			if err := writer.WriteMessage(websocket.TextMessage, note(t, n, "seat clean")); err != nil {
				t.Error(err)
				return
			}
			if _, _, err := writer.ReadMessage(); err != nil {
				t.Error(err)
				return
			}
		}
	}()
	for _, tt := range []struct {
		after string
		first int64
	}{{"0", 1}, {"5", 6}, {"21", 22}} {
		c := s.connect(t, "late after "+tt.after, "after", tt.after)
		for seq := tt.first; seq <= notes+1; seq++ {
			m := hear(t, c)
			if m.Type != "entry" || m.Seq != seq {
				t.Fatalf("after=%s: heard %+v, want seq %d", tt.after, m, seq)
			}
			if seq == 1 && m.Entry != "opened" {
				t.Errorf("the first entry is %+v", m)
			}
			if tt.first == 1 && seq > 21 {
				<-ahead
			}
		}
	}
	<-done
	// With nothing missed, what comes first is what is new.
	c := s.connect(t, "on time", "after", "301")
	say(t, writer, notes, "seat clean")
	if m := hear(t, c); m.Seq != notes+2 {
		t.Errorf("heard %+v, want seq %d", m, notes+2)
	}
}

// Dial is a bench of ours.
func TestDial(t *testing.T) {
	s := openShop(t)
	if _, err := ws.Dial(t.Context(), s.base, "MW-9999", floor.Speaker{}); err == nil || !strings.Contains(err.Error(), "there is no job") {
		t.Errorf("an unknown job: %v", err)
	}
	b, err := ws.Dial(t.Context(), s.base+"/", "MW-1041", floor.Speaker{Bench: "bench 1", Person: "Ines"})
	if err != nil {
		t.Fatal(err)
	}
	say(t, s.connect(t, "bench 2"), 1, "seat clean") // the bench hears of it and waits on
	a, err := b.Say(t.Context(), wire.Note{ID: journaltest.ID(2), Text: "seat clean"})
	if err != nil || a.Seq != 3 || len(a.Body) == 0 {
		t.Errorf("answered %+v, error %v", a, err)
	}
	_, err = b.Say(t.Context(), wire.Note{ID: journaltest.ID(3), Text: " "})
	if _, refused := errors.AsType[*ws.RefusalError](err); !refused {
		t.Errorf("an empty note: %v, want a refusal", err)
	}
	if err := b.Close(); err != nil {
		t.Error(err)
	}
	if last := s.entries(t)[2]; last.Person != "Ines" || last.Bench != "bench 1" {
		t.Errorf("kept of %s at %s", last.Person, last.Bench)
	}
}
