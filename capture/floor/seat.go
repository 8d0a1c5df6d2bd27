package floor

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"readback/capture/journal"
	"readback/capture/wire"
)

// Seat is one connection of a bench to a job.
type Seat struct {
	job     *job
	who     Speaker
	unnamed int // its number, if it gave no bench
	tell    func(entry []byte)
}

// Sit joins a job. tell gets each entry that others make on it from now on, as a message
// of the wire; it must not block. since is the seq of the last entry before that. The
// caller leaves with [Seat.Leave]. An unknown job gives [journal.ErrNotFound].
//
// A bench without a name goes on where the last one did as long as the job has known only
// one at a time; from then on each is taken for a new one, since nobody can tell which of
// them is back.
func (f *Floor) Sit(ctx context.Context, id string, who Speaker, tell func(entry []byte)) (s *Seat, since int64, err error) {
	if who.Person == "" {
		who.Person = journal.NotStated
	}
	j := f.take(id)
	j.mu.Lock()
	defer j.mu.Unlock()
	if err := j.load(ctx); err != nil {
		f.give(j)
		return nil, 0, err
	}
	s = &Seat{job: j, who: who, tell: tell}
	if who.Bench == "" {
		s.unnamed = j.nextUnnamed()
		s.who.Bench = unnamedBench(s.unnamed)
	}
	j.seats[s] = true
	return s, j.live.last.Seq, nil
}

// Leave ends the seat.
func (s *Seat) Leave() {
	s.job.mu.Lock()
	delete(s.job.seats, s)
	s.job.mu.Unlock()
	s.job.floor.give(s.job)
}

// Past returns at most limit entries of the job above after and up to upTo, as messages
// of the wire, and the seq of the last; 0 when there are no more.
func (s *Seat) Past(ctx context.Context, after, upTo int64) (messages [][]byte, last int64, err error) {
	entries, err := s.job.floor.Reader.Entries(ctx, s.job.id, after, page)
	if err != nil {
		return nil, 0, fmt.Errorf("read past of job %s: %w", s.job.id, err)
	}
	for _, e := range entries {
		if e.Seq > upTo {
			break
		}
		text, err := wire.EntryOf(e).MarshalJSON()
		if err != nil {
			return nil, 0, fmt.Errorf("show entry %d of job %s: %w", e.Seq, s.job.id, err)
		}
		messages, last = append(messages, text), e.Seq
	}
	return messages, last, nil
}

// nextUnnamed returns the number of a bench without a name.
func (j *job) nextUnnamed() int {
	n := max(j.live.unnamed, 0)
	here := false
	for s := range j.seats {
		here = here || s.unnamed > 0
		n = max(n, s.unnamed)
	}
	if n <= 1 && !here {
		return 1
	}
	return n + 1
}

const unnamed = "unnamed bench "

// unnamedBench names the n-th bench without a name; the first has none.
func unnamedBench(n int) string {
	if n <= 1 {
		return ""
	}
	return unnamed + strconv.Itoa(n)
}

// unnamedNumber reads what unnamedBench wrote.
func unnamedNumber(bench string) (n int, ok bool) {
	if bench == "" {
		return 1, true
	}
	text, ok := strings.CutPrefix(bench, unnamed)
	if !ok {
		return 0, false
	}
	n, err := strconv.Atoi(text)
	return n, err == nil
}
