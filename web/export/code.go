package export

import (
	"fmt"
	"html/template"
	"image/color"
	"strings"

	"github.com/boombuler/barcode/qr"
)

// square is a QR code (ISO/IEC 18004): which of its modules are dark, row by row.
type square [][]bool

// squareOf writes a text as a QR code that is read with a seventh of it lost (level M).
func squareOf(text string) (square, error) {
	code, err := qr.Encode(text, qr.M, qr.Unicode)
	if err != nil {
		return nil, fmt.Errorf("write as QR code: %w", err)
	}
	b := code.Bounds()
	out := make(square, b.Dy())
	for y := range out {
		out[y] = make([]bool, b.Dx())
		for x := range out[y] {
			gray, ok := color.GrayModel.Convert(code.At(b.Min.X+x, b.Min.Y+y)).(color.Gray)
			out[y][x] = ok && gray.Y < 128
		}
	}
	return out, nil
}

// svg draws the code with the quiet zone of four modules that a reader wants.
func (s square) svg(words string) template.HTML {
	var b strings.Builder
	n := len(s) + 8
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" class="code" viewBox="0 0 %d %d" role="img" shape-rendering="crispEdges"><title>%s</title><rect width="%d" height="%d" fill="#fff"/><path fill="#000" d="`,
		n, n, template.HTMLEscapeString(words), n, n)
	for y, row := range s {
		for x, dark := range row {
			if dark {
				fmt.Fprintf(&b, "M%d %dh1v1h-1z", x+4, y+4)
			}
		}
	}
	b.WriteString(`"/></svg>`)
	return template.HTML(b.String()) //nolint:gosec // numbers, and words that are escaped
}
