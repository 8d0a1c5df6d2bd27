package spec

import (
	"bytes"
	"fmt"
	"strings"
)

// excerptWidth is how much of a line an excerpt shows at most, in characters.
const excerptWidth = 100

// Excerpt returns the line of the file that a fault is about, with a caret under the
// place:
//
//	14 |     unit: N.furlong
//	   |           ^
//
// It is "" for a fault that has no place. Of a long line it shows what lies round the
// place.
func (e *Error) Excerpt(src []byte) string {
	if e.Line < 1 || e.Column < 1 {
		return ""
	}
	line := src
	for range e.Line - 1 {
		i := bytes.IndexByte(line, '\n')
		if i < 0 {
			return ""
		}
		line = line[i+1:]
	}
	line, _, _ = bytes.Cut(line, []byte("\n"))
	text := []rune(strings.ToValidUTF8(strings.TrimRight(string(line), "\r"), "\uFFFD"))
	at := min(e.Column-1, len(text))
	before := ""
	if from := at - excerptWidth/2; len(text) > excerptWidth && from > 0 {
		before, text, at = "... ", text[from:], at-from
	}
	after := ""
	if len(text) > excerptWidth {
		after, text = " ...", text[:excerptWidth]
	}
	for i, r := range text {
		if r < ' ' || r == 0x7f || r >= 0x80 && r < 0xa0 {
			text[i] = ' ' // a tab would move the caret, other signs the terminal
		}
	}
	return fmt.Sprintf("%5d | %s%s%s\n      | %s^\n", e.Line, before, string(text), after, strings.Repeat(" ", len(before)+at))
}
