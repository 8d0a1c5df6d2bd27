// Package query answers typed questions to the journal of all jobs: which readings of a
// callout there are, and what has readings at all. Whoever wants to know something over
// many jobs asks here, and nobody else walks over the journal for it.
//
// It promises that a reading is in an answer exactly if it stands: if the fold of its job
// has it at the moment of asking, and neither a correction, a withdrawal nor later work
// has made it void. It draws nothing, and knows nothing of charts.
//
// Start reading at [Questions]; [Journal] answers them from any [journal.Store].
package query

import (
	"context"
	"fmt"
	"math/big"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"readback/parse"
	"readback/rules"
)

// Questions is what may be asked. Every engine passes the tests of this package.
type Questions interface {
	// Readings returns what stands and fits the filter, oldest first; readings of one moment in
	// the order of their jobs, notes and spec. Nothing that fits is no error. The error is a
	// *FilterError, a *ManyError, or says what ails the journal.
	Readings(ctx context.Context, f Filter) (Readings, error)
	// Callouts returns what has readings that stand, with the instruments that took them, by
	// spec and then by where the newest job that has the callout has it. spec "" is every spec.
	// The error is as with Readings.
	Callouts(ctx context.Context, spec string) (Callouts, error)
	// Dispositions returns what was decided of findings, oldest first, with what became of each. The
	// error is as with Readings.
	Dispositions(ctx context.Context, p Period) (Dispositions, error)
	// Symptoms counts what notes say is wrong, by part and condition, what most jobs had first. The
	// error is as with Readings.
	Symptoms(ctx context.Context, p Period) (Symptoms, error)
	// Units returns the units that jobs say the number of, with their visits: those that came most often
	// first, then those that came last. The error is as with Readings.
	Units(ctx context.Context, p Period) (Units, error)
}

// Filter says which readings are asked for. A zero field leaves nothing out.
type Filter struct {
	Spec       string      // its name: "mr5"
	Callout    string      // its id, which wants its spec
	Place      parse.Place // readings at these coordinates: "stage=3", or "pass=2" of rods and passes
	Instrument string      // as it was named: "wrench 7"
	Person     string
	From, To   time.Time // the note was kept at From or later, and before To
}

// HowSet is Reading.How of a click wrench's setting: it says where the wrench was set, not
// what it measured.
const HowSet = "set"

// Reading is one reading that stands. What it points to is shared, and not to be changed.
type Reading struct {
	Job            string
	Spec, Revision string
	Options        map[string]string // of the job, defaults filled in
	Callout        string
	Name           string      // of the callout in words: "collar nut"
	At             parse.Place // "" for what is there once
	Where          string      // "collar nut three"

	Value  *big.Rat // exactly, in Unit
	Number float64  // Value, nearest
	Unit   string   // the callout's own, a UCUM code
	Judged float64  // what is held against the limits: Value, or that at the limits' temperature
	AsRead bool     // the limits hold at a temperature that was not said
	Limits Limits

	Seq        int64 // of the note that it comes from
	When       time.Time
	Person     string
	Instrument string // "" where none was named
	Verdict    rules.Verdict
	How        string // [HowSet], [parse.HowGauge], or ""
	Derived    bool   // computed from other readings
}

// Limits are those that the reading's own job was built to, in the unit of the reading.
type Limits struct {
	Nominal, Min, Max *big.Rat // nil for none and for an open end
	OneOf             bool     // one of a list is called for
	Text              string   // as shown: "46.08 to 49.92 N·m"; "" for no limits
}

// Readings are the answer to a question.
type Readings struct {
	Readings []Reading
	Unread   []string // jobs that may have such readings and cannot be folded, sorted
}

// Callouts are what has readings.
type Callouts struct {
	Callouts []Callout
	Unread   []string // jobs that cannot be folded, sorted
}

// Callout has readings.
type Callout struct {
	Spec, ID    string
	Name        string // in words, as the newest job has it
	Unit        string // UCUM code, as the newest job has it
	Derived     bool
	Readings    int
	First, Last time.Time
	Instruments []Count // that were named, sorted by name
	Unnamed     int     // readings without an instrument's name
}

// Count is how many readings an instrument took.
type Count struct {
	Name     string
	Readings int
}

// FilterError says what is wrong with a filter.
type FilterError struct {
	Field string // as it stands in an address: "callout"
	Wrong string
	Do    string
}

func (e *FilterError) Error() string { return e.Field + ": " + e.Wrong + "; " + e.Do }

// ManyError says that a question has more readings than one answer holds.
type ManyError struct{ Most int }

func (e *ManyError) Error() string { return e.Wrong() + "; " + e.Do() }

// Wrong says what is wrong.
func (e *ManyError) Wrong() string {
	return fmt.Sprintf("there are more than %d such readings", e.Most)
}

// Do says what would help.
func (e *ManyError) Do() string { return "choose one callout, one place or a shorter time" }

// maxName is how long a name in a filter may be, in letters.
const maxName = 200

// Check returns a *FilterError for a filter that can mean nothing, or nil.
func (f Filter) Check() error {
	for _, x := range []struct{ field, text string }{
		{"spec", f.Spec}, {"callout", f.Callout}, {"place", string(f.Place)}, {"instrument", f.Instrument}, {"person", f.Person},
	} {
		if !utf8.ValidString(x.text) || strings.ContainsFunc(x.text, unicode.IsControl) {
			return &FilterError{x.field, "it holds what is no text", "write it in letters and digits"}
		}
		if utf8.RuneCountInString(x.text) > maxName {
			return &FilterError{x.field, fmt.Sprintf("it is longer than %d letters", maxName), "give a name as the record has it"}
		}
	}
	switch {
	case f.Callout != "" && f.Spec == "":
		return &FilterError{"callout", "a callout belongs to a spec, and none is chosen", "give the spec as well"}
	case f.Place != "" && f.Callout == "":
		return &FilterError{"place", "a place belongs to a callout, and none is chosen", "give the callout as well"}
	case !f.From.IsZero() && !f.To.IsZero() && !f.From.Before(f.To):
		return &FilterError{"to", "the time ends before it begins", "give a day that is not before the first"}
	}
	return checkPlace(f.Place)
}

func checkPlace(p parse.Place) error {
	seen := map[string]bool{}
	for _, x := range p.Indexes() {
		if x.Axis == "" || x.Value == "" || seen[x.Axis] {
			return &FilterError{"place", fmt.Sprintf("%q is no place", string(p)), "write each axis once with its value: stage=3, or rod=2,pass=1"}
		}
		seen[x.Axis] = true
	}
	return nil
}

// fits reports whether a reading passes the filter.
func (f Filter) fits(r *Reading) bool {
	if f.Callout != "" && r.Callout != f.Callout || f.Instrument != "" && r.Instrument != f.Instrument || f.Person != "" && r.Person != f.Person {
		return false
	}
	if r.When.Before(f.From) || !f.To.IsZero() && !r.When.Before(f.To) {
		return false
	}
	for _, x := range f.Place.Indexes() {
		if r.At.On(x.Axis) != x.Value {
			return false
		}
	}
	return true
}
