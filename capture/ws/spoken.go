package ws

import (
	"context"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"readback/capture/hear"
	"readback/capture/hear/judge"
	"readback/capture/listen"
	"readback/capture/wire"
)

// How often the words of a note are shown while it is spoken, and how long a recogniser that is free may
// take before the bench is told that its note waits.
const (
	showEvery = 100 * time.Millisecond
	tellAfter = 200 * time.Millisecond
)

// queued is a spoken note that waits for a recogniser, with the sound that came meanwhile.
type queued struct {
	begun chan error // gets a word once the listener has begun, or cannot
	stop  context.CancelFunc
	pcm   []int16
}

// beginSound starts a spoken note. One that was not ended is dropped: nothing of it was kept.
func (c *client) beginSound(ctx context.Context, m wire.Sound) error {
	c.leaveQueue()
	c.speaking, c.deaf = wire.Sound{}, true
	if c.reader != nil {
		c.reader.Typed()
	}
	if c.hearing == nil {
		return c.refuse(ctx, m.ID, "this server cannot hear; type the note")
	}
	if m.Rate != hear.Rate {
		return c.refuse(ctx, m.ID, fmt.Sprintf("sound of %d samples a second cannot be heard; send %d", m.Rate, hear.Rate))
	}
	if c.listener == nil {
		l, err := c.listen(ctx)
		if err != nil {
			return c.unheard(ctx, m.ID, err)
		}
		c.listener = l
	}
	c.listener.Open(m.Open)
	c.listener.StandBy(c.standby)
	c.speaking, c.deaf, c.shown = m, false, time.Time{}
	wait, stop := context.WithTimeout(ctx, c.limits.earWithin)
	q, listener := &queued{begun: make(chan error, 1), stop: stop}, c.listener
	c.queued = q
	go func() { q.begun <- listener.Begin(wait) }()
	soon := time.NewTimer(tellAfter)
	defer soon.Stop()
	select {
	case err := <-q.begun:
		return c.begun(ctx, err)
	case <-soon.C:
	}
	return c.show(wire.Hearing{ID: m.ID, State: wire.Queued})
}

// leaveQueue gives up waiting for a recogniser.
func (c *client) leaveQueue() {
	if c.queued == nil {
		return
	}
	c.queued.stop()
	if err := <-c.queued.begun; err != nil { // from here on the listener is this goroutine's again
		c.log.Debug().Err(err).Msg("a note left the queue for a recogniser")
	}
	c.queued = nil
}

// begun goes on with a note whose turn has come: what was spoken meanwhile is heard first, piece by piece,
// since the note may be over in the middle of it.
func (c *client) begun(ctx context.Context, err error) error {
	q := c.queued
	q.stop()
	c.queued = nil
	if err != nil {
		return c.giveUp(ctx, err)
	}
	for pcm := range slices.Chunk(q.pcm, hear.Rate/50) {
		if c.deaf { // it is over
			return nil
		}
		if err := c.heard(ctx, pcm); err != nil {
			return err
		}
	}
	return nil
}

// giveUp refuses the note that is being spoken, since it cannot be heard.
func (c *client) giveUp(ctx context.Context, err error) error {
	id := c.speaking.ID
	c.speaking, c.deaf = wire.Sound{}, true
	return c.unheard(ctx, id, err)
}

// listen returns a listener for the seat, or for the desk.
func (c *client) listen(ctx context.Context) (*listen.Listener, error) {
	if c.talk != nil {
		return c.hearing.Desk(ctx, c.talk)
	}
	return c.hearing.Listener(ctx, c.seat)
}

// sound takes a frame of the note that is being spoken.
func (c *client) sound(ctx context.Context, frame []byte) error {
	switch {
	case c.deaf:
		return nil
	case c.speaking.ID == "":
		return c.refuse(ctx, "", "a binary message belongs to no spoken note; begin one with a message of type sound")
	case len(frame)%2 != 0:
		id := c.speaking.ID
		c.leaveQueue()
		c.speaking, c.deaf = wire.Sound{}, true
		return c.refuse(ctx, id, "a frame of sound has half a sample; send 16-bit samples, the low byte first")
	}
	pcm := make([]int16, len(frame)/2)
	for i := range pcm {
		pcm[i] = int16(binary.LittleEndian.Uint16(frame[2*i:]))
	}
	if c.queued == nil {
		return c.heard(ctx, pcm)
	}
	c.queued.pcm = append(c.queued.pcm, pcm[:min(len(pcm), listen.MaxNote-len(c.queued.pcm))]...)
	select {
	case err := <-c.queued.begun:
		return c.begun(ctx, err)
	default:
		return nil
	}
}

