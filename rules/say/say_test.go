package say_test

import (
	"math/big"
	"testing"

	"readback/parse/number"
	"readback/rules/say"
)

func value(t *testing.T, s string) number.Value {
	t.Helper()
	v, ok := number.Parse(s)
	if !ok {
		t.Fatalf("%q is no value", s)
	}
	return v
}

func TestNumber(t *testing.T) {
	tests := []struct{ in, want string }{
		{"0", "zero"},
		{"1", "one"},
		{"13", "thirteen"},
		{"20", "twenty"},
		{"48", "forty-eight"},
		{"100", "one hundred"},
		{"101", "one hundred and one"},
		{"425", "four hundred and twenty-five"},
		{"1000", "one thousand"},
		{"1005", "one thousand and five"},
		{"12340", "twelve thousand three hundred and forty"},
		{"1000000", "one million"},
		{"999999999999999", "nine hundred and ninety-nine trillion nine hundred and ninety-nine billion nine hundred and ninety-nine million nine hundred and ninety-nine thousand nine hundred and ninety-nine"},
		{"-5", "minus five"},
		{"0.05", "zero point zero five"},
		{"-0.5", "minus zero point five"},
		{"99.50", "ninety-nine point five zero"},
		{"0.00", "zero point zero zero"},
		{"2/3", "two thirds"},
		{"1/3", "one third"},
		{"-1/3", "minus one third"},
		{"4/3", "one and one third"},
		{"8/3", "two and two thirds"},
		{"5/21", "five twenty-firsts"},
		{"1/12", "one twelfth"},
		{"7/60", "seven sixtieths"},
	}
	for _, tt := range tests {
		if got := say.Number(value(t, tt.in)); got != tt.want {
			t.Errorf("Number(%s) = %q, want %q", tt.in, got, tt.want)
		}
	}
}

func TestInt(t *testing.T) {
	for n, want := range map[int64]string{-1: "minus one", 0: "zero", 21: "twenty-one", 110: "one hundred and ten", -2000: "minus two thousand"} {
		if got := say.Int(n); got != want {
			t.Errorf("Int(%d) = %q, want %q", n, got, want)
		}
	}
}

func TestOrdinal(t *testing.T) {
	for n, want := range map[int64]string{
		1: "first", 2: "second", 3: "third", 4: "fourth", 5: "fifth", 8: "eighth", 9: "ninth", 11: "eleventh", 12: "twelfth",
		20: "twentieth", 21: "twenty-first", 32: "thirty-second", 100: "one hundredth", 101: "one hundred and first",
	} {
		if got := say.Ordinal(n); got != want {
			t.Errorf("Ordinal(%d) = %q, want %q", n, got, want)
		}
	}
}

func TestQuantity(t *testing.T) {
	tests := []struct{ in, code, want string }{
		{"48", "N.m", "forty-eight newton metres"},
		{"1", "N.m", "one newton metre"},
		{"1.0", "N.m", "one point zero newton metres"},
		{"-1", "Cel", "minus one degrees Celsius"},
		{"1", "Ohm", "one ohm"},
		{"120", "MOhm", "one hundred and twenty megohms"},
		{"2", "[mil_i]", "two thou"},
		{"35", "[lbf_av].[ft_i]", "thirty-five foot pounds"},
		{"4", "%", "four per cent"},
		{"7", "1", "seven"},
		{"7", "", "seven"},
		{"7", "furlong", "seven furlong"},
	}
	for _, tt := range tests {
		if got := say.Quantity(value(t, tt.in), tt.code); got != tt.want {
			t.Errorf("Quantity(%s, %q) = %q, want %q", tt.in, tt.code, got, tt.want)
		}
	}
}

func TestShown(t *testing.T) {
	tests := []struct{ in, code, want string }{
		{"48.0", "N.m", "48.0 N·m"},
		{"4", "%", "4 %"},
		{"25", "Cel", "25 °C"},
		{"7", "1", "7"},
		{"7", "", "7"},
		{"7", "furlong", "7 furlong"},
	}
	for _, tt := range tests {
		if got := say.Shown(value(t, tt.in), tt.code); got != tt.want {
			t.Errorf("Shown(%s, %q) = %q, want %q", tt.in, tt.code, got, tt.want)
		}
	}
}

