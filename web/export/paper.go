package export

import (
	"bytes"
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"readback/web/lead"
)

// paper writes the transcript as PDF. The same facts give the same bytes: its dates are those of the
// record.
func paper(ctx context.Context, f *Facts) ([]byte, error) {
	s, err := newSheets("Transcript of job "+f.Job, f.last)
	if err != nil {
		return nil, fmt.Errorf("export job %s: %w", f.Job, err)
	}
	s.first(f)
	for _, one := range f.sections() {
		s.section(&one)
		if one.Title == "As left" {
			s.words(sureIs, plain, small)
			s.layers(f.Layers)
		}
	}
	s.heading("What was said")
	for i := range f.Lines {
		s.line(&f.Lines[i])
		if err := context.Cause(ctx); err != nil {
			return nil, fmt.Errorf("export job %s: %w", f.Job, err)
		}
	}
	if err := s.seal(f); err != nil {
		return nil, fmt.Errorf("export job %s: %w", f.Job, err)
	}
	s.signatures()
	if s.replaced {
		s.words(replacedIs, plain, small)
	}
	var b bytes.Buffer
	if err := s.pdf.Output(&b); err != nil {
		return nil, fmt.Errorf("export job %s: %w", f.Job, err)
	}
	return b.Bytes(), nil
}

// first is the head of the first page.
func (s *sheets) first(f *Facts) {
	s.words("TRANSCRIPT", plain, small)
	s.words("Job "+f.Job, bold, 18)
	s.y += 2
	for _, p := range f.Head {
		s.pair(p)
	}
	s.y += 2
	s.words(allTimes, plain, normal)
	if f.Invented {
		s.words(invented, bold, normal)
	}
}

func (s *sheets) pair(p Pair) {
	s.row([]cell{s.cell(p.Name, plain, normal, 40), s.cell(p.Is, plain, normal, wide-40)}, nil)
}

func (s *sheets) section(one *section) {
	s.heading(one.Title)
	for _, text := range one.Said {
		s.words(text, plain, normal)
	}
	if len(one.Rows) == 0 {
		return
	}
	whole := 0.0
	for _, w := range one.Wide {
		whole += w
	}
	widths := make([]float64, len(one.Wide))
	for i, w := range one.Wide {
		widths[i] = wide * w / whole
	}
	head := func() {
		var cells []cell
		for i, text := range one.Head {
			cells = append(cells, s.cell(text, bold, small, widths[i]))
		}
		s.row(cells, nil)
		s.rule(0.4)
	}
	s.y++
	s.need(5 * height(small)) // a head never stands alone
	head()
	for _, row := range one.Rows {
		var cells []cell
		for i, text := range row {
			style := plain
			if i == one.Strong {
				style = bold
			}
			cells = append(cells, s.cell(text, style, small, widths[i]))
		}
		s.row(cells, head)
		s.rule(0.1)
	}
}

// layers draws the unit as it is built up, what lies lowest at the bottom.
func (s *sheets) layers(all []lead.Layer) {
	if len(all) == 0 {
		return
	}
	s.need(min(float64(len(all))*8+20, bottom-top)) // on one page, if it can be
	s.heading("How the unit is built up")
	s.words("The lowest stands at the bottom. A dashed frame is not laid yet, a filled one is whole, a heavy one has something open on it.", plain, small)
	s.y++
	const name, box, gap = 42.0, 46.0, 3.0
	for i := range slices.Backward(all) {
		l := &all[i]
		is, style := l.Is, plain
		if l.Wrong != "" {
			is, style = strings.ToUpper(l.Wrong)+": "+is, bold
		}
		cells := []cell{s.cell(l.Name, bold, small, name), s.cell(is, style, small, box), s.cell(strings.Join(l.Others, ", "), plain, small, wide-name-box-gap)}
		cells[1].pad, cells[2].pad = 1.5, gap
		cells[1].lines = s.wrap("", is, style, small, box-3)
		cells[2].lines = s.wrap("", strings.Join(l.Others, ", "), plain, small, wide-name-box-2*gap)
		h := tall(cells) + 2
		s.need(h + 1)
		s.frame(left+name, s.y, box, h, l)
		s.y++
		s.row(cells, nil)
		s.y += 2
	}
	s.pdf.SetLineWidth(0.8)
	s.pdf.Line(left+name-4, s.y+0.4, left+name+box+4, s.y+0.4)
	s.y += 2
}

