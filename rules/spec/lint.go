package spec

import (
	"maps"
	"slices"
	"strconv"
	"strings"

	"readback/parse"
	"readback/rules"
)

// Lint returns all that is wrong with a spec, in the order of the places: the faults for
// which [Load] refuses it, and what is legal and cannot be meant, such as a name that
// nobody can tell from another, or limits that no reading can meet. It is nil for a clean
// one.
func Lint(file string, src []byte) Errors {
	l := read(file, src)
	if len(l.spec.Callouts) > 0 && !l.nameless && !l.tooMany {
		c := &linter{loader: l, told: map[string]bool{}}
		c.open()
		c.names()
		c.limitsMeet()
		c.divisors()
		c.options()
		c.ruleKinds()
		c.orders()
	}
	if len(l.faults) == 0 {
		return nil
	}
	return l.faults.sorted()
}

// linter looks for what is legal and wrong. It takes what the loader could read, which
// may be a part of the file.
type linter struct {
	*loader
	jobs []job
	told map[string]bool // callouts that cannot be told from another
}

// job is the spec with options set in one way.
type job struct {
	set map[string]string
	*rules.Job
}

// maxJobs bounds in how many ways the options are tried.
const maxJobs = 60

// open tries the options: all at their defaults, then each in turn at its other values,
// of a whole number at its smallest, its largest and those beside them.
func (c *linter) open() {
	usual := map[string]string{}
	for _, o := range c.spec.Options {
		if usual[o.Name] = o.Default; o.Default == "" {
			if v := tried(o); len(v) > 0 {
				usual[o.Name] = v[0]
			}
		}
	}
	c.try(usual)
	for _, o := range c.spec.Options {
		if len(c.usesOf(o)) == 0 {
			continue
		}
		for _, v := range tried(o) {
			if v != usual[o.Name] && len(c.jobs) < maxJobs {
				set := maps.Clone(usual)
				set[o.Name] = v
				c.try(set)
			}
		}
	}
}

func (c *linter) try(set map[string]string) {
	if j, err := rules.NewJob(c.spec, set); err == nil { // else the loader has said what is wrong
		c.jobs = append(c.jobs, job{set, j})
	}
}

// tried lists the values at which an option is tried.
func tried(o rules.Option) []string {
	if o.Values != nil {
		return o.Values
	}
	var out []string
	for _, n := range []int{o.From, o.From + 1, o.To - 1, o.To} {
		if text := strconv.Itoa(n); n >= o.From && n <= o.To && !slices.Contains(out, text) {
			out = append(out, text)
		}
	}
	return out
}

// with says with which options something is so: "with stages 5".
func (c *linter) with(j job) string {
	var parts []string
	for _, o := range c.spec.Options {
		if v := j.set[o.Name]; len(c.jobs) > 0 && v != c.jobs[0].set[o.Name] {
			parts = append(parts, o.Name+" "+v)
		}
	}
	if len(parts) == 0 {
		return ""
	}
	return " with " + strings.Join(parts, ", ")
}

// called reports whether a callout has a condition that options can meet.
func (c *linter) called(o *rules.Callout) bool {
	return !slices.ContainsFunc(o.When, func(w rules.Condition) bool {
		option := c.optionNamed(w.Option)
		return option != nil && !takes(option, w.Is)
	})
}

// together reports whether two callouts can be called for in one job.
func together(a, b *rules.Callout) bool {
	for _, x := range a.When {
		for _, y := range b.When {
			if x.Option == y.Option && x.Is != y.Is {
				return false
			}
		}
	}
	return true
}

func takes(o *rules.Option, value string) bool {
	if o.Values != nil {
		return slices.Contains(o.Values, value)
	}
	n, err := strconv.Atoi(value)
	return err == nil && n >= o.From && n <= o.To
}

// places lists the values that a callout can have on an axis, with the options at their
// widest; ok is false where it has no such axis.
func (c *linter) places(o *rules.Callout, axis string) (values []string, ok bool) {
	for _, a := range o.At {
		if a.Axis != axis {
			continue
		}
		if a.Values != nil {
			return a.Values, true
		}
		for n := c.smallest(a.From); n <= c.largest(a.To); n++ {
			values = append(values, strconv.Itoa(n))
		}
		return values, true
	}
	return nil, false
}

// at returns the node of a key of a callout.
func (c *linter) at(o *rules.Callout, key string) val { return c.loader.where[o.ID].member(key) }

// said returns all forms in which a callout is spoken.
func said(o *rules.Callout) []string {
	if o.Many == "" {
		return o.Say
	}
	return append(slices.Clone(o.Say), o.Many)
}

// plainName returns an id as words.
func plainName(id string) string { return strings.ReplaceAll(id, "_", " ") }

// isReading reports whether a callout is read at the bench.
func isReading(o *rules.Callout) bool { return o.Kind == parse.Reading && o.Derived == nil }
