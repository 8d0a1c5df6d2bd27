// Package wire holds the messages of the websocket protocol readback.v1 and of the HTTP
// routes beside it, and checks the shape of what comes in. What is wrong comes back in
// words, for the one who sent it. It knows no sockets, keeps nothing, and does not know
// what a note means.
//
// Start reading at [Decode] for what a bench sends, and at [Answer] for what it gets.
package wire

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"
)

const (
	// Protocol is the websocket subprotocol.
	Protocol = "readback.v1"
	// MaxFrame is the longest text frame in bytes; a longer one closes the connection.
	MaxFrame = 64 << 10
	// MaxText is the longest note in characters.
	MaxText = 2000
)

// Note is something that was typed at a bench.
type Note struct {
	ID         string `json:"id"                   validate:"required,canonical_ulid"`
	Text       string `json:"text"                 validate:"said,max=2000"`
	At         string `json:"at,omitempty"         validate:"omitempty,datetime=2006-01-02T15:04:05Z07:00"` // the client's clock
	Instrument string `json:"instrument,omitempty" validate:"max=100,plain"`
	From       string `json:"from,omitempty"       validate:"omitempty,oneof=gauge browser"` // what typed or heard it; "" for hands
	Of         int64  `json:"of,omitempty"         validate:"min=0,excluded_with=From"`      // the words, which were typed, are put right of the remark with this seq
	Open       bool   `json:"open,omitempty"       validate:"excluded_unless=From browser"`  // of words from a browser: as [Sound].Open
	Late       bool   `json:"late,omitempty"       validate:"excluded_unless=From browser"`  // of words from a browser: as [Sound].Late
}

// Where notes come from that no hand has typed.
const (
	FromGauge   = "gauge"   // a gauge with a keyboard output: Text is what it sent
	FromBrowser = "browser" // the browser's own recognition: nothing is kept of it before a yes
)

// ClientAt returns the client's time, or the zero Time if it gave none.
func (n Note) ClientAt() time.Time {
	at, err := time.Parse(time.RFC3339, n.At)
	if err != nil {
		return time.Time{}
	}
	return at
}

// Sound begins a spoken note; binary frames with its samples follow.
type Sound struct {
	ID       string `json:"id"       validate:"required,canonical_ulid"`
	Rate     int    `json:"rate"     validate:"min=8000,max=48000"` // samples a second
	Encoding string `json:"encoding" validate:"oneof=s16le"`
	Until    string `json:"until,omitempty" validate:"omitempty,oneof=silence"`                   // who ends it: the bench, or the server at a silence
	Open     bool   `json:"open,omitempty"`                                                       // the microphone is open: all that is said comes in, and notes begin with the lead-in
	Late     bool   `json:"late,omitempty"`                                                       // it was said while the line was down, to what was known then: it decides nothing
	Check    string `json:"check,omitempty" validate:"max=200,plain"`                             // a sentence that is read to try the microphone: nothing comes of the note but a [Checked]
	At       string `json:"at,omitempty" validate:"omitempty,datetime=2006-01-02T15:04:05Z07:00"` // the client's clock
}

// SoundEnd ends a spoken note.
type SoundEnd struct {
	ID  string `json:"id"            validate:"required,canonical_ulid"`
	Cut bool   `json:"cut,omitempty"` // somebody may have been speaking still: nothing of it is recorded before a yes
}

// Error says what is wrong with a message, for the one who sent it.
type Error struct {
	ID    string // of the message, if it could be read: a [Refused] can name it
	Wrong string // what is wrong
	Do    string // what would help
}

func (f *Error) Error() string { return f.Wrong + "; " + f.Do }

// Decode reads one text frame of a bench: it returns a [Note], a [Sound] or a [SoundEnd].
// Every error is a *[Error].
func Decode(frame []byte) (any, error) {
	if len(frame) > MaxFrame {
		return nil, &Error{Wrong: fmt.Sprintf("the message is longer than %d bytes", MaxFrame), Do: "send shorter notes"}
	}
	var head struct {
		Type string `json:"type"`
		ID   string `json:"id"`
	}
	if err := object(frame, &head); err != nil {
		return nil, err
	}
	switch head.Type {
	case "note":
		return decode[Note](frame, head.ID)
	case "sound":
		return decode[Sound](frame, head.ID)
	case "sound-end":
		return decode[SoundEnd](frame, head.ID)
	}
	return nil, &Error{
		ID:    head.ID,
		Wrong: fmt.Sprintf("%q is no type of message", head.Type), Do: "send note, sound or sound-end",
	}
}

func decode[T any](frame []byte, id string) (any, error) {
	var message T
	err := object(frame, &message)
	if err == nil {
		err = checkShape(message)
	}
	if err != nil {
		if f, ok := errors.AsType[*Error](err); ok {
			f.ID = id
		}
		return nil, err
	}
	return message, nil
}

// object reads one JSON object and nothing behind it.
func object(data []byte, into any) error {
	if !utf8.Valid(data) {
		return &Error{Wrong: "the message is not UTF-8", Do: "send it as UTF-8"}
	}
	if !bytes.HasPrefix(bytes.TrimSpace(data), []byte("{")) {
		return &Error{Wrong: "the message is not a JSON object", Do: `send one such as {"type":"note","id":...,"text":...}`}
	}
	err := json.Unmarshal(data, into)
	if err == nil {
		return nil
	}
	if f, ok := errors.AsType[*Error](err); ok {
		return f
	}
	if wrong, ok := errors.AsType[*json.UnmarshalTypeError](err); ok && wrong.Field != "" {
		return &Error{Wrong: fmt.Sprintf("%s is a %s", wrong.Field, wrong.Value), Do: "send " + kind(wrong.Type.String())}
	}
	return &Error{Wrong: "the message is not whole JSON", Do: "send it again"}
}

func kind(goType string) string {
	switch {
	case goType == "bool":
		return "true or false"
	case strings.HasPrefix(goType, "int"):
		return "a whole number"
	case strings.HasPrefix(goType, "map"):
		return "an object"
	}
	return "text"
}
