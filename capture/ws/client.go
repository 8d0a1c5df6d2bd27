package ws

import (
	"context"
	"errors"
	"fmt"
	"io"
	"sync"
	"time"

	"github.com/gorilla/websocket"
	"github.com/rs/zerolog"
	"golang.org/x/sync/errgroup"

	"readback/capture/floor"
	"readback/capture/listen"
	"readback/capture/opening"
	"readback/capture/wire"
)

// errSlow ends a connection whose bench does not read.
var errSlow = errors.New("the bench does not read what it is sent")

// client is one connection.
type client struct {
	limits limits
	log    zerolog.Logger
	ask    request
	conn   *websocket.Conn
	seat   *floor.Seat   // nil at the desk
	talk   *opening.Talk // the conversation at the desk; nil at a bench
	leave  func()        // gives the seat back, once
	since  int64         // the seq of the last entry before it joined

	out      chan message  // what waits to be written
	slow     chan struct{} // closed when out was full
	slowOnce sync.Once

	// What only the reader knows of the note that is being spoken.
	hearing  *listen.Hearing // nil: this server cannot hear
	places   chan struct{}   // of all benches: see [Handler]
	listener *listen.Listener
	reader   *listen.Listener // of what the browser hears by itself; nil until it does
	standby  bool             // the bench stands by, whoever hears for it
	speaking wire.Sound       // its ID is "" between notes
	queued   *queued          // the note waits for a recogniser; nil once it has one
	cut      bool             // its end may be missing
	deaf     bool             // the frames that still come in belong to a note that was refused, or is over
	shown    time.Time        // when its words were shown last

	deadline sync.Mutex // guards the read deadline against a pong that comes after the end
	over     bool
}

type message []byte

// tell takes an entry of another bench. It never blocks.
func (c *client) tell(entry []byte) {
	select {
	case c.out <- entry:
	default:
		c.slowOnce.Do(func() { close(c.slow) })
	}
}

// serve works until the bench leaves, is too slow, or ctx ends, and says which.
func (c *client) serve(ctx context.Context) error {
	defer c.conn.Close()
	defer c.leave() // before the bench can see the end: who comes back at once finds the seat free
	c.conn.SetReadLimit(wire.MaxFrame)
	c.conn.SetPongHandler(func(string) error { return c.extend() })
	g, ctx := errgroup.WithContext(ctx)
	forget := context.AfterFunc(ctx, c.stop)
	defer forget()
	frames := make(chan frame)   // closed when nothing more is read
	heard := make(chan struct{}) // closed when the reader has ended
	g.Go(func() error {
		c.receive(ctx, frames)
		return nil
	})
	g.Go(func() error {
		defer close(heard)
		defer c.hush()
		return c.read(ctx, frames)
	})
	g.Go(func() error {
		return c.write(ctx, func() {
			<-heard
			for range frames { // until the socket is free
			}
		})
	})
	return g.Wait()
}

// extend gives the bench time until its next sign of life.
func (c *client) extend() error {
	c.deadline.Lock()
	defer c.deadline.Unlock()
	if c.over {
		return nil
	}
	return c.conn.SetReadDeadline(time.Now().Add(c.limits.silence))
}

// stop frees a reader that waits for the bench, and soon a writer that does.
func (c *client) stop() {
	c.deadline.Lock()
	defer c.deadline.Unlock()
	c.over = true
	now := time.Now()
	err := errors.Join(c.conn.SetReadDeadline(now), c.conn.NetConn().SetWriteDeadline(now.Add(c.limits.byeWithin)))
	if err != nil {
		c.log.Debug().Err(err).Msg("connection was gone before its end")
	}
}

// frame is what came over the socket, or why nothing more comes.
type frame struct {
	kind int
	data []byte
	err  error
}

// receive hands on what comes, each when the one before was taken, until nothing more does or ctx ends.
func (c *client) receive(ctx context.Context, to chan<- frame) {
	defer close(to)
	for {
		var f frame
		if f.err = c.extend(); f.err == nil {
			f.kind, f.data, f.err = c.conn.ReadMessage()
		}
		select {
		case to <- f:
		case <-ctx.Done():
			return
		}
		if f.err != nil {
			return
		}
	}
}

// read takes messages one after the other: a bench that floods waits for its own answers
// and slows nobody else's. A note that waits for a recogniser keeps nothing else waiting.
func (c *client) read(ctx context.Context, frames <-chan frame) error {
	for {
		turn, again := c.queued.signals()
		var err error
		select {
		case f := <-frames:
			switch {
			case ctx.Err() != nil:
				return context.Cause(ctx)
			case f.err != nil:
				return fmt.Errorf("read: %w", f.err)
			}
			err = c.take(ctx, f.kind, f.data)
		case failed := <-turn:
			err = c.begun(ctx, failed)
		case <-again:
			err = c.waits()
		}
		if err != nil {
			return err
		}
	}
}

// take answers one message.
func (c *client) take(ctx context.Context, kind int, frame []byte) error {
	if kind == websocket.BinaryMessage {
		return c.sound(ctx, frame)
	}
	m, err := wire.Decode(frame)
	if err != nil {
		id := ""
		if f, ok := errors.AsType[*wire.Error](err); ok {
			id = f.ID
		}
		return c.refuse(ctx, id, err.Error())
	}
	switch m := m.(type) {
	case wire.Note:
		if c.talk != nil && m.From != "" {
			return c.refuse(ctx, m.ID, "no job is open here, and none is opened by what a gauge sent or a browser heard; type it")
		}
		c.typed()
		if m.From == wire.FromBrowser {
			return c.words(ctx, m)
		}
		if c.reader != nil {
			c.reader.Typed()
		}
		return c.note(ctx, m)
	case wire.Sound:
		return c.beginSound(ctx, m)
	case wire.SoundEnd:
		return c.endSound(ctx, m)
	}
	return fmt.Errorf("message %T is not handled", m)
}

