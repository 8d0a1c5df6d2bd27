package unit_test

import (
	"math/big"
	"strings"
	"testing"

	"readback/parse/unit"
)

// Codes by the grammar of UCUM 2.2, chapter 2, and what they are worth in base units.
func TestParse(t *testing.T) {
	tests := []struct{ code, factor, base string }{
		{"N.m", "1", "m2.kg.s-2"},
		{"m.N", "1", "m2.kg.s-2"},
		{"kg.m2/s2", "1", "m2.kg.s-2"},
		{"kg.(m/s)2", "", ""}, // exponents stand behind units alone
		{"kg.m2.s-2", "1", "m2.kg.s-2"},
		{"/min", "1/60", "s-1"},
		{"1/min", "1/60", "s-1"},
		{"{rev}/min", "1/60", "s-1"},
		{"{rev}", "1", "1"},
		{"m{head}", "1", "m"},
		{"kPa", "1000", "m-1.kg.s-2"},
		{"10*3", "1000", "1"},
		{"10^3", "1000", "1"},
		{"10*-6.[in_i]", "127/5000000000", "m"},
		{"12.[in_i'H2O]", "74726673/25000", "m-1.kg.s-2"},
		{"m/(s.h)", "1/3600", "m.s-2"},
		{"m/s/h", "1/3600", "m.s-2"},
		{"m/s.h", "3600", "m"}, // left to right
		{"m+2", "1", "m2"},
		{"dag", "1/100", "kg"},
		{"kL", "1", "m3"},
		{"kl", "1", "m3"},
		{"mol", "602214076000000000000000", "1"},
		{"min", "60", "s"}, // not a milli-inch
		{"cd", "1", "cd"},  // not a centi-day
		{"Pa", "1", "m-1.kg.s-2"},
		{"T", "1", "kg.s-1.C-1"},
	}
	for _, tt := range tests {
		m, err := unit.Parse(tt.code)
		switch {
		case tt.factor == "":
			if err == nil {
				t.Errorf("Parse(%q) = %s, want an error", tt.code, m)
			}
		case err != nil:
			t.Errorf("Parse(%q): %v", tt.code, err)
		case m.Factor.RatString() != tt.factor || m.String() != tt.base:
			t.Errorf("Parse(%q) = %s %s, want %s %s", tt.code, m.Factor.RatString(), m, tt.factor, tt.base)
		}
	}
}

func TestParseRefusesAndSays(t *testing.T) {
	tests := []struct{ code, says string }{
		{"", "not complete"},
		{"N.", "not complete"},
		{"N..m", "cannot stand there"},
		{"(m", "not closed"},
		{"m)", "cannot stand there"},
		{"m{head", "not closed"},
		{"m{é}", "ASCII"},
		{"m0", "no exponent"},
		{"m10", "no exponent"},
		{"m-", "no exponent"},
		{"10*31", "no exponent"},
		{"0.m", "no factor"},
		{"1234567890.m", "no factor"},
		{"2.54cm", "cannot stand there"},
		{strings.Repeat("m.", 40) + "m", "longer than 64"},
		{"u[in_i]", "not known"}, // [in_i] takes no prefix in UCUM 2.2
		{"torr", "not known"},
		{"[ft_i'H2O]", "not known"},
		{"[ozf_av]", "not known"},
		{"Cel.m", "no products"},
		{"m.Cel", "no products"},
		{"Cel2", "no products"},
		{"1/Cel", "no products"},
		{"[degF]/min", "no products"},
		{"Nm", "write N.m"},
		{"ft-lb", "write [ft_i].[lbf_av]"},
		{"psi", "write [psi]"},
		{"°C", "write Cel"},
		{"ohms", "write Ohm"},
		{"blorp", "such as N.m"},
	}
	for _, tt := range tests {
		m, err := unit.Parse(tt.code)
		if err == nil {
			t.Errorf("Parse(%q) = %s, want an error", tt.code, m)
		} else if !strings.Contains(err.Error(), tt.says) {
			t.Errorf("Parse(%q): %q does not say %q", tt.code, err, tt.says)
		}
	}
}