func rat(t *testing.T, s string) *big.Rat {
	t.Helper()
	r, ok := new(big.Rat).SetString(s)
	if !ok {
		t.Fatalf("%q is no number", s)
	}
	return r
}

// What is shown never contradicts the verdict: 0.0508 is out of 0.05 and must look so.
func TestNear(t *testing.T) {
	tests := []struct {
		in     string
		places int
		limits []string
		want   string
	}{
		{"47.453628191599014", 1, []string{"46.08", "49.92"}, "47.5"},
		{"0.0508", 2, []string{"0.05"}, "0.051"},
		{"0.0508", 2, nil, "0.05"},
		{"49.9199", 1, []string{"49.92"}, "49.9"},
		{"49.9201", 1, []string{"49.92"}, "49.9201"},
		{"49.92", 1, []string{"49.92"}, "49.92"},
		{"2/3", 0, []string{"1"}, "0.7"},
		{"2/3", -1, nil, "1"},
		{"48", 2, []string{"46"}, "48"},
		{"-0.0508", 2, []string{"-0.05"}, "-0.051"},
	}
	for _, tt := range tests {
		var limits []*big.Rat
		for _, l := range tt.limits {
			limits = append(limits, rat(t, l))
		}
		if got := say.Near(rat(t, tt.in), tt.places, append(limits, nil)...); got.String() != tt.want {
			t.Errorf("Near(%s, %d, %v) = %s, want %s", tt.in, tt.places, tt.limits, got, tt.want)
		}
	}
}

// The other world's unit beside a value, on the same side of every limit.
func TestBeside(t *testing.T) {
	tests := []struct {
		name, in, from, to string
		limits             []string // in the unit to
		want               string
	}{
		{"to what the digits said can carry", "48", "N.m", "[ft_i].[lbf_av]", nil, "35.4 lbf·ft"},
		{"back again", "35.0", "[ft_i].[lbf_av]", "N.m", nil, "47.5 N·m"},
		{"on a limit", "0.0508", "mm", "[in_i]", []string{"0.0020"}, "0.002000 in"},
		{"finer where it would be rounded onto a limit", "12.701", "mm", "[in_i]", []string{"0.50004"}, "0.500039 in"},
		{"a temperature has another zero", "40", "Cel", "[degF]", nil, "104 °F"},
		{"what does not convert", "40", "Cel", "N.m", nil, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var limits []*big.Rat
			for _, l := range tt.limits {
				limits = append(limits, rat(t, l))
			}
			got, ok := say.Beside(value(t, tt.in), tt.from, tt.to, append(limits, nil)...)
			if got != tt.want || ok != (tt.want != "") {
				t.Errorf("%q, %t, want %q", got, ok, tt.want)
			}
		})
	}
}

func TestExact(t *testing.T) {
	for in, want := range map[string]string{"1/8": "0.125", "1/3": "1/3", "-4": "-4", "1e30": "", "1e-30": "", "1e15": ""} {
		v, ok := say.Exact(rat(t, in))
		if ok != (want != "") || ok && v.String() != want {
			t.Errorf("Exact(%s) = %s, %v, want %q", in, v, ok, want)
		}
	}
}

func TestList(t *testing.T) {
	tests := []struct {
		items []string
		last  string
		want  string
	}{
		{nil, "and", ""},
		{[]string{"nine"}, "and", "nine"},
		{[]string{"nine", "ten"}, "or", "nine or ten"},
		{[]string{"nine", "ten", "eleven"}, "and", "nine, ten and eleven"},
	}
	for _, tt := range tests {
		if got := say.List(tt.items, tt.last); got != tt.want {
			t.Errorf("List(%q) = %q, want %q", tt.items, got, tt.want)
		}
	}
}

func TestCap(t *testing.T) {
	for in, want := range map[string]string{"": "", "stage": "Stage", "über": "Über", "48": "48"} {
		if got := say.Cap(in); got != want {
			t.Errorf("Cap(%q) = %q, want %q", in, got, want)
		}
	}
}
