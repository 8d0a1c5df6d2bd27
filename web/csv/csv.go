// Package csv writes tables for spreadsheets.
package csv

import (
	"bytes"
	"regexp"
	"strings"
)

// Rows writes rows as RFC 4180 has it. What a spreadsheet would take for a formula is marked as
// text.
func Rows(rows [][]string) []byte {
	var b bytes.Buffer
	for _, row := range rows {
		for i, text := range row {
			if i > 0 {
				b.WriteByte(',')
			}
			b.WriteString(field(cell(text)))
		}
		b.WriteString("\r\n")
	}
	return b.Bytes()
}

// field puts in quotes what needs them. Unlike encoding/csv it keeps every end of a line as
// it is: without its carriage return, "4\r8" would be another number.
func field(text string) string {
	if !strings.ContainsAny(text, ",\"\r\n") && strings.TrimSpace(text) == text {
		return text
	}
	return `"` + strings.ReplaceAll(text, `"`, `""`) + `"`
}

var plainNumber = regexp.MustCompile(`^-?[0-9]+(\.[0-9]+)?$`)

// cell marks as text what a spreadsheet would take for a formula. A plain number is none,
// also below zero.
func cell(text string) string {
	if text == "" || plainNumber.MatchString(text) {
		return text
	}
	if strings.ContainsAny(text[:1], "=+-@\t\r\n") || strings.HasPrefix(text, "＝") || strings.HasPrefix(text, "＋") ||
		strings.HasPrefix(text, "－") || strings.HasPrefix(text, "＠") {
		return "'" + text
	}
	return text
}
