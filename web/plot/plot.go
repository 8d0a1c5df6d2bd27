// Package plot draws the charts of package drift as SVG: one element that goes into a page
// as it is, or into a file of its own. It has no script and no style, so that it passes any
// content security policy, and no colour but that of the text about it: what a line or a
// mark means is told by its dashes, its shape and its words, in print as on a screen.
//
// Every chart has its name in a title and what it shows in a description, for who hears
// it. A long series is drawn as the band in which it runs; see [MostDrawn]. Start reading
// at [Individuals].
package plot

import (
	"bytes"
	_ "embed" // for the template
	"errors"
	"fmt"
	"html/template"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

//go:embed chart.svg
var layout string

var chart = template.Must(template.New("chart").Parse(layout))

// Sizes, in the units of the drawing, which a page scales to its width.
const (
	width      = 760.0
	left       = 64.0 // of the plotting area
	right      = 150.0
	lineHeight = 16.0
)

const (
	// MostDrawn is how many readings are drawn one by one. Of more, each stretch is drawn
	// from its least to its largest, and of a stretch only the worst reading of a signal has
	// a mark.
	MostDrawn = 400
	// MostTold is how many signals are told below a chart, the newest; what is left out is
	// counted.
	MostTold = 8
	// MostRows is how many instruments are drawn; what is left out is counted.
	MostRows = 100
)

// Labels are the words of a chart.
type Labels struct {
	Title  string             // "Collar nut torque, stage 1"
	Unit   string             // as it is shown: "N·m"
	Name   func(i int) string // the name of reading i, from 0, such as its job; nil for its number
	Axis   func(i int) string // the same along an axis, where 13 letters have room; nil for Name
	Places int                // decimals of the numbers beside lines, 0 to 9
}

func (l Labels) name(i int) string {
	if l.Name == nil {
		return strconv.Itoa(i + 1)
	}
	return l.Name(i)
}

func (l Labels) axis(i int) string {
	if l.Axis == nil {
		return l.name(i)
	}
	return l.Axis(i)
}

func (l Labels) number(v float64) string {
	text := strconv.FormatFloat(v, 'f', min(max(l.Places, 0), 9), 64)
	if len(text) > 12 || v != 0 && strings.Trim(text, "-0.") == "" {
		text = strconv.FormatFloat(v, 'g', 3, 64)
	}
	return text
}

// drawing is what the template draws.
type drawing struct {
	Title, Desc string
	Width       float64
	Height      float64
	Lines       []line
	Paths       []path
	Marks       []mark
	Texts       []text
}

type line struct{ X1, Y1, X2, Y2, Weight, Dash string }

type path struct{ D, Weight, Dash string }

// mark is a point: a dot, or the outline of a square or diamond round one.
type mark struct {
	D      string
	Filled bool
	Title  string
}

type text struct{ X, Y, Anchor, Size, Words string }

// Dashes and weights of lines.
const (
	solid, dashed, dotted = "none", "9 5", "2 4"
	thin, bold            = "1", "1.6"
)

func at(v float64) string { return strconv.FormatFloat(v, 'f', 1, 64) }

func (d *drawing) line(x1, y1, x2, y2 float64, weight, dash string) {
	d.Lines = append(d.Lines, line{at(x1), at(y1), at(x2), at(y2), weight, dash})
}

func (d *drawing) text(x, y float64, anchor, words string) {
	d.Texts = append(d.Texts, text{at(x), at(y), anchor, "12", clean(words)})
}

// dot is a reading with nothing to say.
func (d *drawing) dot(x, y float64, title string) {
	d.Marks = append(d.Marks, mark{
		fmt.Sprintf("M%s %sa2.5 2.5 0 1 0 5 0a2.5 2.5 0 1 0 -5 0z", at(x-2.5), at(y)), true, clean(title),
	})
}

// square is a reading beyond the limits, diamond one of another signal.
func (d *drawing) square(x, y float64, title string) {
	d.Marks = append(d.Marks, mark{fmt.Sprintf("M%s %sh11v11h-11z", at(x-5.5), at(y-5.5)), false, clean(title)})
}

func (d *drawing) diamond(x, y float64, title string) {
	d.Marks = append(d.Marks, mark{fmt.Sprintf("M%s %sl6 6l-6 6l-6 -6z", at(x), at(y-6)), false, clean(title)})
}

// below writes sentences under the chart, each on lines of its own, and makes room for them.
func (d *drawing) below(sentences ...string) {
	for _, s := range sentences {
		for _, l := range wrap(s, 108) {
			d.text(left, d.Height, "start", l)
			d.Height += lineHeight
		}
	}
}

// render returns the finished element.
func (d *drawing) render() (template.HTML, error) {
	d.Title, d.Desc, d.Width = clean(d.Title), clean(d.Desc), width
	var b bytes.Buffer
	if err := chart.Execute(&b, d); err != nil {
		return "", fmt.Errorf("chart %s: %w", d.Title, err)
	}
	return template.HTML(b.String()), nil //nolint:gosec // the template has escaped what was handed in
}

// clean leaves out what an XML document may not hold.
func clean(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == utf8.RuneError, r == 0xFFFE, r == 0xFFFF:
			return -1
		case unicode.IsControl(r):
			return ' '
		}
		return r
	}, s)
}

// wrap cuts a sentence into lines of at most n letters, at spaces where it has them.
func wrap(s string, n int) (out []string) {
	now := ""
	for word := range strings.FieldsSeq(s) {
		for utf8.RuneCountInString(word) > n {
			r := []rune(word)
			out, word = append(out, strings.TrimSpace(now), string(r[:n])), string(r[n:])
			now = ""
		}
		if now != "" && utf8.RuneCountInString(now)+1+utf8.RuneCountInString(word) > n {
			out, now = append(out, now), ""
		}
		now = strings.TrimSpace(now + " " + word)
	}
	return slices.DeleteFunc(append(out, now), func(l string) bool { return l == "" })
}

// span is what an axis runs over.
type span struct{ low, high float64 }

// over returns a span that holds all values, with a little room, and never empty.
func over(values ...float64) span {
	s := span{math.Inf(1), math.Inf(-1)}
	for _, v := range values {
		s.low, s.high = min(s.low, v), max(s.high, v)
	}
	room := (s.high - s.low) * 0.06
	if !(room > 0) {
		room = max(math.Abs(s.high)*0.01, 1e-9)
	}
	return span{s.low - room, s.high + room}
}

// ticks returns some three to eight round values in the span.
func (s span) ticks() (out []float64) {
	step := math.Pow(10, math.Floor(math.Log10((s.high-s.low)/3)))
	for _, by := range []float64{5, 2} {
		if (s.high-s.low)/(step*by) >= 3 {
			step *= by
			break
		}
	}
	for i := math.Ceil(s.low / step); i*step <= s.high && len(out) < 20; i++ {
		out = append(out, i*step)
	}
	return out
}

// tick writes a round value with as many decimals as its neighbours need.
func tick(v float64, ticks []float64) string {
	places := 0
	if len(ticks) > 1 {
		places = min(max(int(-math.Floor(math.Log10(ticks[1]-ticks[0]))), 0), 9)
	}
	text := strconv.FormatFloat(v, 'f', places, 64)
	if len(text) > 9 {
		text = strconv.FormatFloat(v, 'g', 3, 64)
	}
	if strings.Trim(text, "-0.") == "" {
		return "0"
	}
	return text
}

// errEmpty is returned for a chart that has no readings, such as a zero one.
var errEmpty = errors.New("there is nothing to draw: make the chart from readings")
