package wire

import (
	"bytes"
	"encoding/json"

	"readback/parse"
)

// Explained is the body of GET /api/jobs/{id}/notes/{seq}/words: how a note was read.
type Explained struct {
	Text      string          `json:"text"`
	Kind      parse.Kind      `json:"kind"`
	Words     []Words         `json:"words"`     // in the order of the note; never null
	Outcome   []string        `json:"outcome"`   // what came of it and was kept, a line each
	Utterance json.RawMessage `json:"utterance"` // as it was understood and kept
	Otherwise bool            `json:"otherwise"` // this version of the program would read it otherwise
	Shown
}

// Words is what a stretch of a note was taken for. Start and End are bytes.
type Words struct {
	Start int    `json:"start"`
	End   int    `json:"end"`
	Words string `json:"words"`
	Is    string `json:"is"`            // "number 48 in N.m"
	Why   string `json:"why,omitempty"` // why so, or why it was not taken
}

// ExplainedOf describes how a note was read: then, and now with its steps.
func ExplainedOf(then, now parse.Utterance) Explained {
	out := Explained{Text: then.Text, Kind: then.Kind, Words: []Words{}, Outcome: then.Outcome()}
	for _, s := range now.Steps {
		out.Words = append(out.Words, Words{s.Start, s.End, s.Words, s.Is, s.Why})
	}
	now.Steps, then.Steps = nil, nil
	was, err := json.Marshal(then)
	if err != nil {
		was = []byte("null")
	}
	is, err := json.Marshal(now)
	out.Utterance, out.Otherwise = was, err == nil && !bytes.Equal(is, was)
	return out
}
