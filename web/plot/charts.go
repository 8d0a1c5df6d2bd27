package plot

import (
	"fmt"
	"html/template"
	"maps"
	"math"
	"slices"
	"strings"

	"readback/rules/drift"
)

// Individuals draws the readings with their limits over their moving ranges, and tells of
// the rules that fired. A square is round a reading beyond the limits, a diamond round one
// of another signal. An error means a chart without readings.
func Individuals(c drift.Individuals, l Labels) (template.HTML, error) {
	if len(c.Values) < 2 {
		return "", errEmpty
	}
	d := &drawing{Title: l.Title, Height: 510}
	d.heading(l.Title)
	p := panel{drawing: d, top: 56, height: 230, n: len(c.Values)}
	p.y = over(slices.Min(c.Values), slices.Max(c.Values), c.Lower, c.Upper)
	p.axes("Readings" + in(l.Unit))
	p.rule(c.Upper, dashed, "upper limit "+l.number(c.Upper))
	p.rule(c.Centre, solid, "centre "+l.number(c.Centre))
	p.rule(c.Lower, dashed, "lower limit "+l.number(c.Lower))
	p.settle()
	p.baseEnd(c.Base)
	p.series(c.Values, 0, thin, solid)
	unmarked := p.points(c, l)
	p.names(l)

	r := panel{drawing: d, top: 346, height: 110, n: len(c.Values)}
	r.y = over(0, slices.Max(c.Ranges), c.RangeUpper)
	r.y.low = 0
	r.axes("Moving ranges" + in(l.Unit))
	r.rule(c.RangeUpper, dashed, "upper limit "+l.number(c.RangeUpper))
	r.rule(c.MeanRange, solid, "mean "+l.number(c.MeanRange))
	r.settle()
	ranges := append([]float64{0}, c.Ranges...) // each is drawn at the later of its readings
	r.series(ranges, 1, thin, solid)
	for _, wide := range worst(c.WideRanges, r.n, func(i int) float64 { return ranges[i] }) {
		r.square(r.across(wide), r.up(ranges[wide]), fmt.Sprintf("range to %s: %s, beyond the limit", l.name(wide), l.number(ranges[wide])))
	}
	r.names(l)

	said := told(c, l)
	if unmarked > 0 {
		said = append(said, fmt.Sprintf("%d more readings of signals have no mark.", unmarked))
	}
	d.Desc = strings.Join(append([]string{fmt.Sprintf("Individuals and moving ranges of %d readings%s: centre %s, limits %s and %s.",
		len(c.Values), in(l.Unit), l.number(c.Centre), l.number(c.Lower), l.number(c.Upper))}, said...), " ")
	d.below(said...)
	return d.render()
}

// in returns ", in N·m"; nothing where there is no unit.
func in(unit string) string {
	if unit == "" {
		return ""
	}
	return ", in " + unit
}

// heading writes the title over everything.
func (d *drawing) heading(title string) {
	d.Texts = append(d.Texts, text{at(left), at(22), "start", "16", short(clean(title), 80)})
}

// baseEnd shows which readings the limits come from.
func (p *panel) baseEnd(base int) {
	if base < p.n {
		x := (p.across(base-1) + p.across(base)) / 2
		p.line(x, p.top, x, p.top+p.height, thin, dotted)
		p.text(x-4, p.top-8, "end", "limits from these")
		p.text(x+4, p.top-8, "start", "judged by them")
	}
}

// points draws the readings and the signals on them. It returns how many of those had no
// room for a mark.
func (p *panel) points(c drift.Individuals, l Labels) (unmarked int) {
	why := map[int][]string{}
	beyond := map[int]bool{}
	for _, s := range c.Signals {
		for _, i := range s.Points {
			why[i] = append(why[i], string(s.Rule))
			beyond[i] = beyond[i] || s.Rule == drift.Beyond
		}
	}
	if len(c.Values) <= MostDrawn {
		for i, v := range c.Values {
			p.dot(p.across(i), p.up(v), l.name(i)+": "+l.number(v))
		}
	}
	marked := worst(slices.Sorted(maps.Keys(why)), len(c.Values), func(i int) float64 { return math.Abs(c.Values[i] - c.Centre) })
	for _, i := range marked {
		x, y := p.across(i), p.up(c.Values[i])
		title := l.name(i) + ": " + l.number(c.Values[i]) + ", " + strings.Join(why[i], "; ")
		if beyond[i] {
			p.square(x, y, title)
		} else {
			p.diamond(x, y, title)
		}
	}
	return len(why) - len(marked)
}