// Codes that a keyboard takes one for another (UCUM 2.2 is case-sensitive).
func TestTraps(t *testing.T) {
	ratio := func(a, b string) *big.Rat {
		t.Helper()
		got, err := unit.Convert(big.NewRat(1, 1), a, b)
		if err != nil {
			t.Fatal(err)
		}
		return got
	}
	if got := ratio("MOhm", "mOhm"); got.Cmp(rat(t, "1e9")) != 0 {
		t.Errorf("a megohm is %s milliohms, want 1e9", got)
	}
	if got := ratio("[oz_av].[g].[in_i]", "[in_i].[lbf_av]"); got.Cmp(rat(t, "1/16")) != 0 {
		t.Errorf("an ounce inch is %s inch pounds, want 1/16: the ounce is a force", got)
	}
	apart := [][2]string{
		{"nm", "N.m"},
		{"mN", "N.m"},
		{"[oz_av].[in_i]", "N.m"},
		{"T", "t"},
		{"a", "A"},
		{"C", "Cel"},
		{"deg", "Cel"},
		{"[lb_av]", "[lbf_av]"},
		{"m[H2O]", "m"},
		{"{rev}/min", "m/s"},
	}
	for _, pair := range apart {
		if got, err := unit.Convert(big.NewRat(1, 1), pair[0], pair[1]); err == nil {
			t.Errorf("1 %s became %s %s", pair[0], got, pair[1])
		}
	}
	// circ/min is an angle a time, a rev a minute a count: never the same.
	if _, err := unit.Convert(big.NewRat(1, 1), "circ/min", "{rev}/min"); err == nil {
		t.Error("circ/min became {rev}/min")
	}
}

func TestIntervalOfScales(t *testing.T) {
	for code, interval := range map[string]string{"Cel": "K", "[degF]": "[degR]", "mm": "mm"} {
		m, err := unit.Parse(code)
		if err != nil {
			t.Fatal(err)
		}
		want, err := unit.Parse(interval)
		if err != nil {
			t.Fatal(err)
		}
		got := m.Interval()
		if got.Offset != nil || got.Factor.Cmp(want.Factor) != 0 || !got.Comparable(want) {
			t.Errorf("the interval of %s is %s %s, want %s", code, got.Factor, got, interval)
		}
	}
}

func TestLookup(t *testing.T) {
	tests := []struct{ code, want string }{
		{"N.m", "N.m"},
		{"m.N", "N.m"},
		{"[lbf_av].[ft_i]", "[ft_i].[lbf_av]"},
		{"l/min", "L/min"},
		{"ml", "mL"},
		{"1/min", "{rev}/min"},
		{"/min", "{rev}/min"},
		{"mOhm", "mOhm"},
		{"MOhm", "MOhm"},
		{"Nm", ""},
		{"ha", ""},
		{"", ""},
	}
	for _, tt := range tests {
		got := ""
		if u, ok := unit.Lookup(tt.code); ok {
			got = u.Code
		}
		if got != tt.want {
			t.Errorf("Lookup(%q) = %q, want %q", tt.code, got, tt.want)
		}
	}
}

func TestSuggest(t *testing.T) {
	tests := []struct{ said, want string }{
		{"Nm", "N.m"},
		{"N·m", "N.m"},
		{"N m", "N.m"},
		{" newton metres ", "N.m"},
		{"NEWTON METRES", "N.m"},
		{"nm", "N.m"}, // slang: its likeliest
		{"ft-lb", "[ft_i].[lbf_av]"},
		{"foot pounds", "[ft_i].[lbf_av]"},
		{"in-lbs", "[in_i].[lbf_av]"},
		{"thou", "[mil_i]"},
		{"mil", "mm"},
		{"MΩ", "MOhm"},
		{"mΩ", "mOhm"},
		{"meg", "MOhm"},
		{"°C", "Cel"},
		{"C", "Cel"},
		{"rpm", "{rev}/min"},
		{"RPM", "{rev}/min"},
		{"gpm", "[gal_us]/min"},
		{"igpm", "[gal_br]/min"},
		{"PSI", "[psi]"},
		{"kg/cm2", "att"},
		{"hp", "[HP]"},
		{"", ""},
		{"furlong", ""},
	}
	for _, tt := range tests {
		got, ok := unit.Suggest(tt.said)
		if got != tt.want || ok != (tt.want != "") {
			t.Errorf("Suggest(%q) = %q, %v, want %q", tt.said, got, ok, tt.want)
		}
	}
}

// What two units share is slang, and slang is ranked: the parser must be able to tell
// a guess from what was said.
func TestNoTwoUnitsShareAForm(t *testing.T) {
	type key struct {
		say    string
		symbol bool
	}
	owner, ranks := map[key]string{}, map[key]map[int]string{}
	for _, u := range unit.All() {
		for _, f := range u.Forms {
			k := key{f.Say, f.Symbol}
			if f.Say == "" || strings.TrimSpace(f.Say) != f.Say || strings.Contains(f.Say, "  ") {
				t.Errorf("%s has the form %q", u.Code, f.Say)
			}
			if !f.Symbol && strings.ToLower(f.Say) != f.Say {
				t.Errorf("%s: the words %q are not in lower case", u.Code, f.Say)
			}
			if f.Slang {
				if ranks[k] == nil {
					ranks[k] = map[int]string{}
				}
				if other, taken := ranks[k][f.Rank]; taken {
					t.Errorf("%q is %s and %s with the same rank", f.Say, other, u.Code)
				}
				ranks[k][f.Rank] = u.Code
				continue
			}
			if other, taken := owner[k]; taken {
				t.Errorf("%q is %s and %s", f.Say, other, u.Code)
			}
			owner[k] = u.Code
		}
	}
	for k, r := range ranks {
		if other, taken := owner[k]; taken {
			t.Errorf("%q is slang and %s too", k.say, other)
		}
		if len(r) < 2 {
			t.Errorf("%q is slang of one unit alone", k.say)
		}
	}
}

