package spec

import (
	"bytes"
	"fmt"
	"slices"
	"strconv"

	"readback/rules"
)

// The bounds of a file. A spec of a few hundred callouts is well inside; what is not would
// take the parser of the YAML, or a job, minutes and gigabytes.
const (
	MaxSize   = 1 << 20 // in bytes
	MaxMarks  = 15_000  // colons, commas, brackets, dashes and such
	MaxDepth  = 40      // lists and mappings inside each other
	MaxPlaces = 10_000  // of all callouts together, with each option at its largest
)

// heavy finds what makes a file too much to parse: the place, and what is wrong. It knows
// no quotes and no comments, so that it counts too much rather than too little.
func heavy(src []byte) (line, column int, wrong string) {
	marks, depth := 0, 0
	for i, text := range bytes.Split(src, []byte("\n")) {
		begins := 0 // "- - -" and "? ? ?" nest on one line
		start := true
		for at, c := range text {
			last := at+1 == len(text) || text[at+1] == ' ' || text[at+1] == '\r'
			switch c {
			case '[', '{':
				depth++
				marks++
			case ']', '}':
				depth = max(0, depth-1)
			case ',', '&', '*', '!':
				marks++
			case ':':
				if last {
					marks++
				}
			case '-', '?':
				if start && last {
					begins++
					marks++
				}
			}
			start = start && (c == ' ' || c == '-' || c == '?' || c == '!' || c == '&')
			switch {
			case depth+begins > MaxDepth:
				return i + 1, at + 1, fmt.Sprintf("lists and mappings stand inside each other more than %d deep", MaxDepth)
			case marks > MaxMarks:
				return i + 1, at + 1, fmt.Sprintf("the file holds more than %d keys and values", MaxMarks)
			}
		}
	}
	return 0, 0, ""
}

// countPlaces adds up the places of the callouts, and complains once there are too many.
func (l *loader) countPlaces() {
	sum := 0
	for i := range l.spec.Callouts {
		c := &l.spec.Callouts[i]
		places := 1
		for _, a := range c.At {
			places = min(places*max(1, l.most(a)), MaxPlaces+1)
		}
		if sum += places; sum > MaxPlaces {
			l.tooMany = true
			l.where[c.ID].member("at").fail(fmt.Sprintf("with callout %s the spec calls for more than %d places", c.ID, MaxPlaces), "keep the axes and the options to what a unit can have")
			return
		}
	}
}

// most returns how many places an axis has at most.
func (l *loader) most(a rules.Along) int {
	if a.Values != nil {
		return len(a.Values)
	}
	return l.largest(a.To) - l.smallest(a.From) + 1
}

func (l *loader) largest(c rules.Count) int { return slices.Max(l.numbers(c)) }

func (l *loader) smallest(c rules.Count) int { return slices.Min(l.numbers(c)) }

// numbers lists what a count can be, at least one number.
func (l *loader) numbers(c rules.Count) []int {
	if o := l.optionNamed(c.Option); o != nil && c.Option != "" {
		if n := wholes(*o); len(n) > 0 {
			return n
		}
	}
	return []int{c.N}
}

// wholes lists the whole numbers that an option can be; none for one that has other
// values.
func wholes(o rules.Option) (out []int) {
	for _, v := range o.Values {
		n, err := strconv.Atoi(v)
		if err != nil || n < 0 || n > maxWhole || strconv.Itoa(n) != v {
			return nil
		}
		out = append(out, n)
	}
	for n := o.From; o.Values == nil && n <= o.To; n++ {
		out = append(out, n)
	}
	return out
}

// optionNamed returns an option, nil where there is none of that name.
func (l *loader) optionNamed(name string) *rules.Option {
	for i := range l.spec.Options {
		if l.spec.Options[i].Name == name {
			return &l.spec.Options[i]
		}
	}
	return nil
}
