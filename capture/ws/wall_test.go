package ws_test

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/gorilla/websocket"
	"github.com/rs/zerolog"

	"readback/capture/wall"
	"readback/capture/wire"
)

// TestAWallIsServed over a websocket: all there is first, then what changes; it says goodbye when the
// server stops.
func TestAWallIsServed(t *testing.T) {
	s := openShop(t)
	never := func() <-chan struct{} { return nil }
	hub := wall.New(wall.Config{Source: s.store, Benches: s.floor, Notice: never, Now: time.Now, Log: zerolog.Nop()})
	following := make(chan error, 1)
	go func() { following <- hub.Run(t.Context()) }()
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	walls := s.Wall(hub)
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { walls.ServeHTTP(w, r.WithContext(ctx)) }))
	defer server.Close()
	conn, response, err := websocket.DefaultDialer.DialContext(t.Context(), "ws"+strings.TrimPrefix(server.URL, "http"), nil)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	response.Body.Close()
	if err := conn.WriteMessage(websocket.TextMessage, []byte("a wall says nothing that is read")); err != nil {
		t.Fatal(err)
	}
	var m struct {
		Type string
		wire.Wall
	}
	_, text, err := conn.ReadMessage()
	if err == nil {
		err = json.Unmarshal(text, &m)
	}
	if err != nil {
		t.Fatal(err)
	}
	if m.Type != "wall" || !m.Whole || m.Rest != 0 || len(m.Benches) < 1 || m.Benches[0].Job != "MW-1041" {
		t.Errorf("a wall gets %s", text)
	}
	stop()
	for err == nil {
		_, _, err = conn.ReadMessage()
	}
	if !websocket.IsCloseError(err, websocket.CloseGoingAway) {
		t.Errorf("the server stops, and the wall hears %v", err)
	}
	s.Wait()

	refused := websocket.Dialer{Subprotocols: []string{"another"}}
	_, response, err = refused.DialContext(t.Context(), "ws"+strings.TrimPrefix(server.URL, "http"), nil)
	if !errors.Is(err, websocket.ErrBadHandshake) || response.StatusCode != http.StatusBadRequest {
		t.Fatalf("another protocol: %v", err)
	}
	if err := response.Body.Close(); err != nil {
		t.Error(err)
	}
}
