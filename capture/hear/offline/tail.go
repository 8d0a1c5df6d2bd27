package offline

import (
	"strings"
	"sync"
)

// lastWords keeps the end of what a worker writes to its standard error.
type lastWords struct {
	mu  sync.Mutex
	end []byte
}

const (
	mostTail  = 8 << 10 // bytes that are kept
	mostLines = 12      // lines that are told
)

func (l *lastWords) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.end = append(l.end, p...)
	if over := len(l.end) - mostTail; over > 0 {
		l.end = append(l.end[:0], l.end[over:]...)
	}
	return len(p), nil
}

// String is the last lines.
func (l *lastWords) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	lines := strings.Split(strings.TrimSpace(strings.ToValidUTF8(string(l.end), "?")), "\n")
	return strings.Join(lines[max(0, len(lines)-mostLines):], "\n")
}