// Forms heard and typed at a bench (common practice), each with its likeliest unit.
func TestForms(t *testing.T) {
	tests := map[string][]string{
		"N.m":                {"newton metre", "newton metres", "newton meter", "newton meters", "N m", "Nm", "new ton meters"},
		"[ft_i].[lbf_av]":    {"foot pounds", "pound feet", "ft lb", "ft lbs", "lb ft", "lbf ft"},
		"[in_i].[lbf_av]":    {"inch pounds", "in lb", "in lbs", "lbf in", "pound inches"},
		"[oz_av].[g].[in_i]": {"ounce inches", "inch ounces", "oz in", "ozf in"},
		"kgf.m":              {"kilogram metres", "kgm", "kgf m", "kp m"},
		"kgf.cm":             {"kilogram centimetres", "kg cm", "kgf cm"},
		"[mil_i]":            {"thou"},
		"um":                 {"mike", "micron", "microns", "um", "µm"},
		"MOhm":               {"meg", "megs", "megohm", "megohms", "mega ohms", "M ohm", "MΩ", "meg ohm"},
		"GOhm":               {"gig", "gigs", "gigohm"},
		"Cel":                {"C", "deg c", "degrees c", "celsius", "centigrade", "°C", "℃"},
		"[psi]":              {"psi", "lbs per square inch", "psig"},
		"[gal_br]/min":       {"imperial gpm", "igpm"},
		"m3/h":               {"cubic metres an hour"},
		"{rev}/min":          {"rpm", "revs a minute", "turns a minute"},
	}
	has := map[string]map[string]bool{}
	for _, u := range unit.All() {
		has[u.Code] = map[string]bool{}
		for _, f := range u.Forms {
			has[u.Code][f.Say] = true
		}
	}
	for code, forms := range tests {
		for _, f := range forms {
			if !has[code][f] {
				t.Errorf("%s is not known as %q", code, f)
			}
		}
	}
}

func TestSpeak(t *testing.T) {
	for code, want := range map[string][2]string{
		"N.m": {"newton metre", "newton metres"}, "[ft_i]": {"foot", "feet"}, "bar": {"bar", "bar"}, "1": {"", ""},
	} {
		u, ok := unit.Lookup(code)
		if !ok || u.Speak(false) != want[0] || u.Speak(true) != want[1] {
			t.Errorf("%s is read as %q and %q, want %q", code, u.Speak(false), u.Speak(true), want)
		}
	}
}

// What is read aloud and shown must be understood again as the same unit.
func TestSpokenFormsLeadBack(t *testing.T) {
	for _, u := range unit.All() {
		for _, form := range []string{u.One, u.Many} {
			if form == "" {
				continue
			}
			found := false
			for _, f := range u.Forms {
				found = found || strings.EqualFold(f.Say, form)
			}
			if !found {
				t.Errorf("%s is read as %q, which is no form of it", u.Code, form)
			}
		}
	}
}

func FuzzParse(f *testing.F) {
	for _, u := range unit.All() {
		f.Add(u.Code)
	}
	for _, s := range []string{"(((m", "m{x}{y}", "10*-30", "9999.9999.m9", "/.", "[[", "}{", "m+-1", "\xff", "Cel.Cel", "u{}2"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, code string) {
		a, err := unit.Parse(code)
		b, again := unit.Parse(code)
		if (err == nil) != (again == nil) {
			t.Fatalf("Parse(%q): %v, then %v", code, err, again)
		}
		if err != nil {
			if err.Error() != again.Error() || !strings.Contains(err.Error(), "write") {
				t.Fatalf("Parse(%q): %v, then %v", code, err, again)
			}
			return
		}
		if a.Factor.Sign() <= 0 || a.Factor.Cmp(b.Factor) != 0 || !a.Comparable(b) {
			t.Fatalf("Parse(%q) = %v %s, then %v %s", code, a.Factor, a, b.Factor, b)
		}
		if base, err := unit.Parse(a.String()); err == nil && !base.Comparable(a) {
			t.Fatalf("Parse(%q) has the base units %s, which measure something else", code, a)
		}
	})
}