// told says which signals there are and what weakens the chart.
func told(c drift.Individuals, l Labels) (out []string) {
	if len(c.Signals) == 0 {
		out = append(out, fmt.Sprintf("No rule fired, by %s.", c.Set.Name))
	} else {
		out = append(out, fmt.Sprintf("Fired, by %s:", c.Set.Name))
	}
	if earlier := len(c.Signals) - MostTold; earlier > 0 {
		out = append(out, fmt.Sprintf("• %d earlier ones", earlier))
	}
	for _, s := range c.Signals[max(len(c.Signals)-MostTold, 0):] {
		out = append(out, "• "+short(s.Text(l.Name), 200))
	}
	if earlier := len(c.WideRanges) - MostTold; earlier > 0 {
		out = append(out, fmt.Sprintf("• %d earlier moving ranges beyond their limit", earlier))
	}
	for _, i := range c.WideRanges[max(len(c.WideRanges)-MostTold, 0):] {
		out = append(out, "• a moving range beyond its limit: "+l.name(i-1)+" to "+l.name(i))
	}
	return append(out, c.Cautions...)
}

// EWMA draws the averages with their exact limits, and up to [MostDrawn] readings as crosses
// behind them. A square is round an average outside its limits. An error means a chart without readings.
func EWMA(e drift.EWMA, l Labels) (template.HTML, error) {
	if len(e.Values) == 0 {
		return "", errEmpty
	}
	d := &drawing{Title: l.Title, Height: 350}
	d.heading(l.Title)
	p := panel{drawing: d, top: 56, height: 240, n: len(e.Values)}
	p.y = over(slices.Min(e.Averages), slices.Max(e.Averages), e.Lower, e.Upper)
	if len(e.Values) <= MostDrawn {
		p.y = over(p.y.low, p.y.high, slices.Min(e.Values), slices.Max(e.Values))
	}
	p.axes(fmt.Sprintf("Average of readings, the newest weighing %g%s", e.Lambda, in(l.Unit)))
	p.rule(e.Target, solid, "centre "+l.number(e.Target))
	p.labels = append(p.labels, beside{p.up(e.Upper), "upper limit " + l.number(e.Upper)}, beside{p.up(e.Lower), "lower limit " + l.number(e.Lower)})
	p.settle()
	lower, upper := make([]float64, len(e.Values)), make([]float64, len(e.Values))
	for i := range e.Values {
		lower[i], upper[i] = e.Limits(i)
	}
	p.series(lower, 0, thin, dashed)
	p.series(upper, 0, thin, dashed)
	p.series(e.Averages, 0, bold, solid)
	if len(e.Values) <= MostDrawn {
		for i, v := range e.Values {
			p.cross(p.across(i), p.up(v), l.name(i)+": "+l.number(v))
			p.dot(p.across(i), p.up(e.Averages[i]), "average after "+l.name(i)+": "+l.number(e.Averages[i]))
		}
	}
	for _, i := range worst(e.Outside, p.n, func(i int) float64 { return math.Abs(e.Averages[i] - e.Target) }) {
		p.square(p.across(i), p.up(e.Averages[i]), "average after "+l.name(i)+": "+l.number(e.Averages[i])+", outside the limits")
	}
	p.names(l)
	said := "No average is outside its limits."
	if n := len(e.Outside); n > 0 {
		said = fmt.Sprintf("Outside the limits after %d of %d readings, first after %s.", n, len(e.Values), l.name(e.Outside[0]))
	}
	d.Desc = fmt.Sprintf("Exponentially weighted moving average of %d readings%s: centre %s, limits in the end %s and %s. %s",
		len(e.Values), in(l.Unit), l.number(e.Target), l.number(e.Lower), l.number(e.Upper), said)
	d.below(said)
	if len(e.Values) <= MostDrawn {
		d.below("Dots are averages, crosses the readings themselves.")
	}
	return d.render()
}

