package ui_test

import (
	"io"
	"net"
	"sync"
	"sync/atomic"
	"testing"
)

// line is what lies between a browser and the server: it passes on what both say, and can
// be cut and mended. It keeps its address while it is cut.
type line struct {
	t       testing.TB
	address string
	server  string
	carried atomic.Int64 // bytes that clients heard

	mu       sync.Mutex
	listener net.Listener
	open     map[net.Conn]bool
	mute     bool           // what the server says is swallowed
	work     sync.WaitGroup // of the listener and of every connection
}

func newLine(t testing.TB, server string) *line {
	l := &line{t: t, server: server, open: map[net.Conn]bool{}, address: "127.0.0.1:0"}
	l.mend()
	return l
}

// mend lets the line work (again).
func (l *line) mend() {
	l.t.Helper()
	listener := listen(l.t, l.address)
	l.mu.Lock()
	defer l.mu.Unlock()
	l.listener, l.address, l.mute = listener, listener.Addr().String(), false
	l.work.Go(func() { l.accept(listener) })
}

// cut ends every connection and refuses new ones. It returns when all have ended.
func (l *line) cut() {
	l.mu.Lock()
	if l.listener != nil {
		l.listener.Close()
		l.listener = nil
	}
	for c := range l.open {
		c.Close()
	}
	l.mu.Unlock()
	l.work.Wait()
}

// silence lets the server hear, but not be heard.
func (l *line) silence() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.mute = true
}

func (l *line) accept(from net.Listener) {
	for {
		c, err := from.Accept()
		if err != nil {
			return // cut
		}
		l.work.Go(func() { l.pass(c) })
	}
}

func (l *line) pass(client net.Conn) {
	defer l.forget(client)
	server, err := (&net.Dialer{}).DialContext(l.t.Context(), "tcp", l.server)
	if err != nil {
		return
	}
	defer l.forget(server)
	if !l.keep(client) || !l.keep(server) {
		return
	}
	var both sync.WaitGroup
	both.Go(func() { _, _ = io.Copy(server, client); server.Close() })
	both.Go(func() { _, _ = io.Copy(heard{l, client}, server); client.Close() })
	both.Wait()
}

// keep is false where the line was cut meanwhile.
func (l *line) keep(c net.Conn) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.open[c] = true
	return l.listener != nil
}

func (l *line) forget(c net.Conn) {
	c.Close()
	l.mu.Lock()
	defer l.mu.Unlock()
	delete(l.open, c)
}

// heard is what the client hears of the server.
type heard struct {
	line   *line
	client net.Conn
}

func (h heard) Write(data []byte) (int, error) {
	h.line.mu.Lock()
	mute := h.line.mute
	h.line.mu.Unlock()
	if mute {
		return len(data), nil
	}
	n, err := h.client.Write(data)
	h.line.carried.Add(int64(n))
	return n, err
}
