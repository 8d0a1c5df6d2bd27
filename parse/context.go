package parse

import "slices"

// Context is what was said before at one bench by one person: what "same again",
// "scratch that" or a bare number refer to. The zero Context knows nothing. It ends
// when the job, or the work on it, is handed over.
type Context struct {
	Last  []Claim  `json:"last,omitempty"`  // readings of the last note that recorded any, units filled in
	Marks []Mark   `json:"marks,omitempty"` // marks of the last note that recorded any
	Undo  []Target `json:"undo,omitempty"`  // what the last recording note recorded, for "scratch that"
	Asked []Claim  `json:"asked,omitempty"` // what was asked back and not answered yet
	Open  *Mark    `json:"open,omitempty"`  // the mark that the last note left open: which kind, or where
	Wants []string `json:"wants,omitempty"` // what the last reading's answer asked for: its temperature
	Next  []Target `json:"next,omitempty"`  // what the spec expects next; ranks, never overrides
	Fresh bool     `json:"fresh,omitempty"` // the last note was asked about: a yes is said of that
	Gone  bool     `json:"gone,omitempty"`  // what was read last was taken back
	Else  bool     `json:"else,omitempty"`  // since it was read or asked, a note spoke of something else
	Aim   *Aim     `json:"aim,omitempty"`   // where the numbers of the gauge at this bench land; nil for off
	Using []string `json:"using,omitempty"` // instruments that were named, the last one first
	Told  *Told    `json:"told,omitempty"`  // what the last note told of that is wrong; questions in between change nothing
}

// Told is what a note told of, so far as the next may take it back.
type Told struct {
	Found []Condition `json:"found"`           // never empty
	Alone bool        `json:"alone,omitempty"` // the note recorded nothing else
}

// Heard is what came of an utterance, as far as later notes can refer to it.
type Heard struct {
	Recorded []Claim  // claims that became readings, units filled in
	Marks    []Mark   // marks that were made
	Asked    []Claim  // claims that were asked back
	Wants    []string // what a reading of the note was taken at, where that is asked
	Open     *Mark    // the one mark that was asked about; nil for none or several
	Next     []Target
	Aim      *Aim // how the gauge stands now, of a note that has to do with one; nil for off
	Over     bool // the job was handed over: nothing said before is referred to any more
}

// After returns the context for the next note, once u was folded with this outcome.
func (c Context) After(u Utterance, h Heard) Context {
	if h.Over || u.Over {
		return Context{Next: h.Next}
	}
	next := c
	if u.Gauge != nil {
		next.Aim = h.Aim
	}
	if u.Gauge.Steers() {
		return next.steered(u, h)
	}
	next.Next, next.Fresh = h.Next, len(h.Asked) > 0
	if u.Instrument != "" {
		next.Using = using(u.Instrument, c.Using)
	}
	if u.Kind != Question {
		next.Told = nil
		if len(u.Symptoms) > 0 {
			next.Told = &Told{Found: u.Symptoms, Alone: len(h.Recorded)+len(h.Marks)+len(h.Asked) == 0 && h.Open == nil}
		}
	}
	switch {
	case len(h.Asked) > 0, len(h.Recorded) > 0:
		next.Else = false
	case u.Mentions || len(h.Marks) > 0:
		next.Else = true
	}
	switch {
	case len(h.Asked) > 0:
		next.Asked = h.Asked
	case u.Answers || u.Dropped || len(h.Recorded) > 0:
		next.Asked = nil
	}
	if u.Kind != Question {
		next.Wants = h.Wants
	}
	if u.Kind != Question || h.Open != nil {
		next.Open = h.Open // a question in between changes nothing
	}
	switch {
	case len(u.Withdrawn) > 0:
		next.Undo, next.Marks, next.Gone = nil, nil, true
	case len(u.Untold) > 0:
		next.Undo, next.Marks = nil, nil // one "scratch that" more does not reach behind it
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
		next.Last, next.Gone = h.Recorded, false
	}
	return next
}

// steered is the context after a note that only said what a gauge is to measure: like a question it
// changes nothing else, but that a number which the gauge has sent too early is not waited for any more.
func (c Context) steered(u Utterance, h Heard) Context {
	c.Next, c.Fresh = h.Next, false
	if u.Instrument != "" {
		c.Using = using(u.Instrument, c.Using)
	}
	if u.Gauge.Do == GaugeOn {
		c.Asked = slices.DeleteFunc(slices.Clone(c.Asked), func(a Claim) bool { return a.How == HowGauge && a.Callout == "" })
	}
	return c
}

// maxUsing is how many instruments a bench has at hand.
const maxUsing = 8

// using puts the instrument before those that were in use.
func using(instrument string, before []string) []string {
	out := []string{instrument}
	for _, b := range before {
		if b != instrument && len(out) < maxUsing {
			out = append(out, b)
		}
	}
	return out
}

// WithInstrument returns the utterance as measured with an instrument that was named
// beside the note and not in it.
func (u Utterance) WithInstrument(instrument string) Utterance {
	if instrument != "" && u.Instrument == "" && len(u.Claims) > 0 {
		u.Instrument, u.Using = instrument, using(instrument, u.Using)
	}
	return u
}
