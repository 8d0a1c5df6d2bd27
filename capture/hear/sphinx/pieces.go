package sphinx

import (
	"math"
	"strconv"
	"strings"
)

// piece is a part of a grammar.
type piece struct {
	word, rule string
	row        []piece // one behind the other
	choice     []piece // one of them
	logs       []float64
	loop       bool // row[0], any number of times
	once       bool // and at least once
}

// grammar is the rules of a grammar that has been read.
type grammar struct {
	rules  map[string]piece
	public string
}

// rulesOf reads a grammar that [CheckGrammar] has passed.
func rulesOf(jsgf string) *grammar {
	toks, _ := tokens(strings.TrimPrefix(strings.TrimSpace(jsgf), header)) // it has passed
	g := &grammar{rules: map[string]piece{}}
	r := &reader{rest: toks[3:]} // grammar note ;
	for len(r.rest) > 0 {
		name := r.next()
		if name == "public" {
			name = r.next()
			g.public = name
		}
		r.next() // =
		g.rules[name] = r.choice()
		r.next() // ;
	}
	return g
}

// reader reads tokens from left to right.
type reader struct{ rest []string }

func (r *reader) next() string {
	if len(r.rest) == 0 {
		return ""
	}
	t := r.rest[0]
	r.rest = r.rest[1:]
	return t
}

func (r *reader) peek() string {
	if len(r.rest) == 0 {
		return ""
	}
	return r.rest[0]
}

// choice reads alternatives up to what closes them.
func (r *reader) choice() piece {
	var out piece
	for {
		log := 0.0
		if w := r.peek(); len(w) > 2 && w[0] == '/' {
			x, err := strconv.ParseFloat(strings.Trim(r.next(), "/ "), 64)
			if err == nil {
				log = math.Log(x)
			}
		}
		out.choice, out.logs = append(out.choice, r.row()), append(out.logs, log)
		if r.peek() != "|" {
			return out
		}
		r.next()
	}
}

// row reads one alternative.
func (r *reader) row() piece {
	var out piece
	for {
		t := r.peek()
		if t == "" || t == "|" || t == ";" || t == ")" || t == "]" {
			return out
		}
		p := r.item()
		for t := r.peek(); t == "*" || t == "+"; t = r.peek() {
			r.next()
			p = piece{row: []piece{p}, loop: true, once: t == "+"}
		}
		out.row = append(out.row, p)
	}
}

// item reads a word, a rule or what stands in brackets.
func (r *reader) item() (p piece) {
	switch t := r.next(); {
	case t == "(" || t == "[":
		p = r.choice()
		r.next()
		if t == "[" {
			p.choice, p.logs = append(p.choice, piece{}), append(p.logs, 0)
		}
	case t == "<NULL>":
	case isRule(t):
		p.rule = t
	default:
		p.word = t
	}
	return p
}
