package trend

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"readback/capture/query"
	"readback/rules/decide"
	"readback/rules/drift"
	"readback/rules/say"
)

// mostCompared is how many instruments are compared, those with most readings.
const mostCompared = 40

// Finding is what is to be said of an instrument.
type Finding struct {
	Instrument string
	Text       string            // in a sentence
	Comparison *drift.Comparison // nil where none could be made: Text says why
	Shown      bool              // it reads otherwise than the others
}

// compare sets each instrument against the others. The one that is farthest off comes
// first, and the others are compared without its readings: beside a wrench that reads low
// the good ones seem to read high.
func (r *Report) compare() {
	basis, readings := r.measured()
	names := instruments(readings)
	if r.Instrument != "" && !slices.Contains(names, r.Instrument) {
		r.Missing = append(r.Missing, fmt.Sprintf("%s has no reading here that compares.", say.Cap(r.Instrument)))
		return
	}
	if len(names) < 2 {
		r.Missing = append(r.Missing, lacking(names))
		return
	}
	if n := len(names) - mostCompared; n > 0 {
		r.Cautions = append(r.Cautions, fmt.Sprintf("%s with the fewest readings %s not compared.", counted(n, "instrument"), isOr(n)))
		names = names[:mostCompared]
	}
	each := drift.Together(level, len(names))
	all := findings(readings, names, basis, each)
	if r.Instrument != "" {
		all = slices.DeleteFunc(all, func(f Finding) bool { return f.Instrument != r.Instrument })
	}
	r.Instruments = all
	r.Cautions = append(r.Cautions, fmt.Sprintf("%s compared, each at %s %% confidence, so that all of them together hold with %g %%.",
		counted(len(names), "instrument"), strings.TrimRight(strings.TrimRight(fmt.Sprintf("%.2f", each*100), "0"), "."), level*100))
	if basis != drift.OfNominal && basis != drift.OfWidth {
		r.Cautions = append(r.Cautions, "Without limits the readings of different jobs may differ by themselves: an instrument that measured other jobs than the rest seems off.")
	}
}

func lacking(names []string) string {
	if len(names) == 1 {
		return fmt.Sprintf("There is no comparison by instrument: only %s was named.", names[0])
	}
	return "There is no comparison by instrument: no reading here that compares names one."
}

// findings compares every instrument with the others.
func findings(readings []drift.Measured, names []string, basis drift.Basis, each float64) (out []Finding) {
	left := slices.Clone(names)
	for len(left) > 0 {
		now, farthest := compareAll(readings, left, basis, each)
		if farthest < 0 || len(left) == 1 {
			return append(out, now...)
		}
		out = append(out, now[farthest])
		name := now[farthest].Instrument
		readings = slices.DeleteFunc(slices.Clone(readings), func(m drift.Measured) bool { return m.Instrument == name })
		left = slices.DeleteFunc(left, func(n string) bool { return n == name })
		if len(left) == 1 {
			return append(out, Finding{Instrument: left[0], Text: fmt.Sprintf("%s: no other is left to compare it with.", say.Cap(left[0]))})
		}
	}
	return out
}

// compareAll returns a finding for each name, and which of them is off by most; -1 for none.
func compareAll(readings []drift.Measured, names []string, basis drift.Basis, each float64) (out []Finding, farthest int) {
	farthest = -1
	most := 0.0
	for i, name := range names {
		c, err := drift.Compare(readings, name, basis, each)
		if err != nil {
			out = append(out, Finding{Instrument: name, Text: why(name, err)})
			continue
		}
		d := c.All
		if c.Since != nil {
			d = c.Since.Difference
		}
		out = append(out, Finding{Instrument: name, Text: c.Text(name), Comparison: &c, Shown: d.Shown()})
		if d.Shown() && math.Abs(d.Value) > most {
			farthest, most = i, math.Abs(d.Value)
		}
	}
	return out, farthest
}

func why(name string, err error) string {
	if e, ok := errors.AsType[*drift.Error](err); ok {
		return fmt.Sprintf("%s cannot be compared: %s; %s.", say.Cap(name), e.Wrong, e.Do)
	}
	return say.Cap(name) + " cannot be compared."
}

// instruments lists those that were named, that with most readings first.
func instruments(readings []drift.Measured) []string {
	times := map[string]int{}
	for _, m := range readings {
		if m.Instrument != "" {
			times[m.Instrument]++
		}
	}
	names := make([]string, 0, len(times))
	for name := range times {
		names = append(names, name)
	}
	slices.SortFunc(names, func(a, b string) int {
		if times[a] != times[b] {
			return times[b] - times[a]
		}
		return strings.Compare(a, b)
	})
	return names
}

// measured returns the readings that compare, and in what: in per cent of the nominal where
// there is one, else in per cent of the width of the limits, else, of a single callout, in
// its unit. What has other limits is another group.
func (r *Report) measured() (drift.Basis, []drift.Measured) {
	for _, basis := range []drift.Basis{drift.OfNominal, drift.OfWidth} {
		var out []drift.Measured
		for i := range r.All {
			x := &r.All[i]
			if off, ok := offOf(x, basis); ok && r.compares(x) {
				out = append(out, measuredOf(x, off))
			}
		}
		if len(out) > 0 {
			return basis, out
		}
	}
	if r.Callout == "" {
		return drift.OfWidth, nil
	}
	unit := r.All[len(r.All)-1].Unit
	if len(r.Charted) > 0 {
		unit = r.Charted[0].Unit
	}
	var out []drift.Measured
	for i := range r.All {
		if x := &r.All[i]; x.Unit == unit && r.compares(x) {
			out = append(out, measuredOf(x, x.Judged))
		}
	}
	return drift.Basis(say.Symbol(unit)), out
}

// compares reports whether a reading says something about its instrument. What is computed
// from others would count them twice.
func (r *Report) compares(x *query.Reading) bool {
	return x.How != query.HowSet && !x.AsRead && (!x.Derived || r.Callout != "")
}

func measuredOf(x *query.Reading, off float64) drift.Measured {
	g := groupOf(x)
	group := x.Name + ", " + words(g)
	return drift.Measured{Group: group, Instrument: x.Instrument, Off: off, When: x.When}
}

func offOf(x *query.Reading, basis drift.Basis) (float64, bool) {
	l := x.Limits
	var off float64
	var err error
	if basis == drift.OfNominal {
		if l.Nominal == nil {
			return 0, false
		}
		off, err = drift.OffNominal(x.Judged, end(l.Nominal))
	} else {
		off, err = drift.OffMiddle(x.Judged, decide.Limits{Min: end(l.Min), Max: end(l.Max)})
	}
	return off, err == nil
}
