package spec

import (
	"slices"
	"strings"

	"readback/parse/unit"
)

// unitMend says what to write for a code that is not known: the code of a unit that is
// spoken so, or those of the quantity that it looks like. The hints are words around it:
// the callout's id, other units of it.
func unitMend(code string, hints ...string) string {
	if better, found := unit.Suggest(code); found {
		return "write " + better
	}
	dimension := likeDimension(code, hints)
	if dimension == "" {
		return "use a UCUM code such as N.m, mm or MOhm"
	}
	var codes []string
	for _, u := range unit.All() {
		if u.Dimension == dimension && len(codes) < 8 {
			codes = append(codes, u.Code)
		}
	}
	return "units of " + string(dimension) + ": " + strings.Join(codes, ", ")
}

// likeDimension guesses the quantity that a code is meant for, "" where nothing tells.
func likeDimension(code string, hints []string) unit.Dimension {
	for _, h := range hints {
		if u, ok := unit.Lookup(h); ok {
			return u.Dimension
		}
	}
	all := unit.All()
	for _, h := range hints {
		for _, word := range strings.FieldsFunc(h, func(r rune) bool { return r == '_' || r == '-' || r == ' ' }) {
			if i := slices.IndexFunc(all, func(u unit.Unit) bool { return string(u.Dimension) == word }); i >= 0 {
				return all[i].Dimension
			}
		}
	}
	best, most := unit.Dimension(""), 0
	said := atoms(code)
	for _, u := range all {
		parts := atoms(u.Code)
		score := 0
		for _, a := range said {
			if slices.Contains(parts, a) {
				score += 2
			}
		}
		if score > 0 && len(parts) == len(said) {
			score++
		}
		if score > most {
			best, most = u.Dimension, score
		}
	}
	return best
}

// atoms returns the units that a code is a product or quotient of.
func atoms(code string) []string {
	return strings.FieldsFunc(code, func(r rune) bool { return r == '.' || r == '/' })
}
