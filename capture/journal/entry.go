package journal

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"unicode/utf8"

	"readback/parse"
)

// NotStated is the Person of an entry for which nobody gave a name.
const NotStated = "not stated"

// Kind says what an entry records. The list is here and nowhere else.
type Kind string

// The kinds of an entry.
const (
	Opened Kind = "opened" // the job began: holds the spec and the options it is built to
	Note   Kind = "note"   // something that was said: holds the note and its answer
	Photo  Kind = "photo"  // a picture that belongs to a note: holds its hash and the note's seq
	Purged Kind = "purged" // sounds or photos are removed, or about to be: holds which and by which rule
	Heeded Kind = "heeded" // somebody answered a stop and sees to it: holds the finding, and the seq of the note that raised it

	Disposed Kind = "disposition" // what becomes of a finding was decided: holds which, what, and why

	Clock Kind = "clock" // the server's clock has jumped: holds in words, and in its answer, from what to what
)

// Kinds lists every kind that a store keeps.
func Kinds() []Kind { return []Kind{Opened, Note, Photo, Purged, Heeded, Disposed, Clock} }

// Position is the place of an entry among the entries of all jobs. It rises from entry
// to entry, is above 0, and means nothing else: followers save it and hand it back.
type Position int64

// Entry is one line of a job's record. Once kept it is never edited: a correction is a
// new entry. As JSON it must stay what it was when it was sealed: a new field has omitempty, and no
// field is renamed or removed.
type Entry struct {
	Job       string           `json:"job"`
	Seq       int64            `json:"seq"` // counts the job's entries from 1; 0 asks the store for the next
	Position  Position         `json:"-"`   // given by the store
	ID        string           `json:"id"`  // the client's ULID, unique over all jobs
	Kind      Kind             `json:"kind"`
	At        Instant          `json:"at"`                  // the server's clock
	ClientAt  Instant          `json:"client_at,omitempty"` // the client's clock; 0 if it gave none
	Person    string           `json:"person"`              // from the connection, or [NotStated]
	Bench     string           `json:"bench,omitempty"`
	Text      string           `json:"text,omitempty"`      // as said, byte for byte
	Utterance *parse.Utterance `json:"utterance,omitempty"` // as understood then; its Steps are not kept
	Uttered   json.RawMessage  `json:"-"`                   // the utterance as it is kept, byte for byte; set by [Prepare] and by the store
	Answer    json.RawMessage  `json:"answer,omitempty"`    // body of the answer as sent, byte for byte
	Caution   string           `json:"caution,omitempty"`   // the warning that was shown with the answer, or with the opening
	Sound     string           `json:"sound,omitempty"`     // SHA-256 of its sound as it is kept, in hex; "" for what was typed
	Heard     json.RawMessage  `json:"heard,omitempty"`     // of a spoken note: what it was heard as, and how surely
	SpecHash  string           `json:"spec_hash,omitempty"`
	Program   string           `json:"program,omitempty"` // version of the program that understood it
	Photo     string           `json:"photo,omitempty"`   // SHA-256 of the JPEG as it is kept, in hex; in an entry of kind [Photo] alone
	Of        int64            `json:"of,omitempty"`      // seq of the note that the photo belongs to, or that raised the finding which is heeded
	Purge     *Purge           `json:"purge,omitempty"`   // in an entry of kind [Purged] alone

	Disposition *Disposition `json:"disposition,omitempty"` // in an entry of kind [Disposed] alone

	// What a job is built to; in the entry of kind [Opened] alone.
	Spec     string            `json:"spec,omitempty"`      // its name
	SpecText string            `json:"spec_text,omitempty"` // its YAML as it was
	ShopText string            `json:"shop_text,omitempty"` // the shop's register of instruments as it was; "" for none
	Options  map[string]string `json:"options,omitempty"`
}

// Purge says which sounds and photos of a job are gone, or about to be: the entry is kept before the
// first file is removed.
type Purge struct {
	Rule   string       `json:"rule"`   // why, in words: "older than 90 days"
	Before Instant      `json:"before"` // what was kept before this moment
	Items  []PurgedItem `json:"items"`  // in the order of their entries; never empty
}