// frame draws the frame of a layer.
func (s *sheets) frame(x, y, w, h float64, l *lead.Layer) {
	s.pdf.SetLineWidth(0.3)
	if l.Wrong != "" {
		s.pdf.SetLineWidth(0.9)
	}
	if !l.Laid {
		s.pdf.SetDashPattern([]float64{1.5, 1}, 0)
	}
	how := "D"
	if l.Whole {
		s.pdf.SetFillColor(232, 232, 232)
		how = "FD"
	}
	s.pdf.Rect(x, y, w, h, how)
	s.pdf.SetDashPattern([]float64{}, 0)
}

// line shows an entry: who and when at the left, what was said at the right.
func (s *sheets) line(l *Line) {
	const who = 36.0
	var by cell
	by.width = who
	by.lines = append(by.lines, s.wrap("", "No. "+strconv.FormatInt(l.Seq, 10), bold, small, who-2)...)
	for _, text := range cut(clock(l.At), l.client(), l.who()) {
		by.lines = append(by.lines, s.wrap("", text, plain, small, who-2)...)
	}
	said := cell{width: wide - who}
	for _, p := range l.Said {
		size := normal
		if p.File {
			size = small
		}
		text := p.Text
		if p.Quote {
			text = "“" + text + "”"
		}
		if p.After != "" {
			text += " " + p.After
		}
		said.lines = append(said.lines, s.wrap(p.Label, text, plain, size, wide-who)...)
	}
	if len(l.Photos) > 0 { // the first stands with its note
		s.need(min(tall([]cell{by, said})+55, (bottom-top)/2))
	}
	s.row([]cell{by, said}, nil)
	for i := range l.Photos {
		s.photo(&l.Photos[i], who)
	}
	s.rule(0.1)
}

// photo shows a photo small, and how its file is.
func (s *sheets) photo(p *Shot, indent float64) {
	caption := fmt.Sprintf("Photo no. %d, %s, %s: %s", p.Seq, clock(p.At), p.Person, p.Words)
	lines := s.wrap("", caption, plain, small, wide-indent-2)
	h := float64(len(lines)) * height(small)
	s.need(h)
	if len(p.Thumb) > 0 {
		if w, tall, ok := s.picture(p); ok {
			s.need(tall + h + 2)
			s.place(p, left+indent, w, tall)
			s.y += tall + 1
		}
	}
	s.row([]cell{{width: indent}, {width: wide - indent, lines: lines}}, nil)
}

func (s *sheets) seal(f *Facts) error {
	if len(f.Seal) > 0 {
		s.need(70) // all of it on one page
	}
	s.heading("Seal")
	if len(f.Seal) == 0 {
		s.words(noSeal, plain, normal)
		return nil
	}
	s.words(sealIs, plain, normal)
	code, err := squareOf(f.code())
	if err != nil {
		return err
	}
	s.y++
	from := s.y
	for _, p := range f.Seal {
		s.row([]cell{s.cell(p.Name, plain, small, 38), s.cell(p.Is, plain, small, 100)}, nil)
	}
	const side = 34.0
	s.code(code, left+wide-side, from+2, side)
	s.y = max(s.y, from+2+side) + 2
	return nil
}

// code draws a QR code, dark modules that touch in a row as one.
func (s *sheets) code(code square, left, top, side float64) {
	one := side / float64(len(code))
	s.pdf.SetFillColor(0, 0, 0)
	for y, row := range code {
		for x := 0; x < len(row); x++ {
			run := 0
			for x+run < len(row) && row[x+run] {
				run++
			}
			if run > 0 {
				s.pdf.Rect(left+float64(x)*one, top+float64(y)*one, float64(run)*one, one, "F")
				x += run
			}
		}
	}
}

func (s *sheets) signatures() {
	s.need(70) // all of it on one page
	s.heading("Signatures")
	fields := []float64{36, 56, 32, 56}
	var names []cell
	for i, name := range []string{"", "Name", "Date", "Signature"} {
		names = append(names, s.cell(name, plain, small, fields[i]))
	}
	s.row(names, nil)
	for _, who := range signers() {
		s.y += 10
		s.row([]cell{s.cell(who, bold, normal, fields[0])}, nil)
		s.pdf.SetLineWidth(0.3)
		x := left
		for i, w := range fields {
			if x += w; i > 0 {
				s.pdf.Line(x-w, s.y, x-3, s.y)
			}
		}
	}
	s.y += 4
}
