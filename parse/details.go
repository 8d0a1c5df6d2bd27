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
		return s.spelledReply(u)
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

// detail makes the mark of one detail that is named at token at; its words are the tokens
// [from, end). Where they hold something else that is to be recorded, or are put off, it is asked.
func (s *scan) detail(u *Utterance, callout string, at, from, end int) {
	numbered := s.digitAt(from+1) && s.spelt(from+1, end) != "" && slices.Contains([]string{"number", "no", "#"}, s.textAt(from)) // "serial number four"
	for from < end && (numbered || slices.Contains([]string{":", "is", "was", "are", "-", "reads", "says", ","}, s.toks[from].Text)) {
		from, numbered = from+1, false
	}
	name := s.note[s.toks[at].Start:s.toks[min(from, len(s.toks))-1].End]
	open := Mark{Target: Target{Callout: callout}}
	if from >= end {
		u.Asks = append(u.Asks, Ask{Doubt: Missing, Words: name, Mark: &open})
		return
	}
	open.Span = Span{s.toks[from].Start, s.toks[end-1].End}
	open.Is = s.spelt(from, end)
	spelt := open.Is != ""
	if !spelt {
		open.Is = strings.TrimSpace(s.note[open.Span.Start:open.Span.End])
	}
	open.Corrects = s.textAt(0) == "correction" || s.hasCue(cueCorrect) && at > 0
	switch {
	case s.putOff(end):
		u.Asks = append(u.Asks, Ask{Doubt: Missing, Words: name, Mark: &Mark{Target: open.Target}})
	case !spelt && s.moreSaid(from, end):
		u.Asks = append(u.Asks, Ask{Doubt: Unknown, Words: s.note[open.Span.Start:open.Span.End], Mark: &Mark{Target: open.Target}})
	default:
		u.Marks = append(u.Marks, open)
	}
}

func (s *scan) textAt(i int) string {
	if i < 0 || i >= len(s.toks) {
		return ""
	}
	return s.toks[i].Text
}

// digitAt reports whether a digit or a single letter stands at token i.
func (s *scan) digitAt(i int) bool {
	if i >= len(s.toks) {
		return false
	}
	c := s.nums[i].Class
	return s.toks[i].Kind == token.Numeral || c == number.Digit || c == number.Zero || c == number.Repeat || s.toks[i].Kind == token.Word && len(s.toks[i].Text) == 1
}

// putOff reports whether the words only say that it will be told: "later", "to follow".
func (s *scan) putOff(end int) bool {
	last := s.textAt(end - 1)
	return last == "later" || last == "follow" && s.textAt(end-2) == "to" || last == "tomorrow"
}

// moreSaid reports whether something that is to be recorded is said between two tokens: a reading
// with a number, a mark behind a stop or "and", or that something said does not count. Among the
// words of a detail it would be lost.
func (s *scan) moreSaid(from, end int) bool {
	named, counted := false, false
	for k := range s.items {
		it := &s.items[k]
		if it.from < from || it.to > end {
			continue
		}
		switch it.kind {
		case isName:
			named = named || s.isReading(k)
			if !s.isReading(k) && (s.behindStop(it.from, from) || s.nameOf(it).Kind == Event) {
				return true
			}
		case isNumber:
			counted = true
		case isChoice:
			if s.behindStop(it.from, from) {
				return true
			}
		case isCue:
			if it.cue == cueScratch || it.cue == cueCorrect && it.from > from {
				return true
			}
		case isWord, isFiller, isIndex, isUnit, isSlot, isThing, isWrong, isDrop:
		}
	}
	return named && counted
}

// behindStop reports whether a stop or "and" stands between tokens from and at.
func (s *scan) behindStop(at, from int) bool {
	for i := from; i < at; i++ {
		switch s.toks[i].Text {
		case ",", ";", ".", "and", "then":
			return true
		}
	}
	return false
}

// spelledReply takes what is said letter by letter for the detail whose words were asked for.
func (s *scan) spelledReply(u *Utterance) bool {
	open := s.ctx.Open
	if open == nil || open.Is != "" || len(s.toks) == 0 || !s.isDetail(open.Callout) {
		return false
	}
	is := s.spelt(0, len(s.toks))
	if is == "" {
		return false
	}
	u.Kind = Remark
	u.Marks = []Mark{{Target: open.Target, Is: is, Span: Span{s.toks[0].Start, s.toks[len(s.toks)-1].End}}}
	return true
}

func (s *scan) isDetail(callout string) bool {
	n, ok := s.v.name(callout)
	return ok && n.Kind == Detail
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
