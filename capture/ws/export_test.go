package ws

import "time"

// SetLimits makes a handler impatient, for tests. What is 0 stays as it is.
func (h *Handler) SetLimits(pingEvery, silence, writeWithin time.Duration, queue, connections int) {
	set := func(to *time.Duration, d time.Duration) {
		if d > 0 {
			*to = d
		}
	}
	set(&h.limits.pingEvery, pingEvery)
	set(&h.limits.silence, silence)
	set(&h.limits.writeWithin, writeWithin)
	if queue > 0 {
		h.limits.queue = queue
	}
	if connections > 0 {
		h.limits.connections = connections
	}
}

// SetEarWithin sets how long a spoken note waits for a recogniser, for tests.
func (h *Handler) SetEarWithin(d time.Duration) { h.limits.earWithin = d }

// SetTellAgain sets how often a note that waits is told so, for tests.
func (h *Handler) SetTellAgain(d time.Duration) { h.limits.tellAgain = d }

// SetWaiting sets how many notes may wait for a recogniser, for tests.
func (h *Handler) SetWaiting(n int) { h.places = make(chan struct{}, n) }
