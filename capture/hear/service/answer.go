package service

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Bounds of an answer.
const (
	mostAnswer = 64 << 10 // bytes
	mostText   = 2000     // characters, as of a note
)

// readAnswer reads {"text":"..."}. Other members are of no interest here. The text has one space
// between words and no control characters.
func readAnswer(data []byte) (string, error) {
	switch {
	case len(data) > mostAnswer:
		return "", fmt.Errorf("%w: it is longer than %d bytes", ErrAnswer, mostAnswer)
	case !utf8.Valid(data):
		return "", fmt.Errorf("%w: it is not UTF-8", ErrAnswer)
	case !bytes.HasPrefix(bytes.TrimSpace(data), []byte("{")):
		return "", fmt.Errorf("%w: it is no JSON object: %.80q", ErrAnswer, data)
	}
	text, err := textOf(json.NewDecoder(bytes.NewReader(data)))
	if err != nil {
		return "", err
	}
	text = strings.Join(strings.FieldsFunc(text, func(r rune) bool { return unicode.IsSpace(r) || unicode.IsControl(r) }), " ")
	if n := utf8.RuneCountInString(text); n > mostText {
		return "", fmt.Errorf("%w: its text has %d characters, and a note %d at most", ErrAnswer, n, mostText)
	}
	return text, nil
}

// textOf takes the one member "text" of an object. Two of them may differ, and nobody would know which
// was meant.
func textOf(d *json.Decoder) (text string, err error) {
	found := false
	if _, err := d.Token(); err != nil {
		return "", fmt.Errorf("%w: %w", ErrAnswer, err)
	}
	for d.More() {
		name, err := d.Token()
		if err != nil {
			return "", fmt.Errorf("%w: %w", ErrAnswer, err)
		}
		var value json.RawMessage
		if err := d.Decode(&value); err != nil {
			return "", fmt.Errorf("%w: %w", ErrAnswer, err)
		}
		if name != "text" {
			continue
		}
		if found {
			return "", fmt.Errorf("%w: it has two texts", ErrAnswer)
		}
		found = true
		if value[0] != '"' {
			return "", fmt.Errorf("%w: its text is none, but %.80s", ErrAnswer, value)
		}
		if err := json.Unmarshal(value, &text); err != nil {
			return "", fmt.Errorf("%w: %w", ErrAnswer, err)
		}
	}
	if _, err := d.Token(); err != nil {
		return "", fmt.Errorf("%w: %w", ErrAnswer, err)
	}
	if d.More() {
		return "", fmt.Errorf("%w: something stands behind it", ErrAnswer)
	}
	if !found {
		return "", fmt.Errorf(`%w: it has no "text"`, ErrAnswer)
	}
	return text, nil
}

// Plain returns a transcript as words that are spoken: without the stops, quotes and capitals that
// writing has, and without what stands in brackets, which are sounds ("[cough]"). What a number or a
// unit is made of stays: "88.5", "N.m", "MOhm", "-3", "3/4".
func Plain(text string) string {
	var words []string
	depth := 0
	for w := range strings.FieldsSeq(text) {
		opens, closes := strings.Count(w, "[")+strings.Count(w, "("), strings.Count(w, "]")+strings.Count(w, ")")
		if inside := depth > 0 || opens > 0; inside {
			depth = max(0, depth+opens-closes)
			continue
		}
		w = strings.TrimRight(strings.ReplaceAll(w, "’", "'"), `.,;:!?"'”“…*_-–—`)
		w = strings.TrimLeft(w, `,;:!?"'”“…*_–—`)
		for _, part := range hyphened(w) {
			words = append(words, small(part))
		}
	}
	return strings.Join(words, " ")
}

// hyphened parts "forty-eight", and not "-3".
func hyphened(w string) []string {
	if w == "" {
		return nil
	}
	parts := strings.FieldsFunc(w, func(r rune) bool { return r == '-' || r == '–' || r == '—' })
	for _, p := range parts {
		if !letters(p) {
			return []string{w}
		}
	}
	return parts
}

// small writes "Collar" and "YES" small, and leaves "MOhm" and "mA" as they are.
func small(w string) string {
	rest := strings.TrimLeft(w[len(string([]rune(w)[:1])):], "'")
	if letters(w) && (rest == strings.ToLower(rest) || w == strings.ToUpper(w)) {
		return strings.ToLower(w)
	}
	return w
}

func letters(w string) bool {
	return w != "" && !strings.ContainsFunc(w, func(r rune) bool { return !unicode.IsLetter(r) && r != '\'' })
}
