package wire

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"readback/capture/journal"
	"readback/parse"
)

// Answer says that a note is kept, and what became of it. It is sent after the commit.
type Answer struct {
	ID    string
	Seq   int64           // the entry's place in the job
	Sound string          // hash of its sound; "" for what was typed
	Body  json.RawMessage // an object: what `check --json` prints for the note
}

// Refused says that nothing of a note was kept, and why.
type Refused struct {
	ID     string `json:"id,omitempty"`
	Reason string `json:"reason"`
}

// Entry tells a bench what another bench has entered on its job.
type Entry struct {
	ID      string
	Seq     int64
	Kind    journal.Kind
	At      time.Time // the server's clock
	Person  string
	Bench   string
	From    string // what typed or heard it: [FromGauge], [FromBrowser]; "" for hands, and for the server's own ears
	Text    string
	Spec    string            // of an opening
	Options map[string]string // of an opening
	Sound   string            // of a spoken note: hash of its sound
	Photo   string            // of a photo: its hash
	Of      int64             // of a photo: the seq of its note
	Purge   *journal.Purge    // of a purge: what is gone
	Body    json.RawMessage   // of a note: as in [Answer]

	Disposition *journal.Disposition // of a disposition: what was decided
}

// ofAnswer and ofEntry are the members that the wire adds, before those of the body.
type ofAnswer struct {
	Type  string `json:"type"`
	ID    string `json:"id"`
	Seq   int64  `json:"seq"`
	Sound string `json:"sound,omitempty"`
}

type ofEntry struct {
	ofAnswer
	Entry   journal.Kind      `json:"entry"`
	At      time.Time         `json:"at"`
	Person  string            `json:"person"`
	Bench   string            `json:"bench,omitempty"`
	Spec    string            `json:"spec,omitempty"`
	Options map[string]string `json:"options,omitempty"`
	From    string            `json:"from,omitempty"`
	Photo   string            `json:"photo,omitempty"`
	Of      int64             `json:"of,omitempty"`
	Purge   *journal.Purge    `json:"purge,omitempty"`
	Text    string            `json:"text"`

	Disposition *journal.Disposition `json:"disposition,omitempty"`
}

// AnswerOf returns the answer to the note that became e.
func AnswerOf(e journal.Entry) Answer {
	return Answer{ID: e.ID, Seq: e.Seq, Sound: e.Sound, Body: e.Answer}
}

// EntryOf returns e as other benches see it.
func EntryOf(e journal.Entry) Entry {
	return Entry{
		ID: e.ID, Seq: e.Seq, Kind: e.Kind, At: e.At.Time(), Person: e.Person, Bench: e.Bench,
		From: FromOf(e), Text: e.Text, Spec: e.Spec, Options: e.Options, Sound: e.Sound, Photo: e.Photo, Of: e.Of, Purge: e.Purge, Body: e.Answer,
		Disposition: e.Disposition,
	}
}

// FromOf says what typed or heard a kept note, as [Entry].From.
func FromOf(e journal.Entry) string {
	if e.Utterance != nil && e.Utterance.Gauge != nil && e.Utterance.Gauge.Do == parse.GaugeSent {
		return FromGauge
	}
	var heard struct {
		Engine string `json:"engine"`
	}
	if len(e.Heard) > 0 && json.Unmarshal(e.Heard, &heard) == nil && heard.Engine == FromBrowser {
		return FromBrowser
	}
	return ""
}

// MarshalJSON writes {"type":"answer","id":...,"seq":...} and then the body's members. The
// body's own type, id, seq and sound are left out.
func (a Answer) MarshalJSON() ([]byte, error) {
	return join(ofAnswer{"answer", a.ID, a.Seq, a.Sound}, a.Body, "type", "id", "seq", "sound")
}

// UnmarshalJSON reads what MarshalJSON wrote.
func (a *Answer) UnmarshalJSON(data []byte) error {
	var head ofAnswer
	if err := json.Unmarshal(data, &head); err != nil {
		return fmt.Errorf("read answer: %w", err)
	}
	if head.Type != "answer" {
		return fmt.Errorf("read answer: it is of type %q", head.Type)
	}
	body, err := without(data, "type", "id", "seq", "sound")
	*a = Answer{head.ID, head.Seq, head.Sound, body}
	return err
}

// MarshalJSON writes {"type":"refused",...}.
func (r Refused) MarshalJSON() ([]byte, error) {
	type plain Refused // has no MarshalJSON
	return encode(struct {
		Type string `json:"type"`
		plain
	}{"refused", plain(r)})
}

// MarshalJSON writes {"type":"entry",...} and then the body's members. "entry" is the
// entry's kind; "kind" is the note's, from the body.
func (e Entry) MarshalJSON() ([]byte, error) {
	head := ofEntry{
		ofAnswer{"entry", e.ID, e.Seq, e.Sound}, e.Kind, e.At, e.Person, e.Bench, e.Spec, e.Options, e.From, e.Photo, e.Of, e.Purge, e.Text, e.Disposition,
	}
	drop := []string{"type", "id", "seq", "sound", "entry", "at", "person", "bench", "spec", "options", "from", "photo", "purge", "text", "disposition"}
	if e.Of != 0 { // else that of the body says which note it puts right
		drop = append(drop, "of")
	}
	return join(head, e.Body, drop...)
}

// join writes the members of head and then those of body that are not named.
func join(head any, body json.RawMessage, drop ...string) ([]byte, error) {
	first, err := encode(head)
	if err != nil || len(body) == 0 {
		return first, err
	}
	rest, err := without(body, drop...)
	if err != nil || bytes.Equal(rest, []byte("{}")) {
		return first, err
	}
	return append(append(first[:len(first)-1], ','), rest[1:]...), nil
}

// without copies the object without the named members, in its own order.
func without(object []byte, drop ...string) ([]byte, error) {
	d := json.NewDecoder(bytes.NewReader(object))
	if t, err := d.Token(); err != nil || t != json.Delim('{') {
		return nil, errors.Join(errors.New("the body of an answer is not an object"), err)
	}
	out := []byte{'{'}
	for d.More() {
		name, err := d.Token()
		if err != nil {
			return nil, fmt.Errorf("read body: %w", err)
		}
		var value json.RawMessage
		if err := d.Decode(&value); err != nil {
			return nil, fmt.Errorf("read body: %w", err)
		}
		text, ok := name.(string)
		if !ok || slices.Contains(drop, text) {
			continue
		}
		key, err := encode(text)
		if err != nil {
			return nil, err
		}
		if len(out) > 1 {
			out = append(out, ',')
		}
		out = append(append(append(out, key...), ':'), value...)
	}
	return append(out, '}'), nil
}

// encode writes JSON that keeps <, > and & as they are.
func encode(v any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		return nil, fmt.Errorf("write message: %w", err)
	}
	return bytes.TrimSuffix(b.Bytes(), []byte("\n")), nil
}
