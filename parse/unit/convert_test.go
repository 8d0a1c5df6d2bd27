package unit_test

import (
	"math/big"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"readback/parse/number"
	"readback/parse/unit"
)

const (
	ftlb = "[ft_i].[lbf_av]"
	inlb = "[in_i].[lbf_av]"
	ozin = "[oz_av].[g].[in_i]"
)

// Computed from the definitions of NIST SP 811, B.8. A value that ends in "..." is cut
// there; any other is the whole number.
func TestWorkedConversions(t *testing.T) {
	tests := []struct{ in, from, to, want string }{
		{"35", ftlb, "N.m", "47.453628191599014"},
		{"48", "N.m", ftlb, "35.40298316530873..."},
		{"30", "N.m", ftlb, "22.12686447831796..."},
		{"15", "N.m", ftlb, "11.06343223915898..."},
		{"20", "N.m", inlb, "177.0149158265436..."},
		{"8", "N.m", inlb, "70.80596633061747..."},
		{"160", inlb, "N.m", "18.077572644418672"},
		{"4.9", "kgf.m", "N.m", "48.052585"},
		{"490", "kgf.cm", "N.m", "48.052585"},
		{"25", ozin, "mN.m", "176.53879535565109375"},
		{"5", "[HP]", "kW", "3.7284993579113511"},
		{"68", "[degF]", "Cel", "20"},
		{"104", "[degF]", "Cel", "40"},
		{"212", "[degF]", "Cel", "100"},
		{"32", "[degF]", "Cel", "0"},
		{"-40", "[degF]", "Cel", "-40"},
		{"25", "Cel", "[degF]", "77"},
		{"0.05", "mm", "[mil_i]", "1.968503937..."},
		{"2", "[mil_i]", "mm", "0.0508"},
		{"64.0", "mm", "[in_i]", "2.519685039..."},
		{"88.5", "mm", "[in_i]", "3.484251968..."},
		{"3/16", "[in_i]", "mm", "4.7625"},
		{"2.4", "mm", "[mil_i]", "94.48818897..."},
		{"100", "[psi]", "bar", "6.894757293..."},
		{"6", "bar", "[psi]", "87.02264263..."},
		{"120", "[gal_us]/min", "L/s", "7.570823568"},
		{"120", "[gal_us]/min", "m3/h", "27.2549648448"},
		{"100", "12.[in_i'H2O]", "kPa", "298.906692"},
		{"1", "MOhm", "mOhm", "1000000000"},
		{"1", "m[Hg]", "kPa", "133.322"}, // UCUM 2.2, not the conventional 133.322387415
		{"1", "[in_i'Hg]", "Pa", "3386.3788"},
	}
	for _, tt := range tests {
		t.Run(tt.in+" "+tt.from, func(t *testing.T) {
			got, err := unit.Convert(rat(t, tt.in), tt.from, tt.to)
			if err != nil {
				t.Fatal(err)
			}
			if !sameOrCut(t, got, tt.want) {
				t.Errorf("%s %s = %s %s, want %s", tt.in, tt.from, got.FloatString(20), tt.to, tt.want)
			}
		})
	}
}

// sameOrCut compares exactly, or by cutting where want ends in "...".
func sameOrCut(t *testing.T, got *big.Rat, want string) bool {
	t.Helper()
	digits, cut := strings.CutSuffix(want, "...")
	if !cut {
		return got.Cmp(rat(t, want)) == 0
	}
	return strings.HasPrefix(got.FloatString(30), digits)
}

// 18 degrees F of rise are 10 K, never -7.8 Cel.
func TestConvertInterval(t *testing.T) {
	tests := []struct{ in, from, to, want string }{
		{"18", "[degF]", "Cel", "10"},
		{"18", "[degR]", "K", "10"},
		{"10", "Cel", "[degF]", "18"},
		{"-9", "[degF]", "Cel", "-5"},
		{"2", "[mil_i]", "mm", "0.0508"},
	}
	for _, tt := range tests {
		got, err := unit.ConvertInterval(rat(t, tt.in), tt.from, tt.to)
		if err != nil || got.Cmp(rat(t, tt.want)) != 0 {
			t.Errorf("an interval of %s %s = %v %s (%v), want %s", tt.in, tt.from, got, tt.to, err, tt.want)
		}
	}
}

func TestConvertRefuses(t *testing.T) {
	tests := []struct{ from, to, says string }{
		{"N.m", "mm", "torque"},
		{"m", "bar", "length"}, // head is a length: the liquid is not known
		{"deg", "rad", "angle"},
		{"Nm", "N.m", "write N.m"},
		{"mm", "thou", "write [mil_i]"},
		{"", "mm", "not complete"},
	}
	for _, tt := range tests {
		got, err := unit.Convert(big.NewRat(1, 1), tt.from, tt.to)
		if err == nil {
			t.Errorf("Convert(1, %q, %q) = %v, want an error", tt.from, tt.to, got)
		} else if !strings.Contains(err.Error(), tt.says) {
			t.Errorf("Convert(1, %q, %q): %q does not say %q", tt.from, tt.to, err, tt.says)
		}
	}
}

