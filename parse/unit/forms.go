package unit

import (
	"slices"
	"strings"
)

// row is a unit as the table writes it down. In say and write, "|" parts forms, and
// brackets hold alternatives: "met(re|er)(s|)" is metre, metres, meter and meters.
type row struct {
	code      string
	dimension Dimension
	one, many string
	symbol    string
	say       string // spoken and misheard, in lower case; one and many come by themselves
	write     string // symbols, in their proper case
	source    string
}

// Where sizes are defined.
const (
	si    = "SI Brochure"
	sp811 = "NIST SP 811, B.8"
	ucum  = "UCUM 2.2"
)

// Words that many rows share.
const (
	metres  = "met(re|er)(s|)"
	litres  = "(lit(re|er)(s|)|leaders)"
	pounds  = "(pound|pounds|lb|lbs|lbf|pound force|pounds force)"
	per     = " (per|a|an|each|/) "
	seconds = "(second|sec|s)"
	minutes = "(minute|min)"
	hours   = "(hour|hr|h)"
)

func (r row) unit() Unit {
	_, m, err := parse(r.code, atoms())
	if err != nil {
		panic("unit: row " + r.code + ": " + err.Error())
	}
	return Unit{
		Code: r.code, Dimension: r.dimension, One: r.one, Many: r.many, Symbol: r.symbol,
		Factor: m.Factor, Offset: m.Offset, Source: r.source, measure: m,
	}
}

// addForms gives every row its forms: what is said, what is written, what is written
// in lower case where that is no other unit's symbol, and slang.
func (t *units) addForms(rows []row) {
	shared := slangForms()
	symbols := map[string]int{} // how many units are written so when case is dropped
	for _, r := range rows {
		for _, w := range distinct(lowerAll(expand(r.write))) {
			symbols[w]++
		}
	}
	for i, r := range rows {
		u := &t.rows[i]
		if r.say != "" || r.write != "" {
			spoken := append([]string{strings.ToLower(r.one), strings.ToLower(r.many)}, expand(r.say)...)
			spoken = distinct(spoken)
			u.Forms = make([]Form, 0, len(spoken)+8)
			for _, s := range spoken {
				if !shared[s] {
					u.Forms = append(u.Forms, Form{Say: s})
				}
			}
		}
		written := expand(r.write)
		for _, w := range written {
			if lower := strings.ToLower(w); len(lower) > 1 && symbols[lower] == 1 {
				written = append(written, lower)
			}
		}
		for _, w := range distinct(written) {
			if !shared[w] {
				u.Forms = append(u.Forms, Form{Say: w, Symbol: true})
			}
		}
	}
	for _, s := range slang {
		for _, say := range expand(s.say) {
			for rank, code := range s.codes {
				i := slices.IndexFunc(t.rows, func(u Unit) bool { return u.Code == code })
				t.rows[i].Forms = append(t.rows[i].Forms, Form{Say: say, Symbol: s.symbol, Slang: true, Rank: rank})
			}
		}
	}
}

// index makes a row findable.
func (t *units) index(u *Unit) {
	t.byCode[u.Code] = u
	if terms, _, err := parse(u.Code, atoms()); err == nil && t.byTerms[terms] == nil {
		t.byTerms[terms] = u
	}
}

// expand writes out a pattern of alternatives, in order. It makes one string a form and
// little else: this is done at every start of the program.
func expand(pattern string) []string {
	if pattern == "" {
		return nil
	}
	e := expander{rest: pattern}
	tree := e.alternatives()
	if e.rest != "" {
		panic("unit: brackets of " + pattern)
	}
	out := make([]string, 0, tree.count())
	tree.each(make([]byte, 0, 80), func(form []byte) { out = append(out, string(form)) })
	return out
}

// choice is alternatives, each a row of parts; a part is text, or a choice in brackets.
type choice [][]part

type part struct {
	text  string
	inner choice // nil for text
}

// count returns how many forms there are.
func (c choice) count() (n int) {
	for _, row := range c {
		forms := 1
		for _, p := range row {
			if p.inner != nil {
				forms *= p.inner.count()
			}
		}
		n += forms
	}
	return n
}

// each calls emit with every form behind prefix. What emit gets is valid for the call.
func (c choice) each(prefix []byte, emit func([]byte)) {
	for _, row := range c {
		eachRow(row, prefix, emit)
	}
}

func eachRow(row []part, prefix []byte, emit func([]byte)) {
	for i, p := range row {
		if p.inner != nil {
			p.inner.each(prefix, func(form []byte) { eachRow(row[i+1:], form, emit) })
			return
		}
		prefix = append(prefix, p.text...)
	}
	emit(prefix)
}

type expander struct{ rest string }

// alternatives reads up to a closing bracket or the end.
func (e *expander) alternatives() choice {
	c := choice{nil}
	for e.rest != "" && e.rest[0] != ')' {
		row := &c[len(c)-1]
		switch e.rest[0] {
		case '|':
			c, e.rest = append(c, nil), e.rest[1:]
		case '(':
			e.rest = e.rest[1:]
			*row = append(*row, part{inner: e.alternatives()})
			e.rest = strings.TrimPrefix(e.rest, ")")
		default:
			n := strings.IndexAny(e.rest, "|()")
			if n < 0 {
				n = len(e.rest)
			}
			*row = append(*row, part{text: e.rest[:n]})
			e.rest = e.rest[n:]
		}
	}
	return c
}

// distinct drops what came before, and the empty form, in place.
func distinct(forms []string) []string {
	out := forms[:0]
	if len(forms) < 32 {
		for _, f := range forms {
			if f != "" && !slices.Contains(out, f) {
				out = append(out, f)
			}
		}
		return out
	}
	seen := make(map[string]bool, len(forms))
	for _, f := range forms {
		if f != "" && !seen[f] {
			seen[f] = true
			out = append(out, f)
		}
	}
	return out
}

func lowerAll(forms []string) []string {
	out := make([]string, len(forms))
	for i, f := range forms {
		out[i] = strings.ToLower(f)
	}
	return out
}
