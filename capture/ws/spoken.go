package ws

import (
	"context"
	"encoding/binary"
	"encoding/json"
	"fmt"
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
	tellAfter = 500 * time.Millisecond
)

// queued is a spoken note that waits for a recogniser, with the sound that came meanwhile. Until begun was
// received the listener is in use.
type queued struct {
	begun  chan error // gets a word once the listener has begun, or cannot
	stop   context.CancelFunc
	again  *time.Ticker // when the bench is told once more
	placed bool         // it has one of the places
	pcm    []int16
	ended  bool // the bench has said that it is over
	typed  bool // a note was typed meanwhile
}

// signals returns what a reader waits for besides messages; both are nil where no note waits.
func (q *queued) signals() (turn <-chan error, again <-chan time.Time) {
	if q == nil {
		return nil, nil
	}
	return q.begun, q.again.C
}

// errQueue says that a note may not even wait.
var errQueue = fmt.Errorf("%w, and too many notes wait for one", hear.ErrBusy)

// beginSound starts a spoken note. One that was not ended is dropped: nothing of it was kept. One that was,
// and waits for a recogniser, is refused.
func (c *client) beginSound(ctx context.Context, m wire.Sound) error {
	if q := c.queued; q != nil && q.ended {
		if err := c.refuse(ctx, c.speaking.ID, "another note was begun before this one was heard; say it again, or send it again"); err != nil {
			return err
		}
	}
	c.drop()
	if c.reader != nil && m.Check == "" {
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
	c.listener.Late(m.Late)
	c.speaking, c.deaf, c.cut, c.shown = m, false, false, time.Time{}
	wait, stop := context.WithTimeout(ctx, c.limits.earWithin)
	q, listener := &queued{begun: make(chan error, 1), stop: stop, again: time.NewTicker(c.limits.tellAgain)}, c.listener
	c.queued = q
	go func() { q.begun <- listener.Begin(wait) }()
	soon := time.NewTimer(tellAfter)
	defer soon.Stop()
	select {
	case err := <-q.begun:
		return c.begun(ctx, err)
	case <-soon.C:
	}
	select {
	case c.places <- struct{}{}:
		q.placed = true
	default:
		c.leaveQueue()
		return c.giveUp(ctx, errQueue)
	}
	return c.waits()
}

// waits tells the bench that its note waits.
func (c *client) waits() error {
	return c.show(wire.Hearing{ID: c.speaking.ID, State: wire.Queued})
}

// leaveQueue gives up waiting for a recogniser.
func (c *client) leaveQueue() {
	if c.queued == nil {
		return
	}
	c.queued.stop()
	err := <-c.queued.begun
	if err == nil { // its turn came just now
		err = c.listener.Close()
	}
	if err != nil {
		c.log.Debug().Err(err).Msg("a note left the queue for a recogniser")
	}
	c.unqueue()
}

// unqueue ends the waiting of a note whose begun was received, and returns it.
func (c *client) unqueue() *queued {
	q := c.queued
	c.queued = nil
	q.stop()
	q.again.Stop()
	if q.placed {
		<-c.places
	}
	if q.typed {
		c.listener.Typed()
	}
	return q
}

// typed says that a note was typed, or heard by the browser: a question about a spoken one is over.
func (c *client) typed() {
	switch {
	case c.queued != nil:
		c.queued.typed = true
	case c.listener != nil:
		c.listener.Typed()
	}
}

// begun goes on with a note whose turn has come. What was spoken meanwhile is heard first, all of it: no pause
// in it ends the note, as what follows would be lost.
func (c *client) begun(ctx context.Context, err error) error {
	q := c.unqueue()
	if err != nil {
		return c.giveUp(ctx, err)
	}
	if q.ended {
		c.speaking.Until = "" // its end is known
	}
	const piece = hear.Rate / 50
	for n := 0; n < len(q.pcm) && !c.deaf; n += piece {
		end := min(n+piece, len(q.pcm))
		if err := c.heard(ctx, q.pcm[n:end], end < len(q.pcm)); err != nil {
			return err
		}
	}
	if q.ended && !c.deaf {
		return c.judged(ctx)
	}
	return nil
}

// giveUp refuses the note that is being spoken, since it cannot be heard.
func (c *client) giveUp(ctx context.Context, err error) error {
	id := c.speaking.ID
	c.drop()
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
	case c.deaf, c.queued != nil && c.queued.ended:
		return nil
	case c.speaking.ID == "":
		return c.refuse(ctx, "", "a binary message belongs to no spoken note; begin one with a message of type sound")
	case len(frame)%2 != 0:
		id := c.speaking.ID
		c.drop()
		return c.refuse(ctx, id, "a frame of sound has half a sample; send 16-bit samples, the low byte first")
	}
	pcm := make([]int16, len(frame)/2)
	for i := range pcm {
		pcm[i] = int16(binary.LittleEndian.Uint16(frame[2*i:]))
	}
	if c.queued == nil {
		return c.heard(ctx, pcm, false)
	}
	room := listen.MaxNote - len(c.queued.pcm)
	c.cut = c.cut || len(pcm) > room
	c.queued.pcm = append(c.queued.pcm, pcm[:min(len(pcm), room)]...)
	return nil
}