// cross is a reading that stands behind what is shown.
func (d *drawing) cross(x, y float64, title string) {
	d.Marks = append(d.Marks, mark{fmt.Sprintf("M%s %sl5 5m0 -5l-5 5", at(x-2.5), at(y-2.5)), false, clean(title)})
}

// CUSUM draws the sums to both sides, that below upside down, with the line that neither
// should cross. An error means a chart without readings.
func CUSUM(c drift.CUSUM, l Labels) (template.HTML, error) {
	if len(c.Values) == 0 {
		return "", errEmpty
	}
	d := &drawing{Title: l.Title, Height: 350}
	d.heading(l.Title)
	p := panel{drawing: d, top: 56, height: 240, n: len(c.Values)}
	below := make([]float64, len(c.Below))
	for i, v := range c.Below {
		below[i] = 0 - v
	}
	p.y = over(slices.Max(c.Above), slices.Min(below), c.Line, -c.Line)
	p.axes("Sum of what is above the target, up, and below it, down" + in(l.Unit))
	p.rule(c.Line, dashed, "threshold "+l.number(c.Line))
	p.rule(0, solid, "0")
	p.rule(-c.Line, dashed, "threshold "+l.number(-c.Line))
	p.settle()
	p.series(c.Above, 0, bold, solid)
	p.series(below, 0, bold, dotted)
	var said []string
	if earlier := len(c.Shifts) - MostTold; earlier > 0 {
		said = append(said, fmt.Sprintf("%d earlier shifts have no mark.", earlier))
	}
	for _, s := range c.Shifts[max(len(c.Shifts)-MostTold, 0):] {
		y := c.Above[s.At]
		if s.Side == drift.Low {
			y = below[s.At]
		}
		words := fmt.Sprintf("Readings were %s, noticed at %s; it may have begun at %s.", s.Side, l.name(s.At), l.name(s.Since))
		p.square(p.across(s.At), p.up(y), words)
		said = append(said, words)
	}
	if len(said) == 0 {
		said = []string{"Neither sum crossed its threshold."}
	}
	p.names(l)
	d.Desc = fmt.Sprintf("Cumulated sums of %d readings%s about %s. %s", len(c.Values), in(l.Unit), l.number(c.Target), strings.Join(said, " "))
	d.below(said...)
	return d.render()
}

// Instruments draws a row for each comparison: a dot for the difference and a bar for its
// interval, about a line for no difference. Names are the rows' own; Labels.Name is not
// used. An error means no comparison.
func Instruments(all []drift.Comparison, l Labels) (template.HTML, error) {
	if len(all) == 0 {
		return "", errEmpty
	}
	const row, names = 30.0, 150.0
	shown := all[:min(len(all), MostRows)]
	d := &drawing{Title: l.Title, Height: 96 + row*float64(len(shown))}
	d.heading(l.Title)
	values := []float64{0}
	for _, c := range shown {
		v := latest(c)
		values = append(values, v.Lower, v.Upper)
	}
	x := over(values...)
	across := func(v float64) float64 { return names + (width-names-right)*(v-x.low)/(x.high-x.low) }
	top, bottom := 56.0, 56+row*float64(len(shown))
	d.text(names, top-12, "start", fmt.Sprintf("Difference from the others, %s", shown[0].Basis))
	d.line(names, bottom, width-right, bottom, thin, solid)
	d.line(across(0), top, across(0), bottom, thin, dashed)
	ticks := x.ticks()
	for _, v := range ticks {
		d.line(across(v), bottom, across(v), bottom+4, thin, solid)
		d.text(across(v), bottom+17, "middle", tick(v, ticks))
	}
	said := []string{}
	for i, c := range shown {
		y, v := top+row*(float64(i)+0.5), latest(c)
		d.text(names-8, y+4, "end", short(c.Instrument, 20))
		d.line(across(v.Lower), y, across(v.Upper), y, bold, solid)
		d.line(across(v.Lower), y-5, across(v.Lower), y+5, bold, solid)
		d.line(across(v.Upper), y-5, across(v.Upper), y+5, bold, solid)
		d.dot(across(v.Value), y, c.Text(c.Instrument))
		if v.Shown() {
			d.square(across(v.Value), y, c.Text(c.Instrument))
		}
		d.text(width-right+8, y+4, "start", fmt.Sprintf("%s (%d)", l.number(v.Value), v.N))
		said = append(said, c.Text(c.Instrument))
	}
	d.Desc = strings.Join(said, " ")
	notes := []string{"A square is round a difference that is shown; beside it the number of readings in brackets."}
	if left := len(all) - len(shown); left > 0 {
		notes = append(notes, fmt.Sprintf("and %d more.", left))
	}
	d.Height += 4
	d.below(notes...)
	return d.render()
}

