package lead

import (
	"bytes"
	"fmt"
	"html/template"
	"math/big"
	"slices"
	"strconv"
	"strings"
	"time"

	"readback/capture/floor"
	"readback/capture/journal"
	"readback/capture/wire"
	"readback/parse"
	"readback/rules"
)

// drawing is an SVG without style, script or colour but that of the text about it.
type drawing struct {
	Title, Desc   string
	Width, Height float64
	Boxes         []box
	Lines         []stroke
	Texts         []text
}

type box struct {
	X, Y, W, H, Weight float64
	Dash               string
	Filled             bool
	Title              string
}

type stroke struct {
	X1, Y1, X2, Y2, Weight float64
	Dash                   string
}

type text struct {
	X, Y         float64
	Anchor, Size string
	Bold         bool
	Words        string
}

var picture = template.Must(template.New("drawing").Parse(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {{.Width}} {{.Height}}" role="img" fill="none" font-family="sans-serif" font-size="13">
<title>{{.Title}}</title>
<desc>{{.Desc}}</desc>
{{range .Boxes}}<rect x="{{.X}}" y="{{.Y}}" width="{{.W}}" height="{{.H}}" stroke="currentColor" stroke-width="{{.Weight}}" stroke-dasharray="{{.Dash}}"{{if .Filled}} fill="currentColor" fill-opacity="0.12"{{end}}>{{with .Title}}<title>{{.}}</title>{{end}}</rect>
{{end}}{{range .Lines}}<line x1="{{.X1}}" y1="{{.Y1}}" x2="{{.X2}}" y2="{{.Y2}}" stroke="currentColor" stroke-width="{{.Weight}}" stroke-dasharray="{{.Dash}}"/>
{{end}}{{range .Texts}}<text x="{{.X}}" y="{{.Y}}" text-anchor="{{.Anchor}}" font-size="{{.Size}}" fill="currentColor"{{if .Bold}} font-weight="700"{{end}}>{{.Words}}</text>
{{end}}</svg>`))

func (d *drawing) render() (template.HTML, error) {
	var b bytes.Buffer
	if err := picture.Execute(&b, d); err != nil {
		return "", fmt.Errorf("draw %s: %w", d.Title, err)
	}
	return template.HTML(b.String()), nil //nolint:gosec // the template has escaped what was handed in
}

const (
	solid  = "none"
	dashed = "6 4"
)

// Layer is one part of the unit as it is built up.
type Layer struct {
	Name, Is string
	Others   []string // what else belongs there, and how it is
	Whole    bool     // nothing of it is left to do
	Laid     bool
	Wrong    string // the word of the worst finding that is open on it; "" for none
}

// Layers lists what a unit is built of, the lowest first; nothing where the work lays no parts along an axis.
func Layers(s wire.State) []Layer { return (&job{State: s}).layers() }

// Stack draws the unit of a job as it is built up, as SVG; "" where the work lays no parts along an axis.
func Stack(s wire.State) (template.HTML, error) { return build(&job{State: s}) }

// build draws the unit as it is built up, what lies lowest at the bottom.
func build(j *job) (template.HTML, error) {
	layers := j.layers()
	if len(layers) == 0 {
		return "", nil
	}
	const high, name, wide, width = 34.0, 200.0, 190.0, 820.0
	d := &drawing{Title: "How the unit is built up, the lowest at the bottom", Width: width, Height: high*float64(len(layers)) + 16}
	var told []string
	for i, l := range layers {
		y := 4 + high*float64(len(layers)-1-i)
		b := box{X: name, Y: y, W: wide, H: high - 4, Weight: 1.5, Dash: solid, Filled: l.Whole, Title: l.Words()}
		if !l.Laid {
			b.Dash = dashed
		}
		if l.Wrong != "" {
			b.Weight = 4
		}
		d.Boxes = append(d.Boxes, b)
		is := l.Is
		if l.Wrong != "" {
			is = strings.ToUpper(l.Wrong) + ": " + is
		}
		d.Texts = append(d.Texts, text{name - 10, y + 20, "end", "14", true, short(l.Name, 20)}, text{name + wide/2, y + 20, "middle", "14", l.Wrong != "", short(is, 26)},
			text{name + wide + 12, y + 20, "start", "13", false, short(strings.Join(l.Others, ", "), 66)})
		told = append(told, l.Words())
	}
	foot := 6 + high*float64(len(layers))
	d.Lines = append(d.Lines, stroke{name - 16, foot, name + wide + 16, foot, 3, solid})
	d.Desc = strings.Join(told, ". ") + "."
	return d.render()
}

// Words tells of a layer in one sentence.
func (l *Layer) Words() string {
	parts := append([]string{l.Name + " " + l.Is}, l.Others...)
	if l.Wrong != "" {
		parts = append(parts, "open there: "+l.Wrong)
	}
	return strings.Join(parts, ", ")
}

// layers lists what the unit is built of, the lowest first: what the work calls for before the
// stack, each level of the stack, and what closes it.
func (j *job) layers() (out []Layer) {
	s := j.Stack
	if s == nil {
		return nil
	}
	for i := range j.Callouts {
		if c := &j.Callouts[i]; c.Owed && c.ID != s.Cover && len(c.Places) == 1 && slices.Contains(s.Base, c.ID) {
			out = append(out, j.layer(c, &c.Places[0], c.Name))
		}
	}
	var levels []string
	for _, c := range j.Callouts {
		for _, p := range c.Places {
			if v := p.At.On(s.Axis); slices.Contains(s.Parts, c.ID) && v != "" && !slices.Contains(levels, v) {
				levels = append(levels, v)
			}
		}
	}
	slices.SortStableFunc(levels, func(a, b string) int {
		m, err1 := strconv.Atoi(a)
		n, err2 := strconv.Atoi(b)
		if err1 != nil || err2 != nil {
			return strings.Compare(a, b)
		}
		return m - n
	})
	for _, v := range levels {
		out = append(out, j.level(v))
	}
	for i := range j.Callouts {
		if c := &j.Callouts[i]; c.ID == s.Cover && len(c.Places) > 0 {
			out = append(out, j.layer(c, &c.Places[0], c.Name))
		}
	}
	return out
}

func (j *job) layer(c *wire.Callout, p *wire.Place, name string) Layer {
	return Layer{Name: name, Is: isOf(c, p), Laid: p.Mark != "" || p.Reading != nil, Whole: !p.Owed && !p.Void && (p.Mark != "" || p.Reading != nil), Wrong: j.wrong(c.ID, p.At)}
}

// level is one level of the stack: its parts, and what else belongs to it.
func (j *job) level(v string) Layer {
	s := j.Stack
	l := Layer{Name: s.Axis + " " + v, Whole: true}
	var parts []string
	for i := range j.Callouts {
		c := &j.Callouts[i]
		part := slices.Contains(s.Parts, c.ID)
		if !part && !slices.Contains(s.Other, c.ID) {
			continue
		}
		for k := range c.Places {
			p := &c.Places[k]
			if p.At.On(s.Axis) != v {
				continue
			}
			one := j.layer(c, p, c.Name)
			l.Whole = l.Whole && one.Whole
			l.Wrong = worse(l.Wrong, one.Wrong)
			if part {
				l.Laid = l.Laid || one.Laid
				parts = append(parts, one.Is)
			} else {
				l.Others = append(l.Others, c.Name+" "+one.Is)
			}
		}
	}
	l.Is = strings.Join(parts, ", ")
	return l
}

func isOf(c *wire.Callout, p *wire.Place) string {
	switch {
	case p.Reading != nil:
		return p.Reading.Shown + " " + string(p.Reading.Verdict)
	case p.Void:
		return "void, to be taken again"
	case p.Mark != "":
		return p.Mark
	case p.Owed || c.Owed:
		return "to do"
	}
	return "not called for"
}

// wrong is the word of the worst finding that is open at a place.
func (j *job) wrong(callout string, at parse.Place) (word string) {
	for _, f := range j.Findings {
		if f.Callout == callout && f.At == at {
			word = worse(word, wordOf(f))
		}
	}
	return word
}

// words rank what may be wrong, the worst first.
var words = []string{"stop", "out", "wrong", "asked", ""}

func wordOf(f rules.Finding) string {
	switch {
	case f.Severity == rules.Stop:
		return "stop"
	case f.Rule == rules.RuleAsk:
		return "asked"
	case f.Severity == rules.Note, f.Rule == rules.RuleMissing:
		return ""
	case f.OutOfLimits():
		return "out"
	}
	return "wrong"
}

func worse(a, b string) string {
	if slices.Index(words, a) <= slices.Index(words, b) {
		return a
	}
	return b
}

// gauge draws a reading between its limits: posts for these, a diamond for what was read. What
// is farther off than the drawing is wide stands at its edge; its number is beside it.
func gauge(m *floor.Measured) template.HTML {
	low, high := number(m.Min), number(m.Max)
	if m.OneOf || low == nil && high == nil {
		return ""
	}
	const wide, mid = 170.0, 13.0
	var span float64
	switch {
	case low != nil && high != nil:
		span = *high - *low
	case low != nil:
		span = *low
	default:
		span = *high
	}
	if !(span > 0) {
		return ""
	}
	from := 0.0 // what stands at the left quarter
	switch {
	case low != nil:
		from = *low
	case high != nil:
		from = *high - span
	}
	across := func(v float64) float64 { return min(max(wide/4+wide/2*(v-from)/span, 5), wide-5) }
	var b strings.Builder
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %g 26" width="%g" height="26" aria-hidden="true" focusable="false" fill="none" stroke="currentColor">`, wide, wide)
	fmt.Fprintf(&b, `<line x1="2" y1="%g" x2="%g" y2="%g" stroke-width="1"/>`, mid, wide-2, mid)
	for _, end := range []*float64{low, high} {
		if end != nil {
			fmt.Fprintf(&b, `<line x1="%.1f" y1="1" x2="%.1f" y2="25" stroke-width="3"/>`, across(*end), across(*end))
		}
	}
	if n := number(m.Nominal); n != nil {
		fmt.Fprintf(&b, `<line x1="%.1f" y1="8" x2="%.1f" y2="18" stroke-width="1"/>`, across(*n), across(*n))
	}
	fmt.Fprintf(&b, `<path d="M%.1f 6l7 7l-7 7l-7 -7z" fill="currentColor" stroke="none"/></svg>`, across(m.Judged))
	return template.HTML(b.String()) //nolint:gosec // nothing but numbers was written into it
}