// heard hands sound to the recogniser; more of the note may be here already.
func (c *client) heard(ctx context.Context, pcm []int16, more bool) error {
	live, ended, err := c.listener.Write(ctx, pcm)
	if err != nil {
		return c.giveUp(ctx, err)
	}
	if ended && (c.speaking.Until != "" && !more || c.listener.Full()) { // a key that is held outlasts a pause
		return c.judged(ctx)
	}
	if time.Since(c.shown) < showEvery {
		return nil
	}
	c.shown = time.Now()
	return c.show(wire.Hearing{ID: c.speaking.ID, State: stateOf(live.State), Words: live.Words, Level: live.Level, Samples: c.listener.Samples()})
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
	c.cut = c.cut || m.Cut
	if c.queued != nil {
		c.queued.ended = true // what was said is heard when its turn comes
		return nil
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
	if c.cut {
		c.listener.Cut()
	}
	if m.Check != "" {
		return c.checked(ctx, m)
	}
	c.listener.StandBy(c.standby) // the browser may have heard it meanwhile
	out, err := c.listener.End(ctx, wire.Note{ID: m.ID, At: m.At})
	c.standby = c.listener.StandsBy()
	return c.outcome(ctx, m.ID, out, err)
}

// checked answers a sentence that was read to try the microphone.
func (c *client) checked(ctx context.Context, m wire.Sound) error {
	t, err := c.listener.Try(ctx, m.Check)
	if err != nil {
		return c.unheard(ctx, m.ID, err)
	}
	return c.sendMessage(ctx, wire.Checked{ID: m.ID, Verdict: string(t.Verdict), Text: t.Text, Right: t.Right, Level: t.Level, Noise: t.Noise})
}

// words answers a note that the browser has heard by itself.
func (c *client) words(ctx context.Context, note wire.Note) error {
	if c.reader == nil {
		c.reader = listen.Reader(c.seat)
		if c.hearing != nil {
			people, err := c.hearing.People(ctx, c.seat)
			if err != nil {
				c.log.Warn().Err(err).Msg("the bench is not handed over by voice")
			}
			c.reader.LeadIn(c.hearing.LeadIn)
			c.reader.People(people)
		}
		c.reader.Decide(c.seat)
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
		err = c.sendMessage(ctx, out.Answer)
	default:
		err = c.sendMessage(ctx, wire.Heard{
			ID: id, Verdict: string(out.Verdict), Text: out.Text, Say: out.Say, Do: out.Do, Person: out.Person, Why: out.Why, Leave: out.Leave, StandBy: c.standby,
		})
	}
	if out.Fault != nil {
		c.log.Error().Err(out.Fault).Msg("beside a spoken note")
	}
	if err != nil {
		return err
	}
	return c.then(ctx, id, out.Then)
}

// then says what more came of a note, behind its answer; nothing where that is nil.
func (c *client) then(ctx context.Context, id string, more *wire.Heard) error {
	if more == nil {
		return nil
	}
	then := *more
	then.ID, then.Then, then.StandBy = id, true, c.standby
	return c.sendMessage(ctx, then)
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

// drop leaves the note that is being spoken, with its recogniser: nothing of it was kept.
func (c *client) drop() {
	c.hush()
	c.speaking, c.deaf = wire.Sound{}, true
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
