package listen

import "time"

// AnswerWithin is how long an answer needs no lead-in.
const AnswerWithin = answerWithin

// Clock stops the listener's clock; what is returned moves it on.
func (l *Listener) Clock() func(time.Duration) {
	now := time.Unix(1_900_000_000, 0)
	l.lead.now = func() time.Time { return now }
	return func(d time.Duration) { now = now.Add(d) }
}
