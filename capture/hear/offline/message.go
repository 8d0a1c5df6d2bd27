package offline

import (
	"encoding/json"
	"errors"
	"fmt"
	"strconv"

	"readback/capture/hear"
)

// version is that of the messages. The worker says its own first of all: a program that was
// replaced on the disk while it runs would start workers of another one.
const version = 4

// What a worker can be asked for.
const (
	doListen = "listen"
	doBegin  = "begin"
	doWrite  = "write"
	doEnd    = "end"
	doScore  = "score"
	doGuess  = "guess" // needs no words and no note; its sound comes in the body
)

// request is the head of what the server sends. Sound comes in the body of a write.
type request struct {
	Do        string            `json:"do"`
	Model     string            `json:"model,omitempty"`
	Folder    string            `json:"folder,omitempty"` // for the dictionary; the server removes it
	Grammar   string            `json:"grammar,omitempty"`
	Sounds    map[string]string `json:"sounds,omitempty"`
	Lead      string            `json:"lead,omitempty"` // as of [hear.Words]
	Sentences []string          `json:"sentences,omitempty"`
}

// reply is the head of what the worker sends: one for each request, and one when it is up.
type reply struct {
	Version int     `json:"version"`
	Fault   *fault  `json:"fault,omitempty"`
	Live    *live   `json:"live,omitempty"`
	Heard   *heard  `json:"heard,omitempty"`
	Fits    []fit   `json:"fits,omitempty"`
	Guess   *string `json:"guess,omitempty"`
	Worn    int     `json:"worn"` // grammars set and decoders made: each leaks
}

// live and heard are [hear.Live] and [hear.Heard] as they go through the pipe.
type live struct {
	Words []string   `json:"words"`
	Voice number     `json:"voice"`
	Level number     `json:"level"`
	State hear.State `json:"state"`
}

type heard struct {
	Words    []hear.Word `json:"words"`
	Plain    []hear.Word `json:"plain"`
	Gate     number      `json:"gate"`
	Level    number      `json:"level"`
	Noise    number      `json:"noise"`
	Unvoiced bool        `json:"unvoiced,omitempty"`
}

// fit is [hear.Fit].
type fit struct {
	Score number `json:"score"`
	Text  string `json:"text"`
}

func (l live) out() hear.Live {
	return hear.Live{Words: l.Words, Voice: float64(l.Voice), Level: float64(l.Level), State: l.State}
}

func (h heard) out() hear.Heard {
	return hear.Heard{Words: h.Words, Plain: h.Plain, Gate: float64(h.Gate), Level: float64(h.Level), Noise: float64(h.Noise), Unvoiced: h.Unvoiced}
}

// number is a float that may be infinite or none, which JSON has not.
type number float64

// MarshalJSON writes the number as text.
func (n number) MarshalJSON() ([]byte, error) {
	return json.Marshal(strconv.FormatFloat(float64(n), 'g', -1, 64))
}

// UnmarshalJSON reads the number from text.
func (n *number) UnmarshalJSON(b []byte) error {
	var s string
	if err := json.Unmarshal(b, &s); err != nil {
		return err
	}
	f, err := strconv.ParseFloat(s, 64)
	*n = number(f)
	return err
}

// fault is an error on its way through the pipe. The kind is what [errors.Is] can ask for.
type fault struct {
	Kind string `json:"kind"`
	Text string `json:"text"`
}

var kinds = map[string]error{"missing": hear.ErrMissing, "grammar": hear.ErrGrammar}

func faultOf(err error) *fault {
	if err == nil {
		return nil
	}
	f := &fault{Text: err.Error()}
	for kind, is := range kinds {
		if errors.Is(err, is) {
			f.Kind = kind
		}
	}
	return f
}

// told is a fault on the server's side, with the text that the worker gave it.
type told struct {
	text string
	kind error
}

func (t told) Error() string { return t.text }
func (t told) Unwrap() error { return t.kind }

func (f *fault) err() error {
	if f == nil {
		return nil
	}
	return told{f.Text, kinds[f.Kind]}
}

// check says whether what came is a reply that this program understands.
func (r *reply) check() error {
	if r.Version != version {
		return fmt.Errorf("the worker speaks version %d of the messages, the server %d: restart the server, its program was replaced", r.Version, version)
	}
	return nil
}
