package number

import "readback/parse/token"

// Number is a number as it stands in a note.
type Number struct {
	Value      Value
	Start, End int   // half-open range of tokens
	Spoken     bool  // in words, not in digits
	NeedsUnit  bool  // "half", "a quarter": a number only where a unit follows
	Whole      bool  // said as a whole number
	Torn       bool  // broken, since a number-like word touches its end: what follows is no number of its own
	Broken     bool  // a number-like word touches it that is no part of it, or it is too long: ask
	Other      Value // another honest reading ("1,250" is 1250 or 1.25), where HasOther
	HasOther   bool
	Why        string // what made it broken or ambiguous
}

// Reader reads numbers from the tokens of one note.
type Reader struct {
	Tokens []token.Token
	Words  []Word           // what each token can mean in a number
	Unit   func(i int) bool // whether a unit of measure starts at token i
	Slot   func(i int) bool // whether a word that takes an index starts at token i ("stage")
	Loose  bool             // no spec says what is spoken of: a dash with spaces joins number words ("fifty - two"), and a plural opens a list
}

// At returns the longest number that starts at token i. Small words and ordinals are
// no numbers by themselves: "a", "second", "to" and "for" never are.
func (r Reader) At(i int) (Number, bool) {
	n, ok := r.at(i)
	if !ok {
		return n, false
	}
	n.Start = i
	r.guard(&n)
	return n, true
}

// Head returns the number below a hundred, in words, that stands from token i up to end: the first
// of two that run into each other.
func (r Reader) Head(i, end int) (Number, bool) {
	n, at, ok := r.small(i)
	return Number{Value: Int(n), Start: i, End: end, Spoken: true, Whole: true}, ok && at == end
}

func (r Reader) at(i int) (Number, bool) {
	switch r.class(i) {
	case Minus:
		return r.negative(i, i+1)
	case Numeric, Vulgar:
		return r.numeral(i)
	case Half, Part, Article:
		if n, ok := r.fraction(i); ok {
			return n, true
		}
		return r.spoken(i)
	case Digit, Zero, Teen, Tens, Point, Repeat, Sounds, Hundred, Large:
		if n, ok := r.fraction(i); ok {
			return n, true
		}
		return r.spoken(i)
	case None:
		if r.isMinusSign(i) {
			return r.negative(i, i+1)
		}
		return Number{}, false
	case And, Of, Dozen, Nth:
		return Number{}, false
	}
	return Number{}, false
}

func (r Reader) negative(start, i int) (Number, bool) {
	if c := r.class(i); c == Minus || c == None {
		return Number{}, false
	}
	n, ok := r.at(i)
	if !ok || n.NeedsUnit {
		return Number{}, false
	}
	n.Value, n.Start = n.Value.Neg(), start
	if n.HasOther {
		n.Other = n.Other.Neg()
	}
	return n, true
}

// isMinusSign reports whether token i is a minus that belongs to the numeral after
// it, rather than a hyphen between two things.
func (r Reader) isMinusSign(i int) bool {
	if i+1 >= len(r.Tokens) || !isMinus(r.Tokens[i].Text) || !r.Tokens[i+1].Glued && i > 0 {
		return false
	}
	if c := r.class(i + 1); c != Numeric && c != Vulgar {
		return false
	}
	return i == 0 || !r.Tokens[i].Glued || r.Tokens[i-1].Kind == token.Sign
}

func isMinus(s string) bool { return s == "-" || s == "−" || s == "‒" || s == "–" }

func (r Reader) class(i int) Class {
	if i < 0 || i >= len(r.Words) {
		return None
	}
	return r.Words[i].Class
}

// hyphen returns the index after a hyphen that joins two words ("eighty-two"), or i.
func (r Reader) hyphen(i int) int {
	if i <= 0 || i+1 >= len(r.Tokens) || !isMinus(r.Tokens[i].Text) && r.Tokens[i].Text != "—" {
		return i
	}
	if r.Tokens[i].Glued && r.Tokens[i+1].Glued && (r.Tokens[i].Text != "—" || r.class(i+1) != Numeric) || r.Loose && r.class(i-1) != Numeric && r.class(i+1) != Numeric {
		return i + 1
	}
	return i
}

// guard marks n as broken where a number-like word touches either end of it. A
// number is taken whole or not at all.
func (r Reader) guard(n *Number) {
	at := r.hyphen(n.End)
	if at > n.End && r.class(at) == Numeric {
		return // 46-50 is a range
	}
	if r.Loose && r.Listed(n.Start) {
		return // "passes eight fourteen and twenty" are three
	}
	switch w := r.word(at); w.Class {
	case Digit, Zero, Teen, Tens, Hundred, Large, Repeat, Numeric, Vulgar:
		n.Torn, n.Broken, n.Why = true, true, "another number follows at once"
	case Point:
		n.Torn, n.Broken, n.Why = true, true, "a point follows without its digits"
	case Part:
		// "a hundred trillionths", "twenty fifth": no number ends there.
		if n.Spoken && !r.unit(at) && !r.slot(at+1) && (w.Many || n.Whole) {
			n.Broken, n.Why = true, "an ordinal or a fraction follows"
		}
	case Nth:
		if n.Spoken && n.Whole && !r.slot(at+1) {
			n.Broken, n.Why = true, "an ordinal follows"
		}
	case Sounds:
		// "end play up 81 to": a digit may have been lost there.
		if !w.Small || at+1 >= len(r.Words) {
			n.Torn, n.Broken, n.Why = true, true, "a word that sounds like a digit follows"
		}
	case None, And, Article, Half, Minus, Of, Dozen:
	}
}

// isOwe reports whether token i is a zero as it is spelt by ear, behind the point: "point
// owe three", "point o three".
func (r Reader) isOwe(i int) bool {
	if i < 1 || i >= len(r.Tokens) || r.Tokens[i].Text != "owe" && r.Tokens[i].Text != "o" {
		return false
	}
	return r.class(i-1) == Point || r.isOwe(i-1)
}

// onlyZeros reports whether the digits up to i are zeros behind a point: what ends the note
// behind "oh point oh" is a digit, or nothing was said.
func (r Reader) onlyZeros(i int) bool {
	for ; r.class(i) == Zero; i-- {
	}
	return r.class(i) == Point
}

func (r Reader) isDigitLike(i int) bool {
	if r.isOwe(i) {
		return true
	}
	switch r.class(i) {
	case Digit, Zero, Teen, Tens, Repeat, Numeric:
		return true
	case Sounds:
		return !r.Words[i].Small || r.isDigitLike(i+1) || r.unit(i+1) || i+1 == len(r.Words) && r.class(i-1) == Zero && r.onlyZeros(i-1)
	case None, Hundred, Large, Point, And, Article, Half, Part, Minus, Of, Dozen, Vulgar, Nth:
	}
	return false
}

func (r Reader) unit(i int) bool { return i < len(r.Tokens) && r.Unit != nil && r.Unit(i) }
func (r Reader) slot(i int) bool { return i < len(r.Tokens) && r.Slot != nil && r.Slot(i) }
