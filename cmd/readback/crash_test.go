package main

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"strconv"
	"sync"
	"syscall"
	"testing"
	"time"

	"readback/capture/floor"
	"readback/capture/wire"
	"readback/capture/ws"
)

const (
	killsEnv   = "READBACK_KILLS" // how often to kill the server; usualKills if it is not set
	usualKills = 50
	benches    = 6 // two on each job
)

// crash is what benches know of a server that is killed again and again.
type crash struct {
	t      *testing.T
	data   string
	random *rand.Rand
	round  int

	mu      sync.Mutex
	sent    map[string]string // job of every note, by id
	acked   map[string]wire.Answer
	order   []string            // ids as they were acknowledged
	pending [benches]*wire.Note // was sent and not answered
	first   chan struct{}       // closed at the first answer of a round
	once    *sync.Once
}

// TestCrash kills a server under load at random moments. After each start every note that
// was acknowledged is there once with its answer, every other at most once, and no seq is
// missing.
func TestCrash(t *testing.T) {
	kills := usualKills
	if text := os.Getenv(killsEnv); text != "" {
		var err error
		if kills, err = strconv.Atoi(text); err != nil || kills < 1 {
			t.Fatalf("%s=%s: give a number of times", killsEnv, text)
		}
	}
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d, %d kills", seed, kills)
	c := &crash{
		t: t, data: t.TempDir(), random: rand.New(rand.NewPCG(seed, 0)),
		sent: map[string]string{}, acked: map[string]wire.Answer{},
	}
	for c.round = 0; c.round < kills && !t.Failed(); c.round++ {
		if c.round%5 == 4 {
			c.killAtStart()
			continue
		}
		c.killAtWork()
	}
	last := begin(t, c.data)
	c.look()
	last.stop(t)
	t.Logf("%d notes were sent, %d acknowledged", len(c.sent), len(c.acked))
	if len(c.acked) < kills {
		t.Errorf("only %d notes were acknowledged before %d kills: nothing was tested", len(c.acked), kills)
	}
}

// killAtStart kills a server that may not serve yet.
func (c *crash) killAtStart() {
	p := launch(c.t, c.data)
	timer := time.AfterFunc(time.Duration(c.random.Int64N(int64(150*time.Millisecond))), func() { _ = p.Process.Kill() })
	defer timer.Stop()
	p.killed(c.t)
}

// killAtWork starts a server, looks at what the last one has left, lets benches work, and
// kills it.
func (c *crash) killAtWork() {
	p := begin(c.t, c.data)
	c.look()
	for n := range benches / 2 {
		p.open(c.t, c.job(n))
	}
	c.resend(p)
	c.first, c.once = make(chan struct{}), new(sync.Once)
	after := time.Duration(c.random.Int64N(int64(80 * time.Millisecond)))
	killed := make(chan struct{})
	go func() {
		defer close(killed)
		<-c.first
		timer := time.AfterFunc(after, func() { _ = p.Process.Kill() })
		defer timer.Stop()
		p.killed(c.t)
	}()
	var wait sync.WaitGroup
	for n := range benches {
		wait.Go(func() { c.work(p, n) })
	}
	wait.Wait()
	c.once.Do(func() { close(c.first) }) // no bench got an answer, which it has said
	<-killed
}

// killed waits for the end of a process that is being killed.
func (p *process) killed(t *testing.T) {
	err := p.end(nil)
	if status, ok := p.ProcessState.Sys().(syscall.WaitStatus); !ok || status.Signal() != syscall.SIGKILL {
		t.Errorf("the server ended with %v, want that it was killed: %s", err, &p.log)
	}
}

// job names the job of the n-th bench: new ones every ten rounds.
func (c *crash) job(n int) string { return fmt.Sprintf("MW-%d", 1041+c.round/10*10+n%(benches/2)) }

// work says notes until the server is gone. A note that the last server did not answer is
// sent again by every other bench.
func (c *crash) work(p *process, n int) {
	b, err := ws.Dial(c.t.Context(), p.address, c.job(n), floor.Speaker{Bench: fmt.Sprintf("bench %d", n)})
	if err != nil {
		select {
		case <-c.first: // killed meanwhile
		default:
			c.t.Errorf("bench %d: %v", n, err)
		}
		return
	}
	defer b.Close()
	for i := 0; ; i++ {
		note := c.next(n, i)
		answer, err := b.Say(c.t.Context(), *note)
		if _, refused := errors.AsType[*ws.RefusalError](err); refused {
			c.t.Errorf("bench %d: refused: %v", n, err)
		}
		if err != nil {
			return
		}
		c.answered(n, answer)
	}
}

// next returns what the n-th bench says now, for the i-th time since the start.
func (c *crash) next(n, i int) *wire.Note {
	c.mu.Lock()
	defer c.mu.Unlock()
	note := c.pending[n]
	if note == nil || n%2 == 0 || c.sent[note.ID] != c.job(n) {
		note = &wire.Note{ID: newID(c.t), Text: fmt.Sprintf("collar nut stage %d forty %s newton metres", i%5+1, []string{"seven", "eight", "nine"}[i%3])}
	}
	c.sent[note.ID], c.pending[n] = c.job(n), note
	return note
}

func (c *crash) answered(n int, a wire.Answer) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.acked[a.ID], c.pending[n] = a, nil
	c.order = append(c.order, a.ID)
	c.once.Do(func() { close(c.first) })
}

// resend sends notes that were answered before, with another text; each gets its first answer.
func (c *crash) resend(p *process) {
	for range min(5, len(c.order)) {
		id := c.order[c.random.IntN(len(c.order))]
		b := p.sit(c.t, c.sent[id], "bench 9")
		a, err := b.Say(c.t.Context(), wire.Note{ID: id, Text: "scratch that"})
		if first := c.acked[id]; err != nil || a.Seq != first.Seq || string(a.Body) != string(first.Body) {
			c.t.Errorf("round %d: %s again got %d %s, error %v; first %d %s", c.round, id, a.Seq, a.Body, err, first.Seq, first.Body)
		}
		if err := b.Close(); err != nil {
			c.t.Error(err)
		}
	}
}

// look compares the journal with what was sent and acknowledged.
func (c *crash) look() {
	found, last := map[string]bool{}, map[string]int64{}
	for _, e := range kept(c.t, c.data) {
		if e.Seq != last[e.Job]+1 {
			c.t.Errorf("round %d: job %s has seq %d after %d", c.round, e.Job, e.Seq, last[e.Job])
		}
		last[e.Job] = e.Seq
		if e.Seq == 1 {
			continue // the opening
		}
		if found[e.ID] || c.sent[e.ID] != e.Job {
			c.t.Errorf("round %d: note %s, sent to job %q, is in %s (twice %t)", c.round, e.ID, c.sent[e.ID], e.Job, found[e.ID])
		}
		found[e.ID] = true
		if a, ok := c.acked[e.ID]; ok && (a.Seq != e.Seq || string(a.Body) != string(e.Answer)) {
			c.t.Errorf("round %d: note %s is %d %s, acknowledged as %d %s", c.round, e.ID, e.Seq, e.Answer, a.Seq, a.Body)
		}
	}
	for id := range c.acked {
		if !found[id] {
			c.t.Errorf("round %d: note %s was acknowledged and is lost", c.round, id)
		}
	}
}
