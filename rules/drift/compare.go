package drift

import (
	"fmt"
	"maps"
	"slices"
	"time"
)

// Measured is one reading for [Compare].
type Measured struct {
	// Group is what readings must share to be compared: a callout, with its place where
	// places differ by themselves.
	Group      string
	Instrument string  // "" where none was named
	Off        float64 // in the basis of the comparison
	When       time.Time
}

func (m Measured) check() error {
	switch {
	case !sound(m.Off):
		return &Error{
			NotANumber, fmt.Sprintf("a reading of %s by %s is %v, which is no reading", m.Group, m.Instrument, m.Off),
			"leave it out or take it again",
		}
	case m.When.IsZero():
		return badPlan(fmt.Sprintf("a reading of %s by %s has no time", m.Group, m.Instrument), "give each reading the time of its note")
	}
	return nil
}

// Comparison is one instrument against the others.
type Comparison struct {
	Instrument string
	Basis      Basis
	All        Difference // over all its readings that compare
	Since      *Since     // nil where no start is seen
	Last       time.Time  // of its readings
	With       []string   // the other instruments, sorted
	Groups     []string   // what was compared, sorted
	LeftOut    int        // its readings of what no other instrument read
	Unnamed    int        // readings that name no instrument: left out, since they may be its own
	// Points are its readings in order of time, each less the mean of the others in its group.
	Points   []Point
	Cautions []string // what weakens the comparison, each in a sentence
}

// Point is a reading against the others.
type Point struct {
	Off  float64 // in the basis
	When time.Time
}

// Since is where a difference seems to have begun.
type Since struct {
	Index      int       // of Points
	When       time.Time // of that reading
	Crossed    time.Time // when the sum of what it was off crossed its threshold: the first that anybody could know
	Difference           // of its readings from then on against those of the others from then on
}

// Compare returns how the readings of one instrument differ from those of all others of the
// same groups, at a confidence level such as 0.95. Readings come in any order; what no
// other instrument read is left out and counted, and so is what names no instrument.
//
// The difference is the mean over the instrument's readings of each one less the mean of
// the others in its group, so that a callout which runs low by itself is not laid at the
// door of the wrench that mostly does it. Each side varies in its own way, and within a
// side alike in all groups: with one group it is [Welch]'s. Readings must be independent;
// those taken in a row on one job are less so than the interval says.
//
// Since is a simple change point: the start of a [CUSUM] of the points about 0 that
// crossed its threshold (slack 0.5, threshold 5) and is over it at the end, while an
// [EWMA] (weight 0.2) is outside its limits there too. It is sought in eight points and
// more. Having been chosen from the same readings, its interval is somewhat
// narrower than it should be. After a calibration, begin anew: leave out what was before.
//
// Where one of few instruments is far off, the others seem off the other way: look at the
// one with the largest difference first, and compare the others without its readings.
//
// An error is an [*Error].
func Compare(readings []Measured, instrument string, basis Basis, level float64) (Comparison, error) {
	if err := checkLevel(level); err != nil {
		return Comparison{}, err
	}
	if len(readings) > MaxReadings {
		return Comparison{}, tooMany(len(readings))
	}
	if instrument == "" {
		return Comparison{}, badPlan("no instrument is named", "name the one to be compared")
	}
	sorted := make([]Measured, 0, len(readings))
	unnamed := 0
	for _, r := range readings {
		if err := r.check(); err != nil {
			return Comparison{}, err
		}
		if r.Instrument == "" {
			unnamed++
			continue
		}
		sorted = append(sorted, r)
	}
	slices.SortStableFunc(sorted, func(a, b Measured) int { return a.When.Compare(b.When) })
	s := split(sorted, instrument)
	c := Comparison{Instrument: instrument, Basis: basis, With: s.with, LeftOut: s.leftOut, Unnamed: unnamed}
	if len(s.mine) == 0 {
		return c, fewTo(instrument)
	}
	all, err := s.difference(level)
	if err != nil {
		return c, err
	}
	c.All, c.Last = all, s.mine[len(s.mine)-1].When
	c.Groups = slices.Sorted(maps.Keys(s.groups()))
	means := s.means()
	for _, r := range s.mine {
		c.Points = append(c.Points, Point{r.Off - means[r.Group].Mean, r.When})
	}
	c.Cautions = s.cautions(c)
	since, caution := c.start(s, level)
	c.Since = since
	if caution != "" {
		c.Cautions = append(c.Cautions, caution)
	}
	return c, nil
}

func fewTo(instrument string) error {
	return &Error{
		Few, fmt.Sprintf("no reading by %s is of anything that another instrument read as well", instrument),
		"wait for more jobs, or choose a longer time",
	}
}

func (s sides) cautions(c Comparison) (out []string) {
	if len(c.With) == 1 {
		out = append(out, fmt.Sprintf("There is only %s to compare with: which of the two is off is not known.", c.With[0]))
	}
	if c.All.N < leastForChange {
		out = append(out, fmt.Sprintf("A small sample: %s.", counted(c.All.N)))
	}
	if c.LeftOut > 0 {
		out = append(out, fmt.Sprintf("%s of what no other instrument read: left out.", counted(c.LeftOut)))
	}
	if c.Unnamed > 0 {
		out = append(out, fmt.Sprintf("%s without an instrument's name: left out.", counted(c.Unnamed)))
	}
	offs := offsOf(c.Points)
	if f := follow(offs, summarise(offs)); f != "" {
		out = append(out, f)
	}
	return out
}

func offsOf(points []Point) []float64 {
	out := make([]float64, len(points))
	for i, p := range points {
		out[i] = p.Off
	}
	return out
}
