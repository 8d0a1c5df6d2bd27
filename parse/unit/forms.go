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
			for _, s := range distinct(spoken) {
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
	for _, f := range u.Forms {
		if f.Rank == 0 && t.bySay[f.Say] == nil {
			t.bySay[f.Say] = u
		}
	}
}

// expand writes out a pattern of alternatives, in order.
func expand(pattern string) []string {
	if pattern == "" {
		return nil
	}
	out, rest := alternatives(pattern)
	if rest != "" {
		panic("unit: brackets of " + pattern)
	}
	return out
}

// alternatives reads up to a closing bracket or the end.
func alternatives(p string) (out []string, rest string) {
	seq := []string{""}
	for p != "" && p[0] != ')' {
		switch p[0] {
		case '|':
			out, seq, p = append(out, seq...), []string{""}, p[1:]
		case '(':
			var inner []string
			inner, p = alternatives(p[1:])
			seq, p = product(seq, inner), strings.TrimPrefix(p, ")")
		default:
			n := strings.IndexAny(p, "|()")
			if n < 0 {
				n = len(p)
			}
			seq, p = product(seq, []string{p[:n]}), p[n:]
		}
	}
	return append(out, seq...), p
}

func product(a, b []string) []string {
	out := make([]string, 0, len(a)*len(b))
	for _, x := range a {
		for _, y := range b {
			out = append(out, x+y)
		}
	}
	return out
}

// distinct drops what came before, and the empty form.
func distinct(forms []string) []string {
	out, seen := forms[:0:0], make(map[string]bool, len(forms))
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
