package plot

import (
	"fmt"
	"html/template"
	"math"
	"strings"
)

// MostBars is how many counts are drawn, the largest; what is left out is counted.
const MostBars = 20

// Bar is a count of a Pareto chart.
type Bar struct {
	Name       string
	N          int     // at least 1
	Cumulative float64 // share of this and all before it, 0 to 1
}

// Pareto draws a bar for each count, the largest first as they are handed in, and across them the line
// of their cumulative share. Labels.Unit says what is counted: "jobs". Names are the bars' own;
// Labels.Name and Labels.Axis are not used. An error means that there is nothing to draw.
func Pareto(all []Bar, l Labels) (template.HTML, error) {
	if len(all) == 0 {
		return "", errEmpty
	}
	const row, names, beside = 30.0, 216.0, 130.0
	shown := all[:min(len(all), MostBars)]
	most := 1
	for _, b := range shown {
		most = max(most, b.N)
	}
	d := &drawing{Title: l.Title, Height: 104 + row*float64(len(shown))}
	d.heading(l.Title)
	top, bottom := 76.0, 76+row*float64(len(shown))
	end := width - beside
	across := func(share float64) float64 { return names + (end-names)*share }
	d.text(names, 44, "start", "Number"+in(l.Unit)+": bars, along the lower edge. Cumulative share: line, along the upper")
	d.line(names, bottom, end, bottom, thin, solid)
	d.line(names, top, end, top, thin, solid)
	d.line(names, top, names, bottom, thin, solid)
	step := int(math.Ceil(float64(most) / 5))
	for n := 0; n <= most; n += step {
		x := across(float64(n) / float64(most))
		d.line(x, bottom, x, bottom+4, thin, solid)
		d.text(x, bottom+17, "middle", fmt.Sprint(n))
	}
	for _, percent := range []int{0, 20, 40, 60, 80, 100} {
		x := across(float64(percent) / 100)
		d.line(x, top-4, x, top, thin, solid)
		d.text(x, top-8, "middle", fmt.Sprintf("%d %%", percent))
	}
	var said, sum []string
	for i, b := range shown {
		y := top + row*(float64(i)+0.5)
		d.text(names-8, y+4, "end", short(b.Name, 30))
		x := across(float64(b.N) / float64(most))
		d.Paths = append(d.Paths, path{fmt.Sprintf("M%s %sH%sV%sH%s", at(names), at(y-9), at(x), at(y+9), at(names)), bold, solid})
		words := fmt.Sprintf("%s: %d, together %.0f %%", b.Name, b.N, 100*b.Cumulative)
		letter := "L"
		if i == 0 {
			letter = "M"
		}
		sum = append(sum, letter+at(across(b.Cumulative))+" "+at(y))
		d.dot(across(b.Cumulative), y, words)
		d.text(end+10, y+4, "start", fmt.Sprintf("%d, together %.0f %%", b.N, 100*b.Cumulative))
		said = append(said, words+".")
	}
	if len(sum) == 1 {
		sum = nil // one point is no line
	}
	if len(sum) > 0 {
		d.Paths = append(d.Paths, path{strings.Join(sum, ""), thin, dashed})
	}
	d.Desc = strings.Join(said, " ")
	d.Height += 4
	if left := len(all) - len(shown); left > 0 {
		d.below(fmt.Sprintf("and %d more.", left))
	}
	return d.render()
}
