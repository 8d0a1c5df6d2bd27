package rules

import (
	"slices"

	"readback/parse"
	"readback/parse/number"
	"readback/rules/decide"
	"readback/rules/expr"
)

// Spec is a build spec as the rules use it: plain values, checked and complete.
// Package readback/rules/spec makes one from a file; what its comments promise is
// checked there. A Spec is read-only and may be shared by many jobs.
type Spec struct {
	ID       string // "mr5"
	Revision string // as written: "1.10" is not "1.1"
	Title    string
	Source   string // the manual
	Invented bool   // a demo's, not to be built by

	Options  []Option
	Axes     []Axis
	Callouts []Callout
	Rules    []Rule
	Work     []Step // the order in which the work is expected to go
	Cautions []Caution
	Decision decide.Rule // what counts as close
	Kit      []Item      // what the job needs

	Pronounce []Pronunciation // words that the recogniser's dictionary lacks
}

// Option is what must be known of a job before it starts.
type Option struct {
	Name     string
	Say      string   // for people: "stages"
	Values   []string // what it may be; nil for a whole number
	From, To int      // the range of a whole number
	Default  string   // "" where it must be set
}

// Axis is how the places of an axis are spoken.
type Axis struct {
	ID     string
	Say    []string          // "stage", "stages"; the first is read back
	Values []parse.AxisValue // for places that are no numbers, their spoken forms
}

// Count is a whole number that may come from an option.
type Count struct {
	N      int
	Option string // "" for N itself
}

// Along is one axis of a callout with its places: From to To, or Values.
type Along struct {
	Axis     string
	From, To Count
	Values   []string // nil for whole numbers
}

// Callout is one thing that the spec calls for.
type Callout struct {
	ID        string
	Kind      parse.Kind // Reading, Confirm, Part, Event or Detail
	Say       []string   // spoken forms, the first is read back
	Many      string     // the first form's plural; "" for one that has none
	Short     []string
	Denied    []string // spoken forms that say it is not so, or no longer
	Family    string
	At        []Along
	Unit      string   // UCUM code, for Reading
	AlsoIn    []string // codes of other units in use for the quantity
	Limits    *Limits  // nil where nothing limits it
	Plausible *Range   // nil where any value is plausible
	Corrected *Corrected
	Choices   []parse.Choice // for a Part
	Takes     []parse.Taking
	TakenAt   []TakenAt  // what the reading must be taken at
	Derived   *expr.Expr // nil for what is said
	Owed      bool       // left to do until it is done
	When      []Condition
	Source    string // page of the manual
}

// Condition holds where an option has a value.
type Condition struct{ Option, Is string }

// Amount is a number that may hang on an option or on the place.
type Amount struct {
	Value number.Value
	By    string // an option or one of the callout's axes; "" for Value itself
	Cases []Case // one for every value of By
}

// Case is the amount for one value of an option or axis.
type Case struct {
	Is    string
	Value number.Value
}

// Limits bound a reading, in the callout's unit. A value on a limit is in.
type Limits struct {
	Nominal *Amount // with Within on either side
	Within  *Amount
	Percent bool // Within is per cent of Nominal
	Min     *Amount
	Max     *Amount
	OneOf   []number.Value // or one of these, give or take Within
}

// TakenAt bounds what a reading is taken at, by one of [Callout.Takes]: a test voltage.
type TakenAt struct {
	Name      string
	Unit      string  // UCUM code
	Limits    *Limits // nil where any will do
	Plausible *Range  // nil for what anybody would read
}

// TakenLimited reports whether the callout has limits on what it is taken at.
func (c *Callout) TakenLimited() bool {
	return slices.ContainsFunc(c.TakenAt, func(a TakenAt) bool { return a.Limits != nil })
}

// Range is what is plausible, in the callout's unit, ends included; a nil end is open.
type Range struct{ Min, Max *number.Value }

// Step is a part of the work: callouts that are done in turn, once or at each place of
// an axis.
type Step struct {
	Each string // axis; "" for once
	Do   []string
}

// Caution is a usual warning of the trade, shown and spoken before a step.
type Caution struct {
	Before string // callout
	Text   string
}

// Item is something that a job needs: parts, tools.
type Item struct {
	Say  string     // for more than one, as spoken: "collar nuts"
	One  string     // for one: "collar nut"
	Many *expr.Expr // how many, computed from whole-number options; nil for one
	When []Condition
}

// Rule is one check over the job. Each kind is one file, named after its id: a struct
// of plain values, and methods that read the job. Rules are pointers, so that a job can
// keep what each says and, for those that look at the order of the work, what it
// remembers.
type Rule interface {
	// Reads lists the callouts whose readings and marks the rule looks at. It is asked
	// again only when one of them changed; with none, after every note.
	Reads() []string
	// Check returns what stands now, in the order of the places.
	Check(j *Job) []Finding
}
