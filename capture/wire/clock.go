package wire

import "time"

// The ways in which a clock jumps.
const (
	ClockBack   = "back"   // it was set back while the server served
	ClockAhead  = "ahead"  // it was set ahead, or the machine slept
	ClockBehind = "behind" // it was behind the last entry of the job when the server started
)

// ClockJump is the body of an entry that tells of a jump of the server's clock.
type ClockJump struct {
	How string    `json:"how"`
	Was time.Time `json:"was"` // what it should have shown: by the machine's own count, or by the last entry
	Is  time.Time `json:"is"`  // what it showed
	Say string    `json:"say"`
}
