package wire

import "time"

// Photo is what is said of a photo that is sent: the query of POST /api/jobs/{id}/photos.
type Photo struct {
	ID     string `json:"id"               validate:"required,canonical_ulid"`
	Of     string `json:"of"               validate:"required,canonical_ulid"`                      // id of the note that it belongs to
	At     string `json:"at,omitempty"     validate:"omitempty,datetime=2006-01-02T15:04:05Z07:00"` // the client's clock
	Person string `json:"person,omitempty" validate:"max=100,name"`
	Bench  string `json:"bench,omitempty"  validate:"max=100,name"`
}

// Check returns a *[Error] for the first thing that is wrong with it.
func (p Photo) Check() error { return checkShape(p) }

// ClientAt returns the client's time, or the zero Time if it gave none.
func (p Photo) ClientAt() time.Time { return Note{At: p.At}.ClientAt() }

// Shown is what there is to hear and see of a note.
type Shown struct {
	Sound     string    `json:"sound,omitempty"`      // hash of its sound; absent for what was typed
	SoundGone *Gone     `json:"sound_gone,omitempty"` // absent where the sound is kept
	Photos    []PhotoOf `json:"photos,omitempty"`     // in the order in which they were taken
}

// PhotoOf is a photo of a note.
type PhotoOf struct {
	Seq    int64     `json:"seq"`   // of its entry
	Photo  string    `json:"photo"` // its hash
	At     time.Time `json:"at"`    // the server's clock
	Person string    `json:"person"`
	Gone   *Gone     `json:"gone,omitempty"` // absent where it is kept
}

// Gone says when a sound or a photo was purged, and why.
type Gone struct {
	At   time.Time `json:"at"`
	Rule string    `json:"rule"` // in words: "older than 90 days"
}

// Words says it for people.
func (g Gone) Words() string {
	return "purged on " + g.At.UTC().Format("2 January 2006") + ": " + g.Rule
}
