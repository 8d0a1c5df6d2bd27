package parse

import (
	"slices"
	"strings"

	"readback/parse/number"
	"readback/parse/token"
)

// detail is one way to say the name of what is kept in the words of the note: "serial
// number".
type detail struct {
	callout string
	words   []string
}

func (v *Vocabulary) addDetails(n Name) {
	for _, phrase := range n.Say {
		d := detail{callout: n.Callout}
		for _, t := range token.Split(phrase, nil) {
			d.words = append(d.words, t.Text)
		}
		v.details = append(v.details, d)
	}
}

// detailAt returns the detail whose name begins at token i, the longest, and the token
// behind its name.
func (s *scan) detailAt(i int) (callout string, end int) {
	for _, d := range s.v.details {
		if n := i + len(d.words); n <= len(s.toks) && n > end && slices.EqualFunc(d.words, s.toks[i:n], func(w string, t token.Token) bool { return w == t.Text }) {
			callout, end = d.callout, n
		}
	}
	return callout, end
}

// details keeps what is said behind the name of a detail that opens the note: "serial
// number four seven one, complaint trips when warm". What stands there is the words
// of the note and is not read: a number in a complaint is no reading. It reports whether
// the note is one.
func (s *scan) details(u *Utterance) bool {
	at := s.opening()
	for at < len(s.toks) && (slices.Contains([]string{"correction", "the", "its", "actually", "sorry", ","}, s.toks[at].Text) ||
		s.toks[at].Text == "no" && at+1 < len(s.toks) && s.toks[at+1].Text == ",") {
		at++
	}
	callout, from := s.detailAt(at)
	if callout == "" {
		return false
	}
	for callout != "" {
		next, end, after := s.nextDetail(from)
		s.detail(u, callout, at, from, end)
		callout, at, from = next, end+1, after
	}
	s.found(u)
	u.Kind, u.Instrument = Remark, "" // a complaint that names a tool takes none up
	switch {
	case len(u.Asks) > 0:
		u.Kind = Unclear
	case len(u.Symptoms) > 0:
		u.Kind = Symptom
	}
	return true
}

// nextDetail returns the detail that is named behind a stop after token i, the stop before
// it and the token behind its name; "" and the end of the note where none is.
func (s *scan) nextDetail(i int) (callout string, stop, after int) {
	for ; i+1 < len(s.toks); i++ {
		switch s.toks[i].Text {
		case ",", ";", ".", "and":
			if c, end := s.detailAt(i + 1); c != "" {
				return c, i, end
			}
		}
	}
	return "", len(s.toks), 0
}

// detail makes the mark of one detail that is named at token at; its words are the tokens [from, end).
// Where a reading is said behind it, or nothing, it is asked.
func (s *scan) detail(u *Utterance, callout string, at, from, end int) {
	for from < end && slices.Contains([]string{":", "is", "was", "are", "-", "number", "no", "reads", "says", "of", ","}, s.toks[from].Text) {
		from++
	}
	name := s.note[s.toks[at].Start:s.toks[min(from, len(s.toks))-1].End]
	switch {
	case from >= end:
		u.Asks = append(u.Asks, Ask{Doubt: Missing, Words: name, Mark: &Mark{Target: Target{Callout: callout}}})
	case s.readingBetween(from, end):
		u.Asks = append(u.Asks, Ask{Doubt: Unknown, Words: s.note[s.toks[from].Start:s.toks[end-1].End], Mark: &Mark{Target: Target{Callout: callout}}})
	default:
		span := Span{s.toks[from].Start, s.toks[end-1].End}
		is := s.spelt(from, end)
		if is == "" {
			is = strings.TrimSpace(s.note[span.Start:span.End])
		}
		u.Marks = append(u.Marks, Mark{Target: Target{Callout: callout}, Is: is, Span: span})
	}
}

// readingBetween reports whether the name of a reading and a number with a unit stand
// between two tokens: that is said to be recorded and not to be told.
func (s *scan) readingBetween(from, end int) bool {
	named, measured := false, false
	for k := range s.items {
		if it := &s.items[k]; it.from >= from && it.to <= end {
			named = named || it.kind == isName && s.isReading(k)
			measured = measured || it.kind == isNumber && len(it.codes) > 0
		}
	}
	return named && measured
}

// spelt returns what is said letter by letter and digit by digit as it is written: "m r
// dash four seven one" is MR-471. It is "" for words.
func (s *scan) spelt(from, end int) string {
	var b strings.Builder
	times := 1 // "double four"
	for i := from; i < end; i++ {
		t := &s.toks[i]
		switch w := s.nums[i]; {
		case w.Class == number.Repeat && i+1 < end && s.nums[i+1].Class == number.Digit:
			times = int(w.N)
		case t.Text == "dash" || t.Text == "-" || t.Text == "hyphen":
			b.WriteByte('-')
		case t.Text == "slash" || t.Text == "/":
			b.WriteByte('/')
		case t.Kind == token.Numeral:
			b.WriteString(t.Raw)
		case w.Class == number.Digit || w.Class == number.Zero:
			b.WriteString(strings.Repeat(string(rune('0'+w.N%10)), times))
			times = 1
		case len(t.Text) == 1 && t.Kind == token.Word:
			b.WriteString(strings.ToUpper(t.Text))
		default:
			return ""
		}
	}
	return b.String()
}

// detailAsked returns the detail that a question names, "" for none.
func (s *scan) detailAsked() string {
	for i := range s.toks {
		if callout, _ := s.detailAt(i); callout != "" {
			return callout
		}
	}
	return ""
}