// latest returns the difference that a comparison speaks of.
func latest(c drift.Comparison) drift.Difference {
	if c.Since != nil {
		return c.Since.Difference
	}
	return c.All
}

// Capability draws how often which readings came, with the limits as dashed lines. Labels.Name
// is not used. An error means that there are no readings, or that they never differ.
func Capability(c drift.Capability, values []float64, l Labels) (template.HTML, error) {
	if c.N < 2 || len(values) != c.N || !(c.Max > c.Min) {
		return "", errEmpty
	}
	// Sturges' number of classes: 1 + log2 n.
	classes := int(math.Ceil(1 + math.Log2(float64(c.N))))
	counts := make([]int, classes)
	for _, v := range values {
		counts[max(min(int(float64(classes)*((v-c.Min)/(c.Max-c.Min))), classes-1), 0)]++
	}
	ends := []float64{c.Min, c.Max}
	for _, end := range []float64{c.Limits.Min, c.Limits.Max} {
		if !math.IsNaN(end) {
			ends = append(ends, end)
		}
	}
	x := over(ends...)
	d := &drawing{Title: l.Title, Height: 350}
	d.heading(l.Title)
	p := panel{drawing: d, top: 72, height: 224, n: 1, y: span{0, float64(slices.Max(counts)) * 1.08}}
	across := func(v float64) float64 { return left + (width-left-right)*(v-x.low)/(x.high-x.low) }
	p.axes("")
	d.text(left, 44, "start", "Number of readings by their value"+in(l.Unit))
	for i, n := range counts {
		if n == 0 {
			continue
		}
		at0 := across(c.Min + (c.Max-c.Min)*float64(i)/float64(classes))
		at1 := across(c.Min + (c.Max-c.Min)*float64(i+1)/float64(classes))
		bar := fmt.Sprintf("M%s %sV%sH%sV%s", at(at0), at(p.up(0)), at(p.up(float64(n))), at(at1), at(p.up(0)))
		d.Paths = append(d.Paths, path{bar, bold, solid})
	}
	ticks := x.ticks()
	for _, v := range ticks {
		d.line(across(v), p.up(0), across(v), p.up(0)+4, thin, solid)
		d.text(across(v), p.up(0)+17, "middle", tick(v, ticks))
	}
	for i, end := range []float64{c.Limits.Min, c.Limits.Max} {
		if !math.IsNaN(end) {
			d.line(across(end), p.top, across(end), p.up(0), bold, dashed)
			d.text(across(end), p.top-6, "middle", []string{"at least ", "at most "}[i]+l.number(end))
		}
	}
	said := append([]string{c.Text()}, c.Cautions...)
	if c.Outside > 0 {
		said = append(said, fmt.Sprintf("%d of %d readings are outside the limits.", c.Outside, c.N))
	}
	d.Desc = fmt.Sprintf("How often which of %d readings came%s, from %s to %s, mean %s. %s", c.N, in(l.Unit),
		l.number(c.Min), l.number(c.Max), l.number(c.Mean), strings.Join(said, " "))
	d.below(said...)
	return d.render()
}
