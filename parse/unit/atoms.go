package unit

import (
	"fmt"
	"math/big"
	"sync"
)

// atom is a unit code that is not made of others.
type atom struct {
	metric  bool // takes prefixes
	measure Measure
}

type prefix struct {
	code string
	ten  int // power of ten
}

// prefixes are those of UCUM 2.2, in the order in which they are tried: "da" first.
var prefixes = []prefix{
	{"da", 1},
	{"Y", 24},
	{"Z", 21},
	{"E", 18},
	{"P", 15},
	{"T", 12},
	{"G", 9},
	{"M", 6},
	{"k", 3},
	{"h", 2},
	{"d", -1},
	{"c", -2},
	{"m", -3},
	{"u", -6},
	{"n", -9},
	{"p", -12},
	{"f", -15},
	{"a", -18},
	{"z", -21},
	{"y", -24},
}

// definitions gives each atom by those above it, as UCUM 2.2 does. The inch is 2.54
// cm and the pound 0.45359237 kg by the international agreement of 1959, the standard
// acceleration 9.80665 m/s2 by the CGPM of 1901, the US gallon 231 cubic inches; see
// NIST SP 811, appendix B.
var definitions = []struct {
	code   string
	metric bool
	value  string
	of     string
}{
	// SI, and units used with it
	{"g", true, "1/1000", "kg"},
	{"mol", true, "602214076000000000000000", "1"},
	{"sr", true, "1", "rad2"},
	{"Hz", true, "1", "s-1"},
	{"N", true, "1", "kg.m/s2"},
	{"Pa", true, "1", "N/m2"},
	{"J", true, "1", "N.m"},
	{"W", true, "1", "J/s"},
	{"A", true, "1", "C/s"},
	{"V", true, "1", "J/C"},
	{"F", true, "1", "C/V"},
	{"Ohm", true, "1", "V/A"},
	{"S", true, "1", "Ohm-1"},
	{"Wb", true, "1", "V.s"},
	{"T", true, "1", "Wb/m2"},
	{"H", true, "1", "Wb/A"},
	{"lm", true, "1", "cd.sr"},
	{"lx", true, "1", "lm/m2"},
	{"L", true, "1/1000", "m3"},
	{"l", true, "1", "L"},
	{"ar", true, "100", "m2"},
	{"t", true, "1000", "kg"},
	{"bar", true, "100000", "Pa"},
	{"u", true, "1.66053906660/1000000000000000000000000000", "kg"},
	{"eV", true, "1.602176634/10000000000000000000", "J"},
	{"min", false, "60", "s"},
	{"h", false, "60", "min"},
	{"d", false, "24", "h"},
	{"wk", false, "7", "d"},
	{"a", false, "365.25", "d"},
	{"mo", false, "1/12", "a"},
	{"'", false, "1/60", "deg"},
	{"''", false, "1/60", "'"},
	{"gon", false, "0.9", "deg"},
	{"circ", false, "360", "deg"},
	// ratios
	{"10*", false, "10", "1"},
	{"10^", false, "10", "1"},
	{"%", false, "1/100", "1"},
	{"[ppth]", false, "1/1000", "1"},
	{"[ppm]", false, "1/1000000", "1"},
	{"[ppb]", false, "1/1000000000", "1"},
	// force and its kin
	{"[g]", true, "9.80665", "m/s2"},
	{"gf", true, "1", "g.[g]"},
	{"dyn", true, "1", "g.cm/s2"},
	{"erg", true, "1", "dyn.cm"},
	{"P", true, "1", "dyn.s/cm2"},
	{"St", true, "1", "cm2/s"},
	{"att", false, "1", "kgf/cm2"},
	{"atm", false, "101325", "Pa"},
	{"cal", true, "4.184", "J"},
	{"m[H2O]", true, "9.80665", "kPa"},
	{"m[Hg]", true, "133.3220", "kPa"},
	// international customary units
	{"[in_i]", false, "2.54", "cm"},
	{"[ft_i]", false, "12", "[in_i]"},
	{"[yd_i]", false, "3", "[ft_i]"},
	{"[mi_i]", false, "5280", "[ft_i]"},
	{"[mil_i]", false, "1/1000", "[in_i]"},
	{"[sin_i]", false, "1", "[in_i]2"},
	{"[sft_i]", false, "1", "[ft_i]2"},
	{"[cin_i]", false, "1", "[in_i]3"},
	{"[cft_i]", false, "1", "[ft_i]3"},
	{"[gr]", false, "64.79891", "mg"},
	{"[lb_av]", false, "7000", "[gr]"},
	{"[oz_av]", false, "1/16", "[lb_av]"},
	{"[dr_av]", false, "1/16", "[oz_av]"},
	{"[ston_av]", false, "2000", "[lb_av]"},
	{"[lton_av]", false, "2240", "[lb_av]"},
	{"[lbf_av]", false, "1", "[lb_av].[g]"},
	{"[psi]", false, "1", "[lbf_av]/[in_i]2"},
	{"[HP]", false, "550", "[ft_i].[lbf_av]/s"},
	{"[in_i'H2O]", false, "1", "m[H2O].[in_i]/m"},
	{"[in_i'Hg]", false, "1", "m[Hg].[in_i]/m"},
	// US survey, US and British volumes
	{"[ft_us]", false, "1200/3937", "m"},
	{"[in_us]", false, "1/12", "[ft_us]"},
	{"[acr_us]", false, "43560", "[ft_us]2"},
	{"[gal_us]", false, "231", "[in_i]3"},
	{"[bbl_us]", false, "42", "[gal_us]"},
	{"[qt_us]", false, "1/4", "[gal_us]"},
	{"[pt_us]", false, "1/8", "[gal_us]"},
	{"[cup_us]", false, "1/16", "[gal_us]"},
	{"[foz_us]", false, "1/128", "[gal_us]"},
	{"[tbs_us]", false, "1/2", "[foz_us]"},
	{"[tsp_us]", false, "1/6", "[foz_us]"},
	{"[gal_br]", false, "4.54609", "L"},
	{"[pt_br]", false, "1/8", "[gal_br]"},
	// temperature: differences here, zeros in special
	{"[degR]", false, "5/9", "K"},
}