// heard hands sound to the recogniser.
func (c *client) heard(ctx context.Context, pcm []int16) error {
	live, ended, err := c.listener.Write(ctx, pcm)
	if err != nil {
		return c.giveUp(ctx, err)
	}
	if ended && (c.speaking.Until != "" || c.listener.Full()) { // a key that is held outlasts a pause
		return c.judged(ctx)
	}
	if time.Since(c.shown) < showEvery {
		return nil
	}
	c.shown = time.Now()
	return c.show(wire.Hearing{ID: c.speaking.ID, State: stateOf(live.State), Words: live.Words, Level: live.Level})
}

func stateOf(s hear.State) string {
	switch s {
	case hear.Speaking, hear.MayEnd:
		return "speaking"
	case hear.Ended:
		return "ended"
	case hear.Waiting:
	}
	return "waiting"
}

// endSound ends the note that is being spoken. That of another is of a note that is over.
func (c *client) endSound(ctx context.Context, m wire.SoundEnd) error {
	if c.speaking.ID != m.ID {
		c.deaf = false
		return nil
	}
	if c.queued != nil { // what was said is heard when its turn comes
		if err := c.begun(ctx, <-c.queued.begun); err != nil || c.deaf {
			return err
		}
	}
	return c.judged(ctx)
}

// judged answers the note that was spoken.
func (c *client) judged(ctx context.Context) error {
	m := c.speaking
	c.speaking, c.deaf = wire.Sound{}, true
	if err := c.show(wire.Hearing{ID: m.ID, State: "ended"}); err != nil {
		return err
	}
	out, err := c.listener.End(ctx, wire.Note{ID: m.ID, At: m.At})
	c.standby = c.listener.StandsBy()
	return c.outcome(ctx, m.ID, out, err)
}

// words answers a note that the browser has heard by itself.
func (c *client) words(ctx context.Context, note wire.Note) error {
	if c.reader == nil {
		c.reader = listen.Reader(c.seat)
		if c.hearing != nil {
			c.reader.LeadIn(c.hearing.LeadIn)
		}
	}
	c.reader.StandBy(c.standby)
	out, err := c.reader.Words(ctx, note)
	c.standby = c.reader.StandsBy()
	return c.outcome(ctx, note.ID, out, err)
}

// outcome answers a note that was heard.
func (c *client) outcome(ctx context.Context, id string, out listen.Outcome, err error) error {
	switch {
	case out.Opening != nil:
		return c.opened(ctx, *out.Opening, err)
	case err != nil && out.Verdict == judge.Refused && out.Text == "":
		return c.unheard(ctx, id, err)
	case err != nil:
		c.log.Warn().Err(err).Msg("spoken note refused")
		return c.refuse(ctx, id, out.Say)
	case out.Answer != nil:
		return c.sendMessage(ctx, out.Answer)
	}
	return c.sendMessage(ctx, wire.Heard{ID: id, Verdict: string(out.Verdict), Text: out.Text, Say: out.Say, Do: out.Do, Leave: out.Leave, StandBy: c.standby})
}

// unheard refuses a note that could not be heard.
func (c *client) unheard(ctx context.Context, id string, err error) error {
	c.log.Warn().Err(err).Msg("note not heard")
	wrong, do := listen.Explain(err)
	return c.refuse(ctx, id, wrong+"; "+do)
}

// show sends what may be left out where the bench is slow.
func (c *client) show(m wire.Hearing) error {
	text, err := m.MarshalJSON()
	if err != nil {
		return fmt.Errorf("show what is heard: %w", err)
	}
	select {
	case c.out <- text:
	default:
	}
	return nil
}

func (c *client) sendMessage(ctx context.Context, m json.Marshaler) error {
	text, err := m.MarshalJSON()
	if err != nil {
		return fmt.Errorf("answer a spoken note: %w", err)
	}
	return c.send(ctx, text)
}

// hush gives the ear back.
func (c *client) hush() {
	c.leaveQueue()
	if c.listener == nil {
		return
	}
	if err := c.listener.Close(); err != nil {
		c.log.Warn().Err(err).Msg("ear could not be given back")
	}
}
