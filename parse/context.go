package parse

// Context is what was said before at one bench by one person: what "same again",
// "scratch that" or a bare number refer to. The zero Context knows nothing. It ends
// at hand-over.
type Context struct {
	Last  []Claim  `json:"last,omitempty"`  // readings of the last note that recorded any, units filled in
	Marks []Mark   `json:"marks,omitempty"` // marks of the last note that recorded any
	Undo  []Target `json:"undo,omitempty"`  // what the last recording note recorded, for "scratch that"
	Asked []Claim  `json:"asked,omitempty"` // what was asked back and not answered yet
	Next  []Target `json:"next,omitempty"`  // what the spec expects next; ranks, never overrides
}

// Heard is what came of an utterance, as far as later notes can refer to it.
type Heard struct {
	Recorded []Claim // claims that became readings, units filled in
	Marks    []Mark  // marks that were made
	Asked    []Claim // claims that were asked back
	Next     []Target
}

// After returns the context for the next note, once u was folded with this outcome.
func (c Context) After(u Utterance, h Heard) Context {
	next := c
	next.Next = h.Next
	switch {
	case len(h.Asked) > 0:
		next.Asked = h.Asked
	case u.Answers || u.Dropped || len(h.Recorded) > 0:
		next.Asked = nil
	}
	if len(u.Withdrawn) > 0 {
		next.Undo, next.Marks = nil, nil
	}
	if len(h.Recorded) > 0 || len(h.Marks) > 0 {
		next.Undo, next.Marks = nil, h.Marks
		for _, r := range h.Recorded {
			next.Undo = append(next.Undo, r.Target)
		}
		for _, m := range h.Marks {
			next.Undo = append(next.Undo, m.Target)
		}
	}
	if len(h.Recorded) > 0 {
		next.Last = h.Recorded
	}
	return next
}