var atoms = sync.OnceValue(makeAtoms)

func makeAtoms() map[string]atom {
	known := map[string]atom{}
	for i, code := range baseCodes {
		m := Measure{Factor: big.NewRat(1, 1)}
		m.powers[i] = 1
		known[code] = atom{metric: i != kilogram && i != degree, measure: m}
	}
	for _, d := range definitions {
		_, m, err := parse(d.of, known)
		if err != nil {
			panic(fmt.Sprintf("unit: definition of %s: %v", d.code, err))
		}
		m.Factor = new(big.Rat).Mul(ratio(d.value), m.Factor)
		known[d.code] = atom{metric: d.metric, measure: m}
	}
	delete(known, "kg") // from here on k + g
	special(known)
	return known
}

// special adds the two scales whose zero is not 0 K.
func special(known map[string]atom) {
	celsius := known["K"].measure
	celsius.Offset = ratio("273.15")
	known["Cel"] = atom{metric: true, measure: celsius}
	fahrenheit := known["[degR]"].measure
	fahrenheit.Offset = ratio("459.67")
	fahrenheit.Offset.Mul(fahrenheit.Offset, fahrenheit.Factor)
	known["[degF]"] = atom{measure: fahrenheit}
}

// ratio reads "1/12", "9.80665" or "1.66/1000" of our own tables.
func ratio(s string) *big.Rat {
	r := big.NewRat(1, 1)
	for i, part := range split(s, '/') {
		n, ok := new(big.Rat).SetString(part)
		if !ok {
			panic("unit: not a number: " + s)
		}
		if i == 0 {
			r = n
		} else {
			r.Quo(r, n)
		}
	}
	return r
}