func (c *client) note(ctx context.Context, note wire.Note) error {
	if c.talk != nil {
		out, err := c.talk.Say(ctx, note.Text)
		out.ID = note.ID
		return c.opened(ctx, out, err)
	}
	answer, err := c.seat.Say(ctx, note)
	if err != nil {
		wrong, do := floor.Explain(err)
		c.log.Warn().Err(err).Msg("note refused")
		return c.refuse(ctx, note.ID, wrong+"; "+do)
	}
	text, err := answer.MarshalJSON()
	if err != nil {
		return fmt.Errorf("answer %d: %w", answer.Seq, err)
	}
	if err := c.send(ctx, text); err != nil {
		return err
	}
	for _, l := range []*listen.Listener{c.listener, c.reader} {
		if l == nil || l == c.listener && c.queued != nil { // a note waits for its ear: it is told after that
			continue
		}
		if err := c.then(ctx, note.ID, l.Dropped()); err != nil {
			return err
		}
	}
	return nil
}

func (c *client) refuse(ctx context.Context, id, reason string) error {
	text, err := wire.Refused{ID: id, Reason: reason}.MarshalJSON()
	if err != nil {
		return fmt.Errorf("refuse: %w", err)
	}
	return c.send(ctx, text)
}

// send waits for room in the queue: the reader waits with it, and so does the bench. Where
// there is room the message is taken even if ctx has ended: it may say that a note is kept.
func (c *client) send(ctx context.Context, m message) error {
	select {
	case c.out <- m:
		return nil
	default:
	}
	select {
	case c.out <- m:
		return nil
	case <-ctx.Done():
		return context.Cause(ctx)
	}
}

// write sends the past that was asked for, then what comes, until ctx ends. Then it waits
// for the reader, with heard, so that the answer to a note that was just committed still goes out.
func (c *client) write(ctx context.Context, heard func()) error {
	err := c.past(ctx)
	if err == nil {
		err = c.gauge(ctx)
	}
	if err == nil {
		err = c.present(ctx)
	}
	if ctx.Err() == nil {
		c.goodbye(err) // the reader ends with the group
		return err
	}
	heard()
	c.rest()
	if c.goodbye(context.Cause(ctx)) {
		c.linger()
	}
	return err
}

// past sends the entries after the seq that was asked for, up to when it joined.
func (c *client) past(ctx context.Context) error {
	if c.ask.after < 0 {
		return nil
	}
	for after := c.ask.after; after < c.since; {
		messages, last, err := c.seat.Past(ctx, after, c.since)
		if err != nil {
			return err
		}
		for _, m := range messages {
			if err := c.put(m); err != nil {
				return err
			}
		}
		if last == 0 {
			return nil
		}
		after = last
	}
	return nil
}

// gauge tells where the bench's gauge is, which it may have forgotten.
func (c *client) gauge(ctx context.Context) error {
	if c.seat == nil {
		return nil // at the desk there is none
	}
	g, on, err := c.seat.Gauge(ctx)
	if err != nil || !on {
		return err
	}
	text, err := wire.Aimed(g).MarshalJSON()
	if err != nil {
		return fmt.Errorf("tell of the gauge: %w", err)
	}
	return c.put(text)
}

// present sends what comes.
func (c *client) present(ctx context.Context) error {
	ping := time.NewTicker(c.limits.pingEvery)
	defer ping.Stop()
	for {
		var err error
		select {
		case <-ctx.Done():
			return context.Cause(ctx)
		case <-c.slow:
			return errSlow
		case m := <-c.out:
			err = c.put(m)
		case <-ping.C:
			err = c.conn.WriteControl(websocket.PingMessage, nil, time.Now().Add(c.limits.writeWithin))
		}
		if err != nil {
			return fmt.Errorf("write: %w", err)
		}
	}
}

func (c *client) put(m message) error {
	return errors.Join(
		c.conn.SetWriteDeadline(time.Now().Add(c.limits.writeWithin)),
		c.conn.WriteMessage(websocket.TextMessage, m),
	)
}

// rest sends what still waits, if the bench takes it at once.
func (c *client) rest() {
	for {
		select {
		case m := <-c.out:
			err := errors.Join(
				c.conn.SetWriteDeadline(time.Now().Add(c.limits.byeWithin)),
				c.conn.WriteMessage(websocket.TextMessage, m),
			)
			if err != nil {
				return
			}
		default:
			return
		}
	}
}

// goodbye says why the connection ends. It is false where nobody is there to hear it.
func (c *client) goodbye(why error) bool {
	if _, left := errors.AsType[*websocket.CloseError](why); left {
		return false // the bench has said goodbye itself
	}
	status, text := code(why)
	err := c.conn.WriteControl(websocket.CloseMessage, websocket.FormatCloseMessage(status, text), time.Now().Add(c.limits.byeWithin))
	return err == nil || errors.Is(err, websocket.ErrCloseSent)
}

// linger waits a moment for the bench to hear the goodbye: a socket that is closed with
// unread bytes would take it back.
func (c *client) linger() {
	raw := c.conn.NetConn()
	if raw.SetReadDeadline(time.Now().Add(c.limits.byeWithin)) == nil {
		_, _ = io.Copy(io.Discard, io.LimitReader(raw, 1<<20)) // what it says now is of no interest
	}
}
