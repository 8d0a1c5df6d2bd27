// Package unit knows the units of the trade: one row a unit, with its code, its
// exact size, and every way in which it is spoken, written or misheard. The machine
// form of a unit is its UCUM code; people see and hear [Unit.Symbol] and
// [Unit.Speak].
//
// Sizes are rational numbers, never floats; [Convert] is exact, and rounding is for
// show alone ([Show]). Start reading at [All]; [Parse] takes any code that is built
// of UCUM's atoms, whether or not it has a row.
package unit

import (
	"math/big"
	"slices"
	"strings"
	"sync"
)

// Unit is one row of the table. Rows are shared: nothing in them may be changed.
type Unit struct {
	Code      string // UCUM 2.2, case-sensitive: "N.m", "[ft_i].[lbf_av]"
	Dimension Dimension
	One, Many string   // how it is read aloud: "newton metre", "newton metres"
	Symbol    string   // how it is shown: "N·m"
	Factor    *big.Rat // size in SI base units; in degrees for [Angle]
	Offset    *big.Rat // K at the zero of Cel and [degF]; nil for all others
	Forms     []Form   // what is said, heard and written for it
	Source    string   // where the size is defined

	measure Measure
}

// Form is one way to say or write a unit.
type Form struct {
	Say    string // words separated by single spaces, in lower case unless Symbol
	Symbol bool   // a written symbol, in which case is meaning: "mN", "MOhm"
	Slang  bool   // several units share it: "mil", "pounds", "degrees"
	Rank   int    // 0 for the likeliest of the units that share it, then 1, 2 ...
}

// Speak returns the unit as read aloud: after "one", or after any other number.
func (u *Unit) Speak(plural bool) string {
	if plural {
		return u.Many
	}
	return u.One
}

// Measure returns what [Parse] gives for the unit's code.
func (u *Unit) Measure() Measure { return u.measure }

// All returns the rows in a fixed order, by dimension.
func All() []Unit { return slices.Clone(table().rows) }

// Lookup returns the row of a UCUM code. Other spellings of the same code find it as
// well: "[lbf_av].[ft_i]", "l/min", "1/min" for "{rev}/min".
func Lookup(code string) (*Unit, bool) {
	t := table()
	if u, ok := t.byCode[code]; ok {
		return u, true
	}
	normal, _, err := parse(code, atoms())
	if err != nil {
		return nil, false
	}
	u, ok := t.byTerms[normal]
	return u, ok
}

// Suggest returns the code of the unit that is written or spoken so, for people who
// write "Nm" where a code is called for. Slang gives its likeliest unit.
func Suggest(said string) (code string, ok bool) {
	said = strings.TrimSpace(said)
	if u, ok := bySay()[said]; ok {
		return u.Code, true
	}
	plain := strings.NewReplacer("-", " ", "·", " ", ".", " ").Replace(said)
	for _, form := range []string{plain, strings.ToLower(plain)} {
		if u, ok := bySay()[form]; ok {
			return u.Code, true
		}
	}
	return "", false
}

type units struct {
	rows    []Unit
	byCode  map[string]*Unit
	byTerms map[string]*Unit // terms sorted: the same unit in another order
}

var table = sync.OnceValue(build)

// bySay finds the likeliest unit that is said or written so.
var bySay = sync.OnceValue(func() map[string]*Unit {
	t, out := table(), map[string]*Unit{}
	for i := range t.rows {
		for _, f := range t.rows[i].Forms {
			if f.Rank == 0 && out[f.Say] == nil {
				out[f.Say] = &t.rows[i]
			}
		}
	}
	return out
})

func build() *units {
	rows := make([]row, 0, 200)
	for _, list := range [][]row{
		torques(), forces(), lengths(), areas(), volumes(), flows(), velocities(), masses(), pressures(),
		temperatures(), electrics(), powerUnits(), times(), angles(), ratios(),
	} {
		rows = append(rows, list...)
	}
	t := &units{byCode: map[string]*Unit{}, byTerms: map[string]*Unit{}}
	t.rows = make([]Unit, 0, len(rows))
	for _, r := range rows {
		t.rows = append(t.rows, r.unit())
	}
	t.addForms(rows)
	for i := range t.rows {
		t.index(&t.rows[i])
	}
	return t
}
