package journal

import (
	"encoding/json"
	"fmt"
	"strconv"
	"time"
)

// Instant is a moment in microseconds since 1970, UTC. As an integer it sorts and
// compares the same in every store. In JSON it is a number; one farther from 1970 than 2^53 - 1
// microseconds, 285 years, is its digits as a string, since not every reader of JSON keeps such a number
// exactly. The server's clock gives none; a client's may.
type Instant int64

// farthest is the largest integer that every reader of JSON keeps exactly (RFC 8785, RFC 7493).
const farthest = 1<<53 - 1

// InstantOf returns the moment of t, cut to whole microseconds. The zero Time gives 0.
func InstantOf(t time.Time) Instant {
	if t.IsZero() {
		return 0
	}
	return Instant(t.UnixMicro())
}

// Time returns i in UTC, or the zero Time for 0, which stands for "not known".
func (i Instant) Time() time.Time {
	if i == 0 {
		return time.Time{}
	}
	return time.UnixMicro(int64(i)).UTC()
}

// MarshalJSON writes a number, or a string for a moment that is too far for one.
func (i Instant) MarshalJSON() ([]byte, error) {
	text := strconv.FormatInt(int64(i), 10)
	if i > farthest || i < -farthest {
		return []byte(`"` + text + `"`), nil
	}
	return []byte(text), nil
}

// UnmarshalJSON reads what MarshalJSON writes.
func (i *Instant) UnmarshalJSON(text []byte) error {
	if len(text) > 1 && text[0] == '"' && text[len(text)-1] == '"' {
		text = text[1 : len(text)-1]
	}
	var n int64
	if err := json.Unmarshal(text, &n); err != nil {
		return fmt.Errorf("an instant is a whole number of microseconds: %w", err)
	}
	*i = Instant(n)
	return nil
}