// PurgedItem is a sound or a photo that is removed. Its hash stays in its own entry as well.
type PurgedItem struct {
	Seq  int64  `json:"seq"`  // of the note whose sound it was, or of the photo's entry
	Hash string `json:"hash"` // as that entry has it
}

// Disposition says what becomes of a finding that is out of limits, and why. Whoever decided is the
// Person of its entry, who has a name. A later one of the same finding takes its place; neither is
// changed.
type Disposition struct {
	Rule    string      `json:"rule"`    // of the finding: "limit"
	Callout string      `json:"callout"` // that it is about
	At      parse.Place `json:"at"`      // "" for what is there once
	Finding string      `json:"finding"` // in words, as it stood when it was decided on
	Reading int64       `json:"reading"` // seq of the note whose reading or mark it was given for, the last where there are several; 0 where it rests on none
	Is      string      `json:"is"`      // "rework", "use as is" or "scrap"
	Reason  string      `json:"reason"`  // why, as it was written; never empty
}

// Prepare returns e as a store keeps it: a copy that shares nothing with e, with
// [NotStated] for an empty Person. An entry that no store may keep gives an error that
// wraps [ErrEntry]. Every store calls it on every entry.
func Prepare(e Entry) (Entry, error) {
	if fault := e.fault(); fault != "" {
		return Entry{}, fmt.Errorf("%w: %s", ErrEntry, fault)
	}
	e.Uttered = nil
	e, err := e.Clone()
	if err != nil {
		return Entry{}, fmt.Errorf("%w: %w", ErrEntry, err)
	}
	if e.Person == "" {
		e.Person = NotStated
	}
	return e, nil
}

// Clone returns a copy of e that shares nothing with it. Empty lists and maps become nil,
// and what is not kept of an utterance is left out.
func (e Entry) Clone() (Entry, error) {
	e.Answer = slices.Clone(e.Answer)
	if len(e.Answer) == 0 {
		e.Answer = nil
	}
	e.Heard = slices.Clone(e.Heard)
	if len(e.Heard) == 0 {
		e.Heard = nil
	}
	e.Options = maps.Clone(e.Options)
	if len(e.Options) == 0 {
		e.Options = nil
	}
	if e.Purge != nil {
		purge := *e.Purge
		purge.Items = slices.Clone(purge.Items)
		e.Purge = &purge
	}
	if e.Disposition != nil {
		disposition := *e.Disposition
		e.Disposition = &disposition
	}
	text := string(e.Uttered)
	if text == "" {
		var err error
		if text, err = EncodeUtterance(e.Utterance); err != nil {
			return Entry{}, err
		}
	}
	var err error
	e.Utterance, err = DecodeUtterance(text)
	if e.Uttered = nil; text != "" {
		e.Uttered = json.RawMessage(text)
	}
	return e, err
}

// MarshalJSON writes the utterance as it is kept, where that is known: a newer program may have
// other fields in one, and what was sealed would be another text.
func (e Entry) MarshalJSON() ([]byte, error) {
	type plain Entry
	var out any = plain(e)
	if len(e.Uttered) > 0 {
		out = struct {
			plain
			Utterance json.RawMessage `json:"utterance,omitempty"`
		}{plain(e), e.Uttered}
	}
	var b bytes.Buffer
	to := json.NewEncoder(&b)
	to.SetEscapeHTML(false) // who writes the whole has the say
	if err := to.Encode(out); err != nil {
		return nil, fmt.Errorf("entry %d of job %s: %w", e.Seq, e.Job, err)
	}
	return b.Bytes(), nil
}

// EncodeUtterance returns u as JSON, or "" for none.
func EncodeUtterance(u *parse.Utterance) (string, error) {
	if u == nil {
		return "", nil
	}
	text, err := json.Marshal(u)
	if err != nil {
		return "", fmt.Errorf("encode utterance: %w", err)
	}
	return string(text), nil
}

// DecodeUtterance reads what [EncodeUtterance] wrote.
func DecodeUtterance(text string) (*parse.Utterance, error) {
	if text == "" {
		return nil, nil //nolint:nilnil // no utterance is an ordinary thing: an opening has none
	}
	u := new(parse.Utterance)
	if err := json.Unmarshal([]byte(text), u); err != nil {
		return nil, fmt.Errorf("decode utterance: %w", err)
	}
	return u, nil
}