func number(r *big.Rat) *float64 {
	if r == nil {
		return nil
	}
	f, _ := r.Float64()
	return &f
}

// mostDrawn is how many findings have a row in the drawing of times; the list has all.
const mostDrawn = 16

// times draws when notes were said, when nothing was, and from when until when findings were open.
func times(j *job) (template.HTML, error) {
	from, to := j.History[0].At.Time(), j.History[len(j.History)-1].At.Time()
	if !to.After(from) {
		return "", nil
	}
	const left, right, width, row = 300.0, 20.0, 1000.0, 22.0
	across := func(t time.Time) float64 {
		return left + (width-left-right)*float64(t.Sub(from))/float64(to.Sub(from))
	}
	d := &drawing{Title: "What happened when", Width: width}
	label := func(y float64, words string) {
		d.Texts = append(d.Texts, text{left - 10, y + 5, "end", "13", false, short(words, 38)})
	}
	y := 14.0
	label(y, "Notes")
	for _, h := range j.History {
		if h.Kind == journal.Note || h.Kind == journal.Photo {
			x := across(h.At.Time())
			d.Lines = append(d.Lines, stroke{x, y - 7, x, y + 7, 1.5, solid})
		}
	}
	if j.Spent.Pauses > 0 {
		y += row
		label(y, "Nothing said")
		for i, e := range j.Events {
			if e.What == "pause" && i+1 < len(j.Events) {
				end := j.Events[i+1].At
				d.Boxes = append(d.Boxes, box{X: across(e.At), Y: y - 6, W: max(across(end)-across(e.At), 1), H: 12, Weight: 1, Dash: dashed, Title: e.Text})
			}
		}
	}
	rows := 0
	for i, h := range j.History {
		for _, f := range h.Opened {
			if f.Rule == rules.RuleMissing {
				continue
			}
			if rows++; rows > mostDrawn {
				continue
			}
			y += row
			label(y, f.Text)
			end, words := to, "still open"
			if closed := j.closed(i, f); closed != nil {
				end, words = closed.At.Time(), "closed by entry "+strconv.FormatInt(closed.Seq, 10)
			}
			weight := map[rules.Severity]float64{rules.Stop: 4, rules.Warn: 2, rules.Note: 1}[f.Severity]
			d.Boxes = append(d.Boxes, box{across(h.At.Time()), y - 6, max(across(end)-across(h.At.Time()), 2), 12, weight, solid, words == "still open", f.Text + ": " + words})
		}
	}
	y += row
	d.Lines = append(d.Lines, stroke{left, y - 8, width - right, y - 8, 1, solid})
	d.Texts = append(d.Texts, text{left, y + 8, "start", "13", false, clock(from)}, text{width - right, y + 8, "end", "13", false, clock(to)})
	d.Height = y + 16
	d.Desc = fmt.Sprintf("From %s to %s, UTC: %d notes, %d times nothing said for ten minutes or more, %d findings. The list below tells of each.", clock(from), clock(to), j.Spent.Notes, j.Spent.Pauses, rows)
	return d.render()
}

// closed returns the entry that closed a finding which entry i opened; nil where it is open.
func (j *job) closed(i int, f rules.Finding) *floor.Happened {
	for k := i + 1; k < len(j.History); k++ {
		if slices.ContainsFunc(j.History[k].Closed, f.SameTarget) {
			return &j.History[k]
		}
	}
	return nil
}

// short cuts words that have no room.
func short(s string, n int) string {
	r := []rune(s)
	if len(r) <= n {
		return s
	}
	return string(r[:n-1]) + "…"
}
