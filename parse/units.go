package parse

import (
	"slices"
	"strings"

	"readback/parse/lexicon"
	"readback/parse/unit"
)

// meanings returns the units that an item's unit words can stand for, likeliest
// first. Case decides between written symbols where it is meaning (mOhm, MOhm); where
// it fits none it is forgiven.
func (s *scan) meanings(it *item) (out []string) {
	if len(it.codes) == 1 {
		return append(out, s.v.units[it.codes[0]].code)
	}
	if len(it.codes) == 0 {
		return out
	}
	keep := s.exactly(it)
	if !slices.ContainsFunc(it.codes, func(id int32) bool { return keep(&s.v.units[id]) }) {
		keep = func(*unitForm) bool { return true }
	}
	for rank := range 6 {
		for _, id := range it.codes {
			if f := &s.v.units[id]; keep(f) && f.rank == rank && !slices.Contains(out, f.code) {
				out = append(out, f.code)
			}
		}
	}
	return out
}

// exactly returns what a form must be to count: written exactly so, or a spoken word.
func (s *scan) exactly(it *item) func(*unitForm) bool {
	raw := s.unitText(it)
	for _, id := range it.codes {
		if s.v.units[id].exact == raw {
			return func(f *unitForm) bool { return f.exact == raw }
		}
	}
	return func(f *unitForm) bool { return f.spoken }
}

// unitText returns the unit of an item as written, without joining signs.
func (s *scan) unitText(it *item) string {
	var b strings.Builder
	for i := max(it.from, it.num.End); i < it.to; i++ {
		if !lexicon.Joins(s.toks[i]) {
			b.WriteString(s.toks[i].Raw)
		}
	}
	return b.String()
}

// dimension returns the dimension of a code, "" for none.
func dimension(code string) unit.Dimension {
	if u, ok := unit.Lookup(code); ok {
		return u.Dimension
	}
	return ""
}

// fitting returns those of the codes that have the dimension.
func fitting(codes []string, dim unit.Dimension) []string {
	var out []string
	for _, c := range codes {
		if dimension(c) == dim {
			out = append(out, c)
		}
	}
	return out
}
