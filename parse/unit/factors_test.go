package unit_test

import (
	"math/big"
	"strings"
	"testing"

	"readback/parse/unit"
)

// Sources of the sizes below. The definitions: NIST SP 811 (2008), appendix B (inch,
// pound, standard gravity, US gallon; footnotes 4, 7, 8 and 9 from memory), the
// imperial gallon of 4.54609 L from the same tables. Where UCUM decides what a code
// is (mercury, the acre of US survey feet, the mean Gregorian month, year = 365.25 d):
// UCUM 2.2.
const (
	inch    = "0.0254"     // m
	foot    = "0.3048"     // m
	pound   = "0.45359237" // kg
	gravity = "9.80665"    // m/s2
	surveyX = "1200"       // US survey foot: 1200/3937 m
	surveyY = "/3937"
)

// sizes rebuilds every row from those definitions: a product of decimals, "/" in
// front of one to divide by it. In SI base units, Angle in degrees.
var sizes = map[string][]string{
	// torque
	"N.m": {"1"}, "kN.m": {"1000"}, "daN.m": {"10"}, "N.cm": {"0.01"}, "N.mm": {"0.001"}, "mN.m": {"0.001"},
	"[ft_i].[lbf_av]":    {foot, pound, gravity},
	"[in_i].[lbf_av]":    {inch, pound, gravity},
	"[oz_av].[g].[in_i]": {pound, "/16", gravity, inch},
	"kgf.m":              {gravity},
	"kgf.cm":             {gravity, "0.01"},
	"dyn.cm":             {"1e-5", "0.01"},
	// force
	"N": {"1"}, "kN": {"1000"}, "mN": {"0.001"},
	"[lbf_av]":    {pound, gravity},
	"kgf":         {gravity},
	"[oz_av].[g]": {pound, "/16", gravity},
	// length
	"mm": {"0.001"}, "m": {"1"}, "cm": {"0.01"}, "dm": {"0.1"}, "km": {"1000"},
	"um": {"1e-6"}, "nm": {"1e-9"}, "pm": {"1e-12"},
	"[in_i]":       {inch},
	"[mil_i]":      {inch, "0.001"},
	"10*-6.[in_i]": {inch, "1e-6"},
	"10*-4.[in_i]": {inch, "1e-4"},
	"[ft_i]":       {"12", inch},
	"[yd_i]":       {"36", inch},
	"[mi_i]":       {"5280", foot},
	// area
	"m2": {"1"}, "cm2": {"1e-4"}, "mm2": {"1e-6"}, "km2": {"1e6"},
	"[sft_i]":  {foot, foot},
	"[sin_i]":  {inch, inch},
	"[acr_us]": {"43560", surveyX, surveyY, surveyX, surveyY},
	// volume
	"L": {"0.001"}, "mL": {"1e-6"}, "cL": {"1e-5"}, "hL": {"0.1"}, "m3": {"1"}, "cm3": {"1e-6"},
	"[gal_us]": {"231", inch, inch, inch},
	"[gal_br]": {"4.54609", "0.001"},
	"[qt_us]":  {"231", inch, inch, inch, "/4"},
	"[pt_us]":  {"231", inch, inch, inch, "/8"},
	"[pt_br]":  {"4.54609", "0.001", "/8"},
	"[cup_us]": {"231", inch, inch, inch, "/16"},
	"[foz_us]": {"231", inch, inch, inch, "/128"},
	"[tbs_us]": {"231", inch, inch, inch, "/256"},
	"[tsp_us]": {"231", inch, inch, inch, "/768"},
	"[cft_i]":  {foot, foot, foot},
	"[cin_i]":  {inch, inch, inch},
	"[bbl_us]": {"42", "231", inch, inch, inch},
	// flow
	"L/min": {"0.001", "/60"}, "L/s": {"0.001"}, "L/h": {"0.001", "/3600"}, "mL/min": {"1e-6", "/60"},
	"m3/h": {"1", "/3600"}, "m3/min": {"1", "/60"}, "m3/s": {"1"},
	"[gal_us]/min": {"231", inch, inch, inch, "/60"},
	"[gal_br]/min": {"4.54609", "0.001", "/60"},
	"[cft_i]/min":  {foot, foot, foot, "/60"},
	// velocity
	"m/s": {"1"}, "mm/s": {"0.001"}, "cm/s": {"0.01"}, "m/min": {"1", "/60"}, "km/h": {"1000", "/3600"},
	"[mi_i]/h":   {"5280", foot, "/3600"},
	"[ft_i]/s":   {foot},
	"[ft_i]/min": {foot, "/60"},
	"[in_i]/s":   {inch},
	// mass
	"kg": {"1"}, "g": {"0.001"}, "mg": {"1e-6"}, "ug": {"1e-9"}, "t": {"1000"},
	"[lb_av]":   {pound},
	"[oz_av]":   {pound, "/16"},
	"[dr_av]":   {pound, "/256"},
	"[ston_av]": {"2000", pound},
	"[lton_av]": {"2240", pound},
	// pressure
	"bar": {"100000"}, "kPa": {"1000"}, "MPa": {"1e6"}, "Pa": {"1"}, "mbar": {"100"},
	"[psi]":         {pound, gravity, "/" + inch, "/" + inch},
	"att":           {gravity, "/0.01", "/0.01"},
	"atm":           {"101325"},
	"[in_i'Hg]":     {"133322.0", inch},
	"mm[Hg]":        {"133322.0", "0.001"},
	"[in_i'H2O]":    {"1000", gravity, inch},
	"12.[in_i'H2O]": {"1000", gravity, foot},
	"m[H2O]":        {"1000", gravity},
	"cm[H2O]":       {"1000", gravity, "0.01"},
	"mm[H2O]":       {"1000", gravity, "0.001"},
	// temperature
	"Cel": {"1"}, "K": {"1"}, "[degF]": {"5", "/9"}, "[degR]": {"5", "/9"},
	// electricity
	"Ohm": {"1"}, "MOhm": {"1e6"}, "GOhm": {"1e9"}, "kOhm": {"1000"}, "mOhm": {"0.001"}, "uOhm": {"1e-6"}, "TOhm": {"1e12"},
	"V": {"1"}, "kV": {"1000"}, "mV": {"0.001"},
	"A": {"1"}, "mA": {"0.001"}, "uA": {"1e-6"}, "kA": {"1000"}, "uF": {"1e-6"},
	// power and energy
	"W": {"1"}, "kW": {"1000"}, "J": {"1"}, "kJ": {"1000"}, "kW.h": {"1000", "3600"},
	"[HP]":       {"550", foot, pound, gravity},
	"75.kgf.m/s": {"75", gravity},
	// time
	"s": {"1"}, "min": {"60"}, "h": {"3600"}, "d": {"86400"}, "wk": {"7", "86400"}, "ms": {"0.001"},
	"mo": {"365.25", "86400", "/12"},
	"a":  {"365.25", "86400"},
	"Hz": {"1"}, "kHz": {"1000"}, "{rev}/min": {"1", "/60"},
	// angle, ratio
	"deg": {"1"}, "circ": {"360"}, "'": {"1", "/60"}, "''": {"1", "/3600"}, "rad": {"1"},
	"1": {"1"}, "%": {"0.01"}, "[ppm]": {"1e-6"},
}