// fault says why e may not be kept, or "".
func (e Entry) fault() string {
	switch {
	case e.Job == "":
		return "it names no job"
	case e.ID == "":
		return "it has no id"
	case !slices.Contains(Kinds(), e.Kind):
		return fmt.Sprintf("kind %q is none of %v", e.Kind, Kinds())
	case e.At <= 0:
		return "it has no server time"
	case e.Seq < 0:
		return "its seq is below 0"
	case len(e.Answer) > 0 && !json.Valid(e.Answer):
		return "its answer is not JSON"
	case len(e.Heard) > 0 && !json.Valid(e.Heard):
		return "how it was heard is not JSON"
	case e.Kind == Photo && (e.Photo == "" || e.Of < 1), e.Kind != Photo && e.Photo != "", e.Kind != Photo && e.Kind != Heeded && e.Of != 0:
		return "a photo has a hash and the seq of its note, and nothing else has"
	case e.Kind == Heeded && (e.Of < 1 || len(e.Answer) == 0 || e.Person == "" || e.Person == NotStated):
		return "who heeds a stop has a name, and says which stop and of which note"
	case e.Kind == Clock && (e.Text == "" || len(e.Answer) == 0):
		return "a jump of the clock says from what to what"
	case (e.Kind == Purged) != (e.Purge != nil && len(e.Purge.Items) > 0):
		return "a purge says what is gone, and nothing else does"
	case (e.Kind == Disposed) != (e.Disposition != nil):
		return "a disposition says what was decided, and nothing else does"
	case e.Kind == Disposed && (e.Person == "" || e.Person == NotStated):
		return "a disposition is given by somebody with a name"
	case e.Kind == Disposed && !e.Disposition.whole():
		return "a disposition says of which finding it is, what was decided, and why"
	}
	return e.badText()
}

// whole reports whether nothing is missing that every disposition has.
func (d *Disposition) whole() bool {
	return d.Rule != "" && d.Finding != "" && d.Is != "" && strings.TrimSpace(d.Reason) != "" && d.Reading >= 0
}

// badText names the first text of e that not every engine could keep as it is: SQLite
// keeps a NUL and bad UTF-8, others refuse or change them, so that all refuse.
func (e Entry) badText() string {
	texts := []struct{ name, text string }{
		{"job", e.Job},
		{"id", e.ID},
		{"person", e.Person},
		{"bench", e.Bench},
		{"text", e.Text},
		{"answer", string(e.Answer)},
		{"caution", e.Caution},
		{"sound", e.Sound},
		{"heard", string(e.Heard)},
		{"spec_hash", e.SpecHash},
		{"program", e.Program},
		{"photo", e.Photo},
		{"spec", e.Spec},
		{"spec_text", e.SpecText},
		{"shop_text", e.ShopText},
	}
	if e.Purge != nil {
		texts = append(texts, struct{ name, text string }{"purge", e.Purge.Rule})
		for _, s := range e.Purge.Items {
			texts = append(texts, struct{ name, text string }{"purge", s.Hash})
		}
	}
	if d := e.Disposition; d != nil {
		for _, text := range []string{d.Rule, d.Callout, string(d.At), d.Finding, d.Is, d.Reason} {
			texts = append(texts, struct{ name, text string }{"disposition", text})
		}
	}
	for _, key := range slices.Sorted(maps.Keys(e.Options)) {
		texts = append(texts, struct{ name, text string }{"options", key + e.Options[key]})
	}
	for _, t := range texts {
		if strings.ContainsRune(t.text, 0) || !utf8.ValidString(t.text) {
			return t.name + " holds a NUL or is not UTF-8"
		}
	}
	return ""
}

// IsRefusal reports whether err says that one entry was refused for what it is, and not
// that the store is in trouble.
func IsRefusal(err error) bool {
	return errors.Is(err, ErrEntry) || errors.Is(err, ErrOtherJob) || errors.Is(err, ErrSeq)
}
