package grammar

import (
	"slices"
	"strings"

	"readback/parse/unit"
)

// said holds how the units of the bench are said, where that is more or other than their two names
// in the table of units. All of them stand in that table; what is misheard for them does too, and is
// left there.
var said = map[string]string{
	"mm":              "millimetre|millimetres|mil|mils",
	"um":              "micron|microns|mike|mikes",
	"[mil_i]":         "thou|thous",
	"MOhm":            "megohm|megohms|meg|megs|mega ohms",
	"GOhm":            "gigohm|gigohms|gig|gigs|giga ohms",
	"Cel":             "degree|degrees|degrees celsius|degrees c|degrees centigrade|celsius",
	"[degF]":          "degrees fahrenheit|degrees f|fahrenheit",
	"deg":             "degree|degrees",
	"[psi]":           "p s i|pounds per square inch|pounds",
	"[ft_i].[lbf_av]": "foot pound|foot pounds|pound feet",
	"L/min":           "litre a minute|litres a minute|litres per minute",
	"L/s":             "litre a second|litres a second|litres per second",
	"L/h":             "litres an hour|litres per hour",
	"m3/h":            "cubic metre an hour|cubic metres an hour|cubic metres per hour|cubes an hour|cubes",
	"[gal_us]/min":    "gallons a minute|gallons per minute|g p m",
	"[gal_br]/min":    "imperial gallons a minute",
	"{rev}/min":       "revs a minute|revs per minute|r p m|revs",
	"%":               "per cent",
}

// beside holds which units are in use beside a callout's own, by what is measured. Those that the
// callout itself names come to them.
var beside = map[string][]string{
	"torque":           {"N.m", "[ft_i].[lbf_av]", "[in_i].[lbf_av]"},
	"length":           {"mm", "[mil_i]", "um", "[in_i]"},
	"length of metres": {"m", "[ft_i]"},
	"resistance":       {"Ohm", "mOhm", "kOhm"},
	"insulation":       {"MOhm", "GOhm"},
	"voltage":          {"V", "kV"},
	"pressure":         {"bar", "[psi]", "kPa"},
	"flow":             {"L/min", "m3/h", "L/s"},
	"volume":           {"L", "mL"},
	"temperature":      {"Cel", "[degF]"},
	"angle":            {"deg"},
	"time":             {"s", "min", "h"},
	"current":          {"A", "mA"},
	"mass":             {"kg", "g"},
}

// measured says what a unit measures, as far as people tell it apart: nobody says a pump's head in
// thou, nor a winding in megohms.
func measured(u *unit.Unit) string {
	switch u.Code {
	case "m", "[ft_i]", "km", "[yd_i]", "[mi_i]":
		return "length of metres"
	case "MOhm", "GOhm", "TOhm":
		return "insulation"
	}
	return string(u.Dimension)
}

// unitForms lists how a unit is said.
func unitForms(code string) []string {
	if list, ok := said[code]; ok {
		return strings.Split(list, "|")
	}
	u, ok := unit.Lookup(code)
	if !ok {
		return nil
	}
	return slices.Compact([]string{strings.ToLower(u.One), strings.ToLower(u.Many)})
}

// unitsOf lists the codes that may be said where these are called for, each once.
func unitsOf(what string, codes []string) (out []string) {
	for _, c := range slices.Concat(codes, beside[what]) {
		u, ok := unit.Lookup(c)
		if ok && !slices.Contains(out, u.Code) {
			out = append(out, u.Code)
		}
	}
	return out
}