func product(t *testing.T, factors []string) *big.Rat {
	t.Helper()
	out := big.NewRat(1, 1)
	for _, f := range factors {
		digits, divide := strings.CutPrefix(f, "/")
		r := rat(t, digits)
		if divide {
			r.Inv(r)
		}
		out.Mul(out, r)
	}
	return out
}

func rat(t *testing.T, s string) *big.Rat {
	t.Helper()
	r, ok := new(big.Rat).SetString(s)
	if !ok {
		t.Fatalf("%q is no number", s)
	}
	return r
}

func TestFactorsFromDefinitions(t *testing.T) {
	seen := map[string]bool{}
	for _, u := range unit.All() {
		if seen[u.Code] {
			t.Errorf("%s has two rows", u.Code)
		}
		seen[u.Code] = true
		def, ok := sizes[u.Code]
		if !ok {
			t.Errorf("%s has no definition in this test; add one", u.Code)
			continue
		}
		if want := product(t, def); u.Factor.Cmp(want) != 0 {
			t.Errorf("%s is %s, want %s", u.Code, u.Factor.RatString(), want.RatString())
		}
		if m, err := unit.Parse(u.Code); err != nil || m.Factor.Cmp(u.Factor) != 0 {
			t.Errorf("Parse(%q) = %v, %v: not the size of the row", u.Code, m.Factor, err)
		}
	}
	for code := range sizes {
		if !seen[code] {
			t.Errorf("%s is defined in this test but has no row", code)
		}
	}
}

// The zeros of the two scales: 0 degC = 273.15 K, 0 degF = 459.67 x 5/9 K (SP 811, B.8).
func TestOffsets(t *testing.T) {
	zeros := map[string][]string{"Cel": {"273.15"}, "[degF]": {"459.67", "5", "/9"}}
	for _, u := range unit.All() {
		def, ok := zeros[u.Code]
		switch {
		case !ok && u.Offset != nil:
			t.Errorf("%s has an offset of %s", u.Code, u.Offset.RatString())
		case ok && (u.Offset == nil || u.Offset.Cmp(product(t, def)) != 0):
			t.Errorf("%s has its zero at %v K, want %v", u.Code, u.Offset, def)
		}
	}
}

// Seven digits as printed in SP 811, B.8 (the last five from memory).
func TestFactorsAsPrinted(t *testing.T) {
	printed := map[string]string{
		"[ft_i].[lbf_av]":    "1.355818",
		"[in_i].[lbf_av]":    "0.1129848",
		"kgf.m":              "9.806650",
		"[psi]":              "6894.757",
		"att":                "98066.50",
		"atm":                "101325",
		"[oz_av].[g].[in_i]": "0.007061552",
		"12.[in_i'H2O]":      "2989.067",
		"[gal_us]/min":       "0.00006309020",
		"[HP]":               "745.6999",
	}
	for code, want := range printed {
		u, ok := unit.Lookup(code)
		if !ok {
			t.Errorf("%s has no row", code)
			continue
		}
		_, decimals, _ := strings.Cut(want, ".")
		if got := u.Factor.FloatString(len(decimals)); got != want {
			t.Errorf("%s is %s, printed as %s", code, got, want)
		}
	}
}

func TestUnitsOfOneDimensionConvert(t *testing.T) {
	byDimension := map[unit.Dimension]unit.Unit{}
	for _, u := range unit.All() {
		first, ok := byDimension[u.Dimension]
		if !ok {
			byDimension[u.Dimension] = u
			continue
		}
		if !u.Measure().Comparable(first.Measure()) {
			t.Errorf("%s and %s are both %s and do not convert", first.Code, u.Code, u.Dimension)
		}
	}
	if a, b := byDimension[unit.Torque], byDimension[unit.Length]; a.Measure().Comparable(b.Measure()) {
		t.Error("a torque converts into a length")
	}
}
