// Package rules folds utterances into the state of a job and says what is wrong with
// it. It is pure: the same spec, options and utterances always give the same state and
// findings, and nothing here reads a clock, a file or a network.
//
// Start reading at [Job.Fold]. Each rule kind is one file named after its id (limit.go,
// spread.go ...); [Rule] is what they have in common. Package rules/spec makes a [Spec]
// from a file.
package rules

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"readback/parse"
	"readback/parse/number"
)

// Job is one unit being built: what was read and marked so far, and what the rules say
// of it. It is not safe for use by several goroutines at once.
type Job struct {
	spec    *Spec
	options map[string]string
	shop    *Shop   // nil where there is no register
	day     string  // of the notes being folded, as 2026-11-25
	list    []*live // callouts of this job, in the order of the spec
	byID    map[string]*live
	owed    []parse.Target // all that is called for, in the order of the work
	done    []bool         // of owed: whether it stands
	owedAt  map[parse.Target]int

	readings  map[parse.Target]*kept
	marks     map[parse.Target]*marked
	voided    map[parse.Target]bool // taken, and made worthless since
	asks      []ask                 // asked back and not answered
	taken     map[string]parse.Taken
	last      parse.Target   // of the last reading
	made      []parse.Target // readings and marks in the order in which they were made
	cautioned []int          // cautions of the spec that were given
	opening   string         // the caution before the first step
	raised    *Finding       // the last finding that is more than a question

	reads    [][]string         // what each rule of the spec looks at
	standing map[Rule][]Finding // what each rule says now
	memory   map[Rule]memory    // what a rule that looks at the order of work remembers

	decisions []*decided // what was decided of findings, in the order in which it was

	notes   int
	fresh   []parse.Target  // recorded by the note being folded, in order
	gone    []parse.Target  // withdrawn or voided by it
	changed map[string]bool // callouts that it touched
}

// kept is a reading that stands.
type kept struct {
	claim   parse.Claim // with its unit filled in
	verdict Verdict
	at      *parse.Taken // the temperature that it was corrected from, of another reading; nil for its own or none
	note    int          // counts notes from 1
	with    string       // the instrument, "" where none was named
	day     string       // as 2026-11-25, "" where it is not known
}

// marked is a mark that stands.
type marked struct {
	is   string
	note int
}

// ask is a question that was put back to the technician.
type ask struct {
	finding  Finding
	target   parse.Target
	value    number.Value
	homeless bool
	typed    bool // what a gauge sent is of nothing, or no number: its next number that lands closes it
	mark     bool // it is about a mark: the mark said whole closes it
}

// NewJob opens a job. Options that are not set take their defaults. The error names
// the option and says what it may be.
func NewJob(s *Spec, set map[string]string) (*Job, error) {
	options, err := s.settle(set)
	if err != nil {
		return nil, err
	}
	j := &Job{
		spec: s, options: options, byID: map[string]*live{},
		readings: map[parse.Target]*kept{}, marks: map[parse.Target]*marked{}, voided: map[parse.Target]bool{},
		taken: map[string]parse.Taken{}, standing: map[Rule][]Finding{}, memory: map[Rule]memory{}, changed: map[string]bool{},
	}
	for i := range s.Callouts {
		if l := settle(&s.Callouts[i], options); l != nil {
			j.list = append(j.list, l)
			j.byID[l.ID] = l
		}
	}
	j.owed = j.workOrder()
	j.done, j.owedAt = make([]bool, len(j.owed)), make(map[parse.Target]int, len(j.owed))
	for i, t := range j.owed {
		j.owedAt[t] = i
	}
	for _, r := range s.Rules {
		j.reads = append(j.reads, r.Reads())
	}
	j.opening = j.caution(j.next())
	return j, nil
}

// OpeningCaution returns the warning that is due before the first step, "" for none. Those of
// later steps come with the answers ([Answer].Caution).
func (j *Job) OpeningCaution() string { return j.opening }

// Equip gives the job the register of its shop. It is meant to be called before the first
// note.
func (j *Job) Equip(s *Shop) { j.shop = s }

// Shop returns the register of the job, nil for none.
func (j *Job) Shop() *Shop { return j.shop }

// Lacks reports whether the shop has a register, and no instrument of that name is in it.
func (j *Job) Lacks(instrument string) bool { return j.shop != nil && j.shop.find(instrument) == nil }

