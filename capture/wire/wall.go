package wire

import (
	"time"

	"readback/parse"
	"readback/rules"
)

// Heed says that somebody answers a stop and sees to it: the body of POST /api/jobs/{id}/heed.
type Heed struct {
	ID      string      `json:"id"               validate:"required,canonical_ulid"`
	Rule    string      `json:"rule"             validate:"required,max=100,plain"` // this, callout, at and text say which finding
	Callout string      `json:"callout"          validate:"max=100,plain"`
	At      parse.Place `json:"at"               validate:"max=300,plain"`
	Text    string      `json:"text"             validate:"required"` // its words, as they were seen: an answer is not meant for others
	Since   int64       `json:"since"            validate:"min=1"`    // seq of the note that raised it: an answer is not meant for a later one
	Person  string      `json:"person"           validate:"required,max=100,name"`
	Bench   string      `json:"bench,omitempty"  validate:"max=100,name"`
}

// DecodeHeed reads the body of POST /api/jobs/{id}/heed. Every error is a *[Error].
func DecodeHeed(body []byte) (Heed, error) {
	var heed Heed
	if err := object(body, &heed); err != nil {
		return Heed{}, err
	}
	return heed, checkShape(heed)
}

// Heeded says who answered a stop.
type Heeded struct {
	Seq    int64     `json:"seq"` // of its entry
	At     time.Time `json:"at"`
	Person string    `json:"person"`
}

// Standing is a finding that is open, and since when.
type Standing struct {
	rules.Finding
	Since   int64     `json:"since"`            // seq of the entry that raised it, in these words where it is a stop
	SinceAt time.Time `json:"since_at"`         // of that entry
	Heeded  *Heeded   `json:"heeded,omitempty"` // absent until somebody has answered it
}

// Standings of a bench, the one that needs somebody most first.
const (
	StandStop     = "stop"     // a finding of severity stop is open
	StandFault    = "fault"    // the job cannot be read; the server's log says why
	StandWrong    = "wrong"    // a finding of severity warn is open
	StandAsked    = "asked"    // something was asked back and is not answered
	StandUnderWay = "underway" // none of these: whether it is quiet there, its silence says
	StandFinished = "finished" // the job is handed over, and neither a stop is open nor anything out of limits
)

// Bench is a job as the wall shows it.
type Bench struct {
	Job      string       `json:"job"`
	Spec     string       `json:"spec"`
	Title    string       `json:"title"`
	Invented bool         `json:"invented"`
	Opened   time.Time    `json:"opened"`
	Bench    string       `json:"bench,omitempty"` // where the last note was said; "" for one without a name
	Person   string       `json:"person"`          // who said it
	Spoke    time.Time    `json:"spoke"`           // when, by the server's clock: the silence counts from here
	Entries  int64        `json:"entries"`
	Stands   string       `json:"stands"` // one of the standings
	Next     *Next        `json:"next"`   // the step; null when nothing is left
	Left     int          `json:"left"`
	Last     *LastReading `json:"last"`     // the newest reading that stands; null for none
	Findings []Standing   `json:"findings"` // that are open, the worst first and of those the newest; never null
	Over     *HandedOver  `json:"handed_over,omitempty"`
}

// LastReading is the newest reading of a job that stands.
type LastReading struct {
	Where   string        `json:"where"` // "collar nut three"
	Shown   string        `json:"shown"` // "48 N·m"
	Limits  string        `json:"limits,omitempty"`
	Verdict rules.Verdict `json:"verdict"`
}

// Wall is what a wall gets: all of it when it comes, then what changed. One without changes
// is a sign of life.
type Wall struct {
	Now     time.Time `json:"now"`               // the server's clock, when this was made
	Whole   bool      `json:"whole,omitempty"`   // it is all there is: what else is shown goes
	Quiet   int       `json:"quiet"`             // seconds of silence from which a bench is quiet
	Benches []Bench   `json:"benches,omitempty"` // new or changed, by the time of their opening
	Gone    []string  `json:"gone,omitempty"`    // jobs that are no longer on the wall
	Rest    int       `json:"rest"`              // jobs in the list that are not on the wall
}

// MarshalJSON writes {"type":"wall",...}.
func (w Wall) MarshalJSON() ([]byte, error) {
	type plain Wall // has no MarshalJSON
	return encode(struct {
		Type string `json:"type"`
		plain
	}{"wall", plain(w)})
}