func TestConvertLeavesItsArgument(t *testing.T) {
	v := big.NewRat(35, 1)
	if _, err := unit.Convert(v, "[degF]", "Cel"); err != nil || v.Cmp(big.NewRat(35, 1)) != 0 {
		t.Errorf("v is %s after Convert (%v)", v, err)
	}
}

// Rounding for show: NIST SP 811, B.7.2, whose example is 36 ft = 11.0 m. The others
// are computed by its rule.
func TestShow(t *testing.T) {
	tests := []struct{ in, from, to, want string }{
		{"36", "[ft_i]", "m", "11.0"},
		{"48", "N.m", ftlb, "35.4"},
		{"35", ftlb, "N.m", "47"},
		{"35.0", ftlb, "N.m", "47.5"},
		{"48.20", "N.m", "N.m", "48.20"},
		{"2", "[mil_i]", "mm", "0.05"},
		{"-40", "[degF]", "Cel", "-40.0"}, // a degree F is 0.56 of one C,
		{"100", "[psi]", "kPa", "689"},
	}
	for _, tt := range tests {
		v, ok := number.Parse(tt.in)
		if !ok {
			t.Fatalf("%q is no value", tt.in)
		}
		if got, err := unit.Show(v, tt.from, tt.to); err != nil || got != tt.want {
			t.Errorf("Show(%s %s) = %s %s (%v), want %s", tt.in, tt.from, got, tt.to, err, tt.want)
		}
	}
	if _, err := unit.Show(number.Int(1), "N.m", "mm"); err == nil {
		t.Error("Show turned a torque into a length")
	}
}

// Two thou are out of 0.05 mm although they show as 0.05.
func TestShownIsNotCompared(t *testing.T) {
	got, err := unit.Convert(big.NewRat(2, 1), "[mil_i]", "mm")
	if err != nil || got.Cmp(rat(t, "0.05")) <= 0 {
		t.Errorf("2 thou = %v mm (%v), want more than 0.05", got, err)
	}
}

// Ties go to the even digit: SP 811, B.7.1 (from memory).
func TestRound(t *testing.T) {
	tests := []struct {
		in    string
		place int
		want  string
	}{
		{"47.453", -1, "47.5"},
		{"689476", 3, "689000"},
		{"0.5", 0, "0"},
		{"1.5", 0, "2"},
		{"2.5", 0, "2"},
		{"-2.5", 0, "-2"},
		{"-1.5", 0, "-2"},
		{"2.51", 0, "3"},
		{"-0.05", -1, "0.0"},
		{"1/3", -3, "0.333"},
	}
	for _, tt := range tests {
		if got := unit.Round(rat(t, tt.in), tt.place); got != tt.want {
			t.Errorf("Round(%s, %d) = %s, want %s", tt.in, tt.place, got, tt.want)
		}
	}
}

// What is shown is never rounded more coarsely than what was said: B.7.2.
func TestShowKeepsResolution(t *testing.T) {
	codes := []string{"N.m", ftlb, inlb, ozin, "kgf.m", "kgf.cm"}
	rapid.Check(t, func(t *rapid.T) {
		v, _ := number.Decimal(rapid.Int64Range(1, 999999).Draw(t, "digits"), rapid.IntRange(0, 5).Draw(t, "scale"))
		from, to := rapid.SampledFrom(codes).Draw(t, "from"), rapid.SampledFrom(codes).Draw(t, "to")
		shown, err := unit.Show(v, from, to)
		if err != nil {
			t.Fatal(err)
		}
		s, ok := new(big.Rat).SetString(shown)
		exact, _ := unit.Convert(v.Rat(), from, to)
		if !ok || exact == nil {
			t.Fatalf("Show gives %q", shown)
		}
		off := new(big.Rat).Sub(s, exact)
		half, _ := unit.ConvertInterval(big.NewRat(1, 2), from, to) // half a unit of the last digit said
		half.Mul(half, new(big.Rat).SetFrac64(1, pow10(v.Scale())))
		if off.Abs(off).Cmp(half) > 0 {
			t.Fatalf("%s %s shown as %s %s: off by more than half of the last digit said", v, from, shown, to)
		}
	})
}

func pow10(n int) int64 {
	p := int64(1)
	for range n {
		p *= 10
	}
	return p
}

func TestConvertThereAndBack(t *testing.T) {
	all := unit.All()
	rapid.Check(t, func(t *rapid.T) {
		a := all[rapid.IntRange(0, len(all)-1).Draw(t, "from")]
		b := all[rapid.IntRange(0, len(all)-1).Draw(t, "to")]
		v := big.NewRat(rapid.Int64().Draw(t, "num"), rapid.Int64Range(1, 1<<40).Draw(t, "den"))
		there, err := unit.Convert(v, a.Code, b.Code)
		if err != nil {
			if a.Dimension == b.Dimension {
				t.Fatal(err)
			}
			return
		}
		back, err := unit.Convert(there, b.Code, a.Code)
		if err != nil || back.Cmp(v) != 0 {
			t.Fatalf("%s %s -> %s %s -> %v (%v)", v, a.Code, there, b.Code, back, err)
		}
	})
}
