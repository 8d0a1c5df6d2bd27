package rules

import (
	"slices"
	"strings"

	"readback/parse/number"
	"readback/parse/unit"
	"readback/rules/say"
)

// Shop is the register of a shop: what may be measured with, and the units to show. Package readback/rules/spec
// makes one from a file. A Shop is read-only and may be shared by many jobs.
type Shop struct {
	Name        string
	Instruments []Instrument
	Show        []string // UCUM codes, at most two of a dimension: a value in one is shown in the other too
}

// Instrument is one row of the register.
type Instrument struct {
	Say      []string // as [parse.InstrumentName] returns it: "wrench 7"; the first is shown
	Unit     string   // UCUM code of what it measures
	Range    Range    // in Unit, ends included
	Accuracy Accuracy
	Step     *number.Value // the smallest step of its scale or display, in Unit; nil where not known
	Types    string        // UCUM code of the numbers that it types by a keyboard output; "" where it types none
	Until    string        // the last day of its calibration, as 2027-03-31; "" where there is none
}

// Accuracy is how far an instrument may be off either way.
type Accuracy struct {
	Value   *number.Value // nil where not known: then nothing is said of uncertainty
	Percent bool          // Value is per cent of the reading, else in the instrument's unit
}

// Find returns the instrument that a reading names, nil where the register does not have it.
func (s *Shop) Find(name string) *Instrument { return s.find(name) }

// Reaches writes what an instrument measures, as shown: "10 to 100 N·m".
func (i *Instrument) Reaches() string { return rangeShown(i) }

// Within writes how far an instrument may be off either way, as shown: "0.02 mm", "4 % of the reading"; "" where
// that is not known.
func (i *Instrument) Within() string {
	switch a := i.Accuracy; {
	case a.Value == nil:
		return ""
	case a.Percent:
		return a.Value.String() + " % of the reading"
	default:
		return say.Shown(*a.Value, i.Unit)
	}
}

// find returns the instrument of that name: "torque wrench 7" is found as "wrench 7" too.
func (s *Shop) find(name string) *Instrument {
	for _, said := range []string{name, lastWords(name)} {
		for i := range s.Instruments {
			if slices.Contains(s.Instruments[i].Say, said) {
				return &s.Instruments[i]
			}
		}
	}
	return nil
}

// beside returns the unit in which a value of that unit is shown too, "" for none.
func (s *Shop) beside(code string) string {
	of, ok := unit.Lookup(code)
	if s == nil || !ok {
		return ""
	}
	other, listed := "", false
	for _, c := range s.Show {
		switch u, ok := unit.Lookup(c); {
		case !ok || u.Dimension != of.Dimension:
		case u.Code == of.Code:
			listed = true
		default:
			other = u.Code
		}
	}
	if !listed {
		return ""
	}
	return other
}

// lastWords returns the last word of a tool's name with its number.
func lastWords(name string) string {
	f := strings.Fields(name)
	return strings.Join(f[max(0, len(f)-2):], " ")
}
