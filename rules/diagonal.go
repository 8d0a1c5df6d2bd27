package rules

import "strconv"

// Diagonal returns the order in which n positions, numbered round a circle, are tightened
// across: after a position the one opposite to it, then always the pair that is farthest
// round the circle from all that were tightened, on a tie the one farthest from the last,
// on a tie the lowest number. n must be even and at least 4; nil otherwise.
//
// Common practice, no source; ASME PCC-1, Appendix F, asks for such a cross pattern.
// Other orders are as good: a spec whose manual prints one gives that.
func Diagonal(n int) []string {
	if n < 4 || n%2 != 0 {
		return nil
	}
	half := n / 2
	order, done := []string{}, []int{}
	for len(done) < half {
		next := nextPair(half, done)
		done = append(done, next)
		order = append(order, strconv.Itoa(next+1), strconv.Itoa(next+half+1))
	}
	return order
}

// nextPair returns the pair, counted from 0, that is farthest from those done. Pairs lie
// round half the circle: the two ends of one are alike.
func nextPair(half int, done []int) int {
	best, from, fromLast := 0, -1, -1
	for p := range half {
		near, last := half, 0
		for _, d := range done {
			apart := min(abs(p-d), half-abs(p-d))
			near, last = min(near, apart), apart
		}
		if near > 0 && (near > from || near == from && last > fromLast) {
			best, from, fromLast = p, near, last
		}
	}
	return best
}

func abs(n int) int { return max(n, -n) }
