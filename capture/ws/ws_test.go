package ws_test

import (
	"context"
	"encoding/json"
	"errors"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/gorilla/websocket"
	"github.com/rs/zerolog"

	"readback/capture/floor"
	"readback/capture/floor/floortest"
	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/journal/memory"
	"readback/capture/wire"
	"readback/capture/ws"
)

// shop is a server with one job, MW-1041, as benches reach it.
type shop struct {
	*ws.Handler
	floor *floor.Floor
	store *memory.Store
	base  string // http://host:port
	stop  context.CancelFunc

	narrow bool // a bench that connects now holds few bytes that it has not read

	mu   sync.Mutex
	gate chan struct{} // commits wait for it to close; nil: they do not
	busy chan struct{} // gets a word when a commit waits
}

// Append is the floor's writer.
func (s *shop) Append(ctx context.Context, e journal.Entry) (journal.Result, error) {
	s.mu.Lock()
	gate := s.gate
	s.mu.Unlock()
	if gate != nil {
		s.busy <- struct{}{}
		<-gate
	}
	results, err := s.store.Append(context.WithoutCancel(ctx), []journal.Entry{e})
	if err != nil {
		return journal.Result{}, err
	}
	return results[0], results[0].Err
}

// narrow is a listener whose connections hold few bytes that a bench has not read.
type narrow struct{ net.Listener }

func (n narrow) Accept() (net.Conn, error) {
	c, err := n.Listener.Accept()
	if tcp, ok := c.(*net.TCPConn); ok && err == nil {
		err = tcp.SetWriteBuffer(4096)
	}
	return c, err
}

// openShop starts a server; prepare may change its limits.
func openShop(t *testing.T, prepare ...func(*ws.Handler)) *shop {
	t.Helper()
	specs := floortest.Specs(t)
	s := &shop{store: memory.New(), busy: make(chan struct{}, 100)}
	s.floor = floor.New(floor.Config{Reader: s.store, Writer: s, Specs: specs, Program: "test", Now: time.Now, Log: zerolog.Nop()})
	for _, id := range []string{"MW-1041", "MW-1042"} {
		if _, _, err := s.floor.OpenJob(t.Context(), wire.OpenJob{ID: id, Spec: "mr5"}); err != nil {
			t.Fatal(err)
		}
	}
	s.Handler = ws.New(s.floor, zerolog.Nop(), func(w http.ResponseWriter, status int, p wire.Problem) {
		w.WriteHeader(status)
		_ = json.NewEncoder(w).Encode(p)
	})
	for _, p := range prepare {
		p(s.Handler)
	}
	ctx, stop := context.WithCancel(context.WithoutCancel(t.Context()))
	server := httptest.NewUnstartedServer(s.Handler)
	server.Listener = narrow{server.Listener}
	server.Config.BaseContext = func(net.Listener) context.Context { return ctx }
	server.Start()
	s.base, s.stop = server.URL, stop
	t.Cleanup(func() {
		stop()
		s.Wait()
		server.Close()
	})
	return s
}

// connect joins MW-1041 and closes the connection at the end of the test.
func (s *shop) connect(t *testing.T, bench string, with ...string) *websocket.Conn {
	t.Helper()
	q := url.Values{"job": {"MW-1041"}}
	if bench != "" {
		q.Set("bench", bench)
	}
	for i := 0; i+1 < len(with); i += 2 {
		q.Set(with[i], with[i+1])
	}
	c, status, text := s.dial(t, "?"+q.Encode(), nil)
	if c == nil {
		t.Fatalf("connect: %d %s", status, text)
	}
	t.Cleanup(func() { c.Close() })
	return c
}

// dial tries to connect; without a connection it returns what the server said.
func (s *shop) dial(t *testing.T, query string, header http.Header) (c *websocket.Conn, status int, text string) {
	t.Helper()
	dialer := websocket.Dialer{
		Subprotocols: []string{wire.Protocol},
		NetDialContext: func(ctx context.Context, network, address string) (net.Conn, error) {
			var d net.Dialer
			c, err := d.DialContext(ctx, network, address)
			if tcp, ok := c.(*net.TCPConn); ok && s.narrow && err == nil {
				err = tcp.SetReadBuffer(4096)
			}
			return c, err
		},
	}
	if header.Get("Sec-Websocket-Protocol") != "" {
		dialer.Subprotocols = nil
	}
	c, response, err := dialer.DialContext(t.Context(), "ws"+strings.TrimPrefix(s.base, "http")+"/ws"+query, header)
	if response == nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	if err == nil {
		return c, response.StatusCode, ""
	}
	body, _ := io.ReadAll(response.Body) // it only explains
	return nil, response.StatusCode, string(body)
}

// message is what a bench hears.
type message struct {
	Type, ID, Reason, Entry, Bench, Person, Text, Kind, Say string
	Seq                                                     int64
}

func hear(t *testing.T, c *websocket.Conn) message {
	t.Helper()
	kind, text, err := c.ReadMessage()
	if err != nil {
		t.Fatalf("hear: %v", err)
	}
	var m message
	if err := json.Unmarshal(text, &m); err != nil || kind != websocket.TextMessage {
		t.Fatalf("heard %s: %v", text, err)
	}
	return m
}

// note returns the n-th note as a frame.
func note(t *testing.T, n int, text string) []byte {
	t.Helper()
	frame, err := json.Marshal(map[string]string{"type": "note", "id": journaltest.ID(n), "text": text, "at": "2031-03-04T08:00:00Z"})
	if err != nil {
		t.Fatal(err)
	}
	return frame
}

func send(t *testing.T, c *websocket.Conn, kind int, frame []byte) {
	t.Helper()
	if err := c.WriteMessage(kind, frame); err != nil {
		t.Fatalf("send: %v", err)
	}
}

// say sends a note and hears the answer, which comes next.
func say(t *testing.T, c *websocket.Conn, n int, text string) message {
	t.Helper()
	send(t, c, websocket.TextMessage, note(t, n, text))
	m := hear(t, c)
	if m.Type != "answer" || m.ID != journaltest.ID(n) {
		t.Fatalf("note %d got %+v", n, m)
	}
	return m
}

// entries returns how many entries the job has.
func (s *shop) entries(t *testing.T) []journal.Entry {
	t.Helper()
	all, err := s.store.Entries(t.Context(), "MW-1041", 0, 1<<20)
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// closing reads until the connection ends and returns the close message.
func closing(t *testing.T, c *websocket.Conn) *websocket.CloseError {
	t.Helper()
	for {
		if _, _, err := c.ReadMessage(); err != nil {
			closed, ok := errors.AsType[*websocket.CloseError](err)
			if !ok {
				t.Fatalf("the connection ended with %v, want a goodbye", err)
			}
			return closed
		}
	}
}
