package offline

import (
	"sync/atomic"

	"readback/capture/hear/sphinx"
)

// lane is a decoder and the goroutine that owns it.
type lane struct {
	jobs chan func(*sphinx.Decoder)
	busy atomic.Int32
}

// newLane starts the goroutine. It ends, and closes the decoder, after [lane.close].
func newLane(d *sphinx.Decoder) *lane {
	l := &lane{jobs: make(chan func(*sphinx.Decoder), 8)}
	go func() {
		defer func() { _ = d.Close() }()
		for job := range l.jobs {
			job(d)
			l.busy.Add(-1)
		}
	}()
	return l
}

// do queues a job. What is returned is closed when it is done.
func (l *lane) do(job func(*sphinx.Decoder)) <-chan struct{} {
	done := make(chan struct{})
	l.busy.Add(1)
	l.jobs <- func(d *sphinx.Decoder) {
		job(d)
		close(done)
	}
	return done
}

// idle tells whether all jobs are done. Only the one goroutine that gives jobs may ask.
func (l *lane) idle() bool { return l.busy.Load() == 0 }

func (l *lane) close() { close(l.jobs) }
