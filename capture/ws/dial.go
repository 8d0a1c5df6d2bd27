package ws

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/url"
	"strings"
	"time"

	"github.com/gorilla/websocket"

	"readback/capture/floor"
	"readback/capture/wire"
)

// Bench is the other end of a connection: a bench that is a program. It is not safe for
// use by several goroutines at once.
type Bench struct {
	conn *websocket.Conn
}

// RefusalError is the error of a note of which nothing was kept.
type RefusalError struct{ Reason string }

func (r *RefusalError) Error() string { return r.Reason }

// Dial connects to a job of the server at base, such as http://127.0.0.1:7425. The caller
// closes the bench.
func Dial(ctx context.Context, base, job string, who floor.Speaker) (*Bench, error) {
	q := url.Values{"job": {job}}
	if who.Bench != "" {
		q.Set("bench", who.Bench)
	}
	if who.Person != "" {
		q.Set("person", who.Person)
	}
	dialer := websocket.Dialer{HandshakeTimeout: 10 * time.Second, Subprotocols: []string{wire.Protocol}}
	address := "ws" + strings.TrimPrefix(strings.TrimSuffix(base, "/"), "http") + "/ws?" + q.Encode()
	conn, response, err := dialer.DialContext(ctx, address, nil)
	if response != nil && response.Body != nil {
		defer response.Body.Close()
	}
	if err == nil {
		return &Bench{conn}, nil
	}
	if response == nil {
		return nil, fmt.Errorf("connect to %s: %w", base, err)
	}
	text, _ := io.ReadAll(io.LimitReader(response.Body, 1000)) // it only explains the error
	return nil, fmt.Errorf("connect to %s: %w (%d: %s)", base, err, response.StatusCode, strings.TrimSpace(string(text)))
}

// Close ends the connection.
func (b *Bench) Close() error {
	bye := websocket.FormatCloseMessage(websocket.CloseNormalClosure, "")
	_ = b.conn.WriteControl(websocket.CloseMessage, bye, time.Now().Add(time.Second)) // a courtesy
	return b.conn.Close()
}

// Say sends a note and waits for its answer. A *[RefusalError] means that nothing was kept; any
// other error, that it is not known: send it again with the same id.
func (b *Bench) Say(ctx context.Context, note wire.Note) (wire.Answer, error) {
	stop := context.AfterFunc(ctx, func() { _ = b.conn.NetConn().SetDeadline(time.Now()) })
	defer stop()
	if err := b.conn.WriteJSON(struct {
		Type string `json:"type"`
		wire.Note
	}{"note", note}); err != nil {
		return wire.Answer{}, fmt.Errorf("say %s: %w", note.ID, err)
	}
	for {
		_, text, err := b.conn.ReadMessage()
		if err != nil {
			return wire.Answer{}, fmt.Errorf("wait for the answer to %s: %w", note.ID, err)
		}
		if answer, mine, err := answerTo(note.ID, text); mine {
			return answer, err
		}
	}
}

// answerTo reads a message; mine is false if it is not about this note.
func answerTo(id string, text []byte) (answer wire.Answer, mine bool, err error) {
	var head struct {
		Type, ID, Reason string
	}
	if err := json.Unmarshal(text, &head); err != nil {
		return wire.Answer{}, true, fmt.Errorf("read message: %w", err)
	}
	switch {
	case head.ID != id:
		return wire.Answer{}, false, nil
	case head.Type == "refused":
		return wire.Answer{}, true, &RefusalError{head.Reason}
	case head.Type != "answer":
		return wire.Answer{}, false, nil
	}
	err = json.Unmarshal(text, &answer)
	return answer, true, err
}
