package rules

import (
	"bytes"
	"encoding/json"
	"fmt"

	"readback/parse"
	"readback/parse/number"
)

// Verdict is what limits say of a reading.
type Verdict string

// The verdicts.
const (
	In      Verdict = "in"
	Close   Verdict = "close" // inside, but the uncertainty reaches a limit
	Out     Verdict = "out"
	Unclear Verdict = "unclear" // asked back, not recorded
)

// Answer is what came of one note. Its JSON is the body of an answer of
// `readback check --json`; slices are never nil.
type Answer struct {
	Kind     parse.Kind `json:"kind"`
	Readings []Reading  `json:"readings"`
	Marks    []Mark     `json:"marks"`
	Findings []Finding  `json:"findings"` // raised or changed by this note
	Say      string     `json:"say"`      // the sentence to be spoken

	Gauge   *Gauge      `json:"gauge,omitempty"`   // where the next number of a gauge that types lands, of a note that has to do with one
	Heard   parse.Heard `json:"-"`                 // for [parse.Context.After]
	Caution string      `json:"caution,omitempty"` // the usual warning before the step that is next now, the first time that it is; "" for none
}

// Reading is a quantity tied to a callout, as it was said.
type Reading struct {
	Callout string       `json:"callout"`
	At      parse.Place  `json:"at"`
	Value   number.Value `json:"value"` // in Unit, with the digits that were said
	Unit    string       `json:"unit"`  // UCUM code; "1" where none is clear yet
	Verdict Verdict      `json:"verdict"`
	With    Taken        `json:"with,omitempty"` // what it was taken at
	How     string       `json:"how,omitempty"`  // "set" for a click wrench's setting, "gauge" for what a gauge has typed

	Instrument string `json:"instrument,omitempty"` // what it was measured with: "wrench 7"
	Conformity string `json:"conformity,omitempty"` // probability of being inside the limits, "0.758", where the uncertainty is known

	conforms string // the same as spoken
}

// Mark is a confirmation, part or event as it was recorded.
type Mark struct {
	Callout string      `json:"callout"`
	At      parse.Place `json:"at"`
	Is      string      `json:"is"` // "done", "undone", which part, or the words of a detail

	Detail bool `json:"-"` // Is is what was said
}

// Taken is what a reading was taken at, by name. It is written as an object:
// {"temperature":{"value":"30","unit":"Cel"}}.
type Taken []parse.Taken

// MarshalJSON writes one member for each quantity, in the order in which they were said.
func (t Taken) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	b.WriteByte('{')
	for i, x := range t {
		if i > 0 {
			b.WriteByte(',')
		}
		name, err := json.Marshal(x.Name)
		if err != nil {
			return nil, fmt.Errorf("taken at %q: %w", x.Name, err)
		}
		at, err := json.Marshal(struct {
			Value number.Value `json:"value"`
			Unit  string       `json:"unit"`
		}{x.Value, x.Unit})
		if err != nil {
			return nil, fmt.Errorf("taken at %q: %w", x.Name, err)
		}
		b.Write(name)
		b.WriteByte(':')
		b.Write(at)
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

// UnmarshalJSON reads what [Taken.MarshalJSON] wrote.
func (t *Taken) UnmarshalJSON(data []byte) error {
	d := json.NewDecoder(bytes.NewReader(data))
	if _, err := d.Token(); err != nil {
		return fmt.Errorf("taken at: %w", err)
	}
	*t = nil
	for d.More() {
		name, err := d.Token()
		if err != nil {
			return fmt.Errorf("taken at: %w", err)
		}
		var at struct {
			Value number.Value `json:"value"`
			Unit  string       `json:"unit"`
		}
		if err := d.Decode(&at); err != nil {
			return fmt.Errorf("taken at %v: %w", name, err)
		}
		text, _ := name.(string)
		*t = append(*t, parse.Taken{Name: text, Value: at.Value, Unit: at.Unit})
	}
	return nil
}

// Owed is something that is left to do.
type Owed struct {
	Callout string      `json:"callout"`
	At      parse.Place `json:"at"`
}

// Summary is the state of a job in short. Its JSON is the last object of
// `readback check --json`, under "summary".
type Summary struct {
	Notes    int       `json:"notes"`    // that were folded
	Readings int       `json:"readings"` // that stand
	Open     []Finding `json:"open"`
	Left     []Owed    `json:"left"` // in the order of the work
}
