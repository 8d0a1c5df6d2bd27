package plot

import (
	"fmt"
	"slices"
	"strings"
)

// panel is one pair of axes in a drawing.
type panel struct {
	*drawing
	top, height float64
	n           int // readings along the x axis
	y           span
	labels      []beside
}

// beside is what stands to the right of a line.
type beside struct {
	y     float64
	words string
}

// across returns where reading i is.
func (p *panel) across(i int) float64 {
	return left + (width-left-right)*(float64(i)+0.5)/float64(p.n)
}

// up returns where a value is.
func (p *panel) up(v float64) float64 {
	return p.top + p.height*(1-(v-p.y.low)/(p.y.high-p.y.low))
}

// axes draws the frame, the ticks of the values and what they are.
func (p *panel) axes(caption string) {
	bottom := p.top + p.height
	p.line(left, p.top, left, bottom, thin, solid)
	p.line(left, bottom, width-right, bottom, thin, solid)
	ticks := p.y.ticks()
	for _, v := range ticks {
		p.line(left-4, p.up(v), left, p.up(v), thin, solid)
		p.text(left-7, p.up(v)+4, "end", tick(v, ticks))
	}
	p.text(left, p.top-8, "start", caption)
}

// names writes the names of some readings under the axis, as many as have room.
func (p *panel) names(l Labels) {
	const room = 96.0
	step := max(1, (p.n*int(room)+int(width-left-right)-1)/int(width-left-right))
	y := p.top + p.height
	for i := 0; i < p.n; i += step {
		p.line(p.across(i), y, p.across(i), y+4, thin, solid)
		p.text(p.across(i), y+17, "middle", short(l.axis(i), 13))
	}
}

// rule draws a line at a value with its words beside it.
func (p *panel) rule(v float64, dash, words string) {
	p.line(left, p.up(v), width-right, p.up(v), thin, dash)
	p.labels = append(p.labels, beside{p.up(v), words})
}

// settle writes the words beside the lines, moved apart where lines are close.
func (p *panel) settle() {
	slices.SortStableFunc(p.labels, func(a, b beside) int {
		if a.y < b.y {
			return -1
		}
		return 1
	})
	last := p.top - lineHeight
	for i := range p.labels {
		last = max(p.labels[i].y, last+lineHeight)
		p.labels[i].y = last
	}
	last = p.top + p.height + lineHeight
	for i := len(p.labels) - 1; i >= 0; i-- {
		last = min(p.labels[i].y, last-lineHeight)
		p.labels[i].y = last
		p.text(width-right+6, last+4, "start", p.labels[i].words)
	}
}

// series draws values from the first that counts on as a line; of many, from the least to
// the largest of each stretch.
func (p *panel) series(values []float64, first int, weight, dash string) {
	var b strings.Builder
	put := func(i int) {
		letter := "L"
		if b.Len() == 0 {
			letter = "M"
		}
		fmt.Fprintf(&b, "%s%s %s", letter, at(p.across(i)), at(p.up(values[i])))
	}
	if first == len(values)-1 { // a line of one value is a short stroke
		x, y := p.across(first), at(p.up(values[first]))
		fmt.Fprintf(&b, "M%s %sL%s %s", at(x-12), y, at(x+12), y)
		first++
	}
	stretch := stretchOf(len(values))
	for from := first; from < len(values); from += stretch {
		low, high := from, from
		for i := from; i < min(from+stretch, len(values)); i++ {
			if values[i] < values[low] {
				low = i
			}
			if values[i] > values[high] {
				high = i
			}
		}
		put(min(low, high))
		if low != high {
			put(max(low, high))
		}
	}
	p.Paths = append(p.Paths, path{b.String(), weight, dash})
}

// stretchOf returns how many of n readings are drawn as one.
func stretchOf(n int) int { return (n + MostDrawn - 1) / MostDrawn }

// worst keeps of the points in each stretch the one that is furthest off. Points are in order.
func worst(points []int, n int, off func(i int) float64) (out []int) {
	stretch := stretchOf(n)
	for _, i := range points {
		if last := len(out) - 1; last < 0 || out[last]/stretch != i/stretch {
			out = append(out, i)
		} else if off(i) > off(out[last]) {
			out[last] = i
		}
	}
	return out
}

// short cuts a name that has no room.
func short(s string, n int) string {
	r := []rune(s)
	if len(r) <= n {
		return s
	}
	return string(r[:n-1]) + "…"
}
