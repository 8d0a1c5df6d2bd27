package rules

import (
	"slices"

	"readback/parse"
)

// Severity says how much a finding asks of the technician.
type Severity string

// The severities, mildest first.
const (
	Note Severity = "note" // something to answer; nothing is wrong yet
	Warn Severity = "warn" // wrong, and to be mended or decided before hand-over
	Stop Severity = "stop" // do not go on: the next part would hide it
)

// The ids of the rules that make findings.
const (
	RuleAsk        = "ask"
	RuleLimit      = "limit"
	RuleDerived    = "derived"
	RuleSpread     = "spread"
	RulePassOrder  = "pass_order"
	RuleStepOrder  = "step_order"
	RuleStackOrder = "stack_order"
	RulePartChoice = "part_choice"
	RuleVoid       = "void"
	RuleHoldPoint  = "hold_point"
	RuleInstrument = "instrument"
	RuleMissing    = "missing"
	RuleHandOver   = "hand_over" // a hand-over that was refused; in the answer alone, it never stands
)

// Finding is what a rule has to say about a callout at a place.
type Finding struct {
	Rule     string      `json:"rule"`     // its id: "limit"
	Callout  string      `json:"callout"`  // "" where nothing says which
	At       parse.Place `json:"at"`       // may name some of the callout's axes only
	Severity Severity    `json:"severity"` // note, warn or stop
	Text     string      `json:"text"`     // what is wrong or asked, in the technician's words

	of     string         // what else of its target it is about, where one rule has several findings: "taken"
	wants  []string       // what of a reading's takings is asked for
	spoken string         // Text as the sentence to speak; "" where Text does
	lacks  []parse.Target // what is missing, in the order of the spec; Text may only count it
}

// Spoken returns the finding as the sentence to be spoken.
func (f Finding) Spoken() string {
	if f.spoken != "" {
		return f.spoken
	}
	return f.Text
}

// Same reports whether f says the same of the same as g. Findings that count what is missing in the
// same words are two where other places are missing.
func (f Finding) Same(g Finding) bool { return f.ID() == g.ID() && slices.Equal(f.lacks, g.lacks) }

// SameTarget reports whether f and g are of one rule about one target, whatever they say.
func (f Finding) SameTarget(g Finding) bool {
	return f.Rule == g.Rule && f.Callout == g.Callout && f.At == g.At
}

// Continues reports whether f may be what g has become: of one rule about one target, and where it asks, in
// the same words. Two people may be asked at a time, and two questions without a place are of one target.
func (f Finding) Continues(g Finding) bool {
	return f.SameTarget(g) && (f.Rule != RuleAsk || f.Text == g.Text)
}

// OutOfLimits reports whether something that was measured or computed is not as it is called for.
func (f Finding) OutOfLimits() bool {
	return f.Severity == Warn && slices.Contains([]string{RuleLimit, RuleDerived, RuleSpread}, f.Rule)
}

// WorstFirst compares two severities, for a list that begins with what is worst.
func WorstFirst(a, b Severity) int {
	worst := []Severity{Stop, Warn, Note}
	return slices.Index(worst, a) - slices.Index(worst, b)
}

// key tells findings apart.
type key struct {
	rule, of, callout string
	at                parse.Place
}

func (f Finding) key() key { return key{f.Rule, f.of, f.Callout, f.At} }