// Today says on which day the notes that follow are said, as 2026-11-25: instruments are
// held to their calibration. Without it none is overdue.
func (j *Job) Today(day string) { j.day = day }

// settle checks the options that were set and fills in defaults.
func (s *Spec) settle(set map[string]string) (map[string]string, error) {
	out := map[string]string{}
	for _, o := range s.Options {
		value, ok := set[o.Name]
		if !ok {
			value = o.Default
		}
		if value == "" {
			return nil, fmt.Errorf("option %s is not set and has no default; set it to %s", o.Name, o.allowed())
		}
		if !o.takes(value) {
			return nil, fmt.Errorf("option %s cannot be %q; it may be %s", o.Name, value, o.allowed())
		}
		out[o.Name] = value
	}
	for _, name := range slices.Sorted(maps.Keys(set)) {
		if _, ok := out[name]; !ok {
			return nil, fmt.Errorf("spec %s has no option %q; it has %s", s.ID, name, s.optionNames())
		}
	}
	return out, nil
}

func (s *Spec) optionNames() string {
	var names []string
	for _, o := range s.Options {
		names = append(names, o.Name)
	}
	if len(names) == 0 {
		return "none"
	}
	return strings.Join(names, ", ")
}

func (o Option) takes(value string) bool {
	if o.Values != nil {
		return slices.Contains(o.Values, value)
	}
	n, err := strconv.Atoi(value)
	return err == nil && strconv.Itoa(n) == value && n >= o.From && n <= o.To
}

func (o Option) allowed() string {
	if o.Values != nil {
		return strings.Join(o.Values, " or ")
	}
	return fmt.Sprintf("a whole number from %d to %d", o.From, o.To)
}

// Spec returns the spec of the job.
func (j *Job) Spec() *Spec { return j.spec }

// Options returns the options of the job, defaults filled in.
func (j *Job) Options() map[string]string { return maps.Clone(j.options) }

// Words returns the names and axes of the job, for [parse.NewVocabulary].
func (j *Job) Words() parse.Words {
	var w parse.Words
	for _, l := range j.list {
		w.Names = append(w.Names, parse.Name{
			Callout: l.ID, Kind: l.Kind, Say: spoken(l.Callout), Short: l.Short, Denied: l.Denied, Family: l.Family, Axes: l.axes,
			Unit: l.Unit, Choices: l.Choices, Derived: l.Derived != nil, Takes: l.Takes,
		})
	}
	for _, a := range j.spec.Axes {
		w.Axes = append(w.Axes, parse.Axis{ID: a.ID, Say: a.Say, Values: j.axisValues(a)})
	}
	return w
}

func spoken(c *Callout) []string {
	if c.Many == "" || slices.Contains(c.Say, c.Many) {
		return c.Say
	}
	return append(slices.Clone(c.Say), c.Many)
}

// axisValues returns the widest run of places that any callout has on an axis.
func (j *Job) axisValues(a Axis) []parse.AxisValue {
	if len(a.Values) > 0 {
		return a.Values
	}
	var widest []string
	for _, l := range j.list {
		for _, along := range l.At {
			if v := along.values(j.options); along.Axis == a.ID && len(v) > len(widest) {
				widest = v
			}
		}
	}
	out := make([]parse.AxisValue, len(widest))
	for i, v := range widest {
		out[i] = parse.AxisValue{Value: v}
	}
	return out
}

// memory is what a rule that looks at the order of work remembers.
type memory interface {
	copied() memory // which shares nothing with it
}

// copied returns the job as it is now, which marks that are made later do not change. What is kept of
// a reading is not written to again, so that the two may share it.
func (j *Job) copied() *Job {
	c := *j
	c.done = slices.Clone(j.done)
	c.readings, c.marks, c.voided, c.taken = maps.Clone(j.readings), maps.Clone(j.marks), maps.Clone(j.voided), maps.Clone(j.taken)
	c.changed, c.standing = maps.Clone(j.changed), maps.Clone(j.standing)
	c.asks, c.made, c.fresh, c.gone = slices.Clone(j.asks), slices.Clone(j.made), slices.Clone(j.fresh), slices.Clone(j.gone)
	c.memory = make(map[Rule]memory, len(j.memory))
	for r, m := range j.memory {
		c.memory[r] = m.copied()
	}
	c.decisions = make([]*decided, len(j.decisions))
	for i, d := range j.decisions {
		one := *d
		c.decisions[i] = &one
	}
	return &c
}
