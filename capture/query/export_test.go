package query

// HoldAtMost makes j hold fewer readings than it does otherwise.
func HoldAtMost(j *Journal, readings int) { j.most = readings }

// Held returns how many readings j holds, counted anew.
func Held(j *Journal) (n int) {
	j.mu.Lock()
	defer j.mu.Unlock()
	for _, h := range j.held {
		n += len(h.readings)
	}
	return n
}
