package export

import (
	"bytes"
	"fmt"
	"strings"
	"time"
	"unicode"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// Millimetres of a page (A4), and points of its letters.
const (
	left   = 15.0
	wide   = 180.0
	top    = 20.0
	bottom = 279.0
	foot   = 287.0

	point  = 25.4 / 72 // millimetres
	normal = 9.0
	small  = 7.5
)

// The styles of letters.
const (
	plain = ""
	bold  = "B"
)

const (
	family     = "go"
	replacedIs = "A code such as ‹U+2603› stands for a character that the letters of this paper do not have. The HTML and JSON of the job have it as it was."
	total      = "\uE000" // stands for the number of pages until that is known; no text may hold it, since the letters lack it
)

// sheets are pages being filled from top to bottom.
type sheets struct {
	pdf      *fpdf.Fpdf
	y        float64                     // where the next line begins
	widths   map[string]map[rune]float64 // of letters at a size of one point; below 0 for none
	letters  map[string]*sfnt.Font
	replaced bool // a character had no letter
	style    string
	size     float64
}

// textLine is a line of a cell, as wide as its cell at most.
type textLine struct {
	label string // set bold before the text
	text  string
	style string
	size  float64
}

// cell is a column of a row.
type cell struct {
	width float64
	pad   float64 // before the text
	lines []textLine
}

func newSheets(title string, at time.Time) (*sheets, error) {
	s := &sheets{pdf: fpdf.New("P", "mm", "A4", ""), letters: map[string]*sfnt.Font{}, widths: map[string]map[rune]float64{plain: {}, bold: {}}}
	for style, data := range map[string][]byte{plain: goregular.TTF, bold: gobold.TTF} {
		letters, err := sfnt.Parse(data)
		if err != nil {
			return nil, fmt.Errorf("read the letters: %w", err)
		}
		s.letters[style] = letters
	}
	s.pdf.AddUTF8FontFromBytes(family, plain, goregular.TTF)
	s.pdf.AddUTF8FontFromBytes(family, bold, gobold.TTF)
	s.pdf.SetCatalogSort(true)
	s.pdf.SetCreationDate(at.UTC())
	s.pdf.SetModificationDate(at.UTC())
	s.pdf.SetLang("en")
	s.pdf.SetTitle(s.clean(title), true)
	s.pdf.SetCreator("Readback", true)
	s.pdf.SetAutoPageBreak(false, 0)
	s.pdf.SetMargins(left, top, left)
	s.pdf.AliasNbPages(total)
	name := s.fit(s.clean(title), wide)
	s.pdf.SetHeaderFunc(func() {
		s.font(plain, small)
		if s.pdf.PageNo() > 1 {
			s.pdf.Text(left, 13, name)
		}
	})
	s.pdf.SetFooterFunc(func() {
		s.font(plain, small)
		s.pdf.Text(left, foot, fmt.Sprintf("page %d of %s", s.pdf.PageNo(), total))
	})
	s.page()
	if err := s.pdf.Error(); err != nil {
		return nil, fmt.Errorf("make pages: %w", err)
	}
	return s, nil
}

func (s *sheets) page() {
	s.style, s.size = "none", 0
	s.pdf.AddPage()
	s.style, s.size = "none", 0
	s.y = top
}

// need begins a new page where h millimetres have no room on this one.
func (s *sheets) need(h float64) {
	if s.y+h > bottom && s.y > top {
		s.page()
	}
}

func (s *sheets) font(style string, size float64) {
	if s.style != style || s.size != size {
		s.pdf.SetFont(family, style, size)
		s.style, s.size = style, size
	}
}

// height is the height of a line, in millimetres, of letters of size points.
func height(size float64) float64 { return size * point * 1.28 }

// heading begins a section: never at the foot of a page.
func (s *sheets) heading(text string) {
	s.y += 5
	s.need(30)
	s.font(bold, 12)
	s.pdf.Bookmark(text, 0, s.y)
	s.font(bold, 12)
	s.pdf.Text(left, s.y+4, text)
	s.y += 6
	s.pdf.SetLineWidth(0.5)
	s.pdf.Line(left, s.y, left+wide, s.y)
	s.y += 2
}

// rule draws a line under a row.
func (s *sheets) rule(weight float64) {
	s.pdf.SetLineWidth(weight)
	s.pdf.Line(left, s.y+0.4, left+wide, s.y+0.4)
	s.y += 1.2
}

// words sets a paragraph.
func (s *sheets) words(text, style string, size float64) {
	s.row([]cell{{width: wide, lines: s.wrap("", text, style, size, wide)}}, nil)
}

func (s *sheets) cell(text, style string, size, width float64) cell {
	return cell{width: width, lines: s.wrap("", text, style, size, width-2)}
}

// tall is how tall the cells are together.
func tall(cells []cell) (most float64) {
	for _, c := range cells {
		h := 0.0
		for _, l := range c.lines {
			h += height(l.size)
		}
		most = max(most, h)
	}
	return most
}

// row sets cells beside each other. What has room on a page stays on one; what has not goes on overleaf,
// below the head of its table.
func (s *sheets) row(cells []cell, head func()) {
	if h := tall(cells); s.y+h > bottom && h < (bottom-top)/2 {
		s.over(head)
	}
	for {
		rest, most, x := false, 0.0, left
		next := make([]cell, len(cells))
		for i, c := range cells {
			y, n := s.y, 0
			for ; n < len(c.lines) && y+height(c.lines[n].size) <= bottom; n++ {
				s.put(x+c.pad, y, &c.lines[n])
				y += height(c.lines[n].size)
			}
			next[i] = cell{width: c.width, pad: c.pad, lines: c.lines[n:]}
			rest = rest || n < len(c.lines)
			most = max(most, y-s.y)
			x += c.width
		}
		s.y += most
		if !rest {
			return
		}
		cells = next
		s.over(head)
	}
}

// over goes on overleaf.
func (s *sheets) over(head func()) {
	s.page()
	if head != nil {
		head()
	}
}

func (s *sheets) put(x, y float64, l *textLine) {
	base := y + l.size*point
	if l.label != "" {
		s.font(bold, l.size)
		s.pdf.Text(x, base, l.label)
		x += s.width(l.label+" ", bold, l.size)
	}
	if l.text != "" {
		s.font(l.style, l.size)
		s.pdf.Text(x, base, l.text)
	}
}

// width measures text that is clean, in millimetres.
func (s *sheets) width(text, style string, size float64) (w float64) {
	for _, r := range text {
		w += s.advance(r, style)
	}
	return w * size
}

// advance is how wide a letter is at a size of one point; below 0 where there is none.
func (s *sheets) advance(r rune, style string) float64 {
	w, ok := s.widths[style][r]
	if !ok {
		w = widthOf(s.letters[style], r)
		s.widths[style][r] = w
	}
	return w
}

func widthOf(letters *sfnt.Font, r rune) float64 {
	i, err := letters.GlyphIndex(nil, r)
	if err != nil || i == 0 || r > 0xFFFF || unicode.In(r, unicode.Cc, unicode.Cf, unicode.Co) {
		return -1
	}
	const units = 1000
	w, err := letters.GlyphAdvance(nil, i, fixed.I(units), font.HintingNone)
	if err != nil {
		return -1
	}
	return float64(w) / 64 / units * point
}

// fit cuts a text that has no room in a line.
func (s *sheets) fit(text string, room float64) string {
	lines := s.wrap("", text, plain, small, room-4)
	if len(lines) > 1 {
		return lines[0].text + "…"
	}
	return text
}

// clean replaces what the letters lack, and what is no letter, by its code: ‹U+202E›. Ends of lines stay.
func (s *sheets) clean(text string) string {
	plain := true
	for _, r := range text {
		plain = plain && (r == '\n' || s.has(r))
	}
	if plain {
		return text
	}
	s.replaced = true
	var b strings.Builder
	for _, r := range text {
		if r == '\n' || s.has(r) {
			b.WriteRune(r)
		} else {
			fmt.Fprintf(&b, "‹U+%04X›", r)
		}
	}
	return b.String()
}

// has reports whether there is a letter for a character.
func (s *sheets) has(r rune) bool { return s.advance(r, plain) >= 0 && s.advance(r, bold) >= 0 }

// wrap cuts text into lines that have room: at its ends of lines, at spaces, and within a word only
// where that has no room in a line of its own.
func (s *sheets) wrap(label, text, style string, size, room float64) (lines []textLine) {
	first := 0.0
	if label != "" {
		label = s.clean(label)
		first = s.width(label+" ", bold, size)
	}
	for part := range strings.SplitSeq(s.clean(text), "\n") {
		for {
			n, end := s.breakAt(part, style, (room-first)/size)
			line := textLine{text: part[:n], style: style, size: size}
			if len(lines) == 0 {
				line.label = label
			}
			lines, first = append(lines, line), 0
			part = part[end:]
			if part == "" {
				break
			}
		}
	}
	return lines
}

// breakAt says where the first line of a text ends, and where the next begins. A line has one character at
// least.
func (s *sheets) breakAt(text, style string, room float64) (end, next int) {
	w, space := 0.0, -1
	for i, r := range text {
		w += s.advance(r, style)
		if w > room && i > 0 && r != ' ' {
			if space > 0 {
				return space, space + 1
			}
			return i, i
		}
		if r == ' ' {
			space = i
		}
	}
	return len(text), len(text)
}

// picture makes a photo ready; ok is false for what is no picture.
func (s *sheets) picture(p *Shot) (w, h float64, ok bool) {
	info := s.pdf.RegisterImageOptionsReader(name(p), fpdf.ImageOptions{ImageType: "JPG"}, bytes.NewReader(p.Thumb))
	if s.pdf.Err() || info == nil || info.Width() <= 0 || info.Height() <= 0 {
		s.pdf.ClearError()
		return 0, 0, false
	}
	const most = 45.0
	scale := min(most/info.Height(), 80/info.Width())
	return info.Width() * scale, info.Height() * scale, true
}

func (s *sheets) place(p *Shot, x, w, h float64) {
	s.pdf.ImageOptions(name(p), x, s.y+0.5, w, h, false, fpdf.ImageOptions{ImageType: "JPG"}, 0, "")
}

// name names the picture of a photo within the file.
func name(p *Shot) string { return fmt.Sprintf("photo %d", p.Seq) }
