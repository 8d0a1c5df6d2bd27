package seal

import (
	"bytes"
	"encoding/hex"
	"errors"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// RFC 8785, appendix B, with three rows between.
func TestCanonicalNumbers(t *testing.T) {
	for bits, want := range map[uint64]string{
		0x0000000000000000: "0",
		0x8000000000000000: "0",
		0x0000000000000001: "5e-324",
		0x8000000000000001: "-5e-324",
		0x7fefffffffffffff: "1.7976931348623157e+308",
		0xffefffffffffffff: "-1.7976931348623157e+308",
		0x4340000000000000: "9007199254740992",
		0xc340000000000000: "-9007199254740992",
		0x4340000000000001: "9007199254740994",
		0x4340000000000002: "9007199254740996",
		0x4430000000000000: "295147905179352830000",
		0x44b52d02c7e14af5: "9.999999999999997e+22",
		0x44b52d02c7e14af6: "1e+23",
		0x44b52d02c7e14af7: "1.0000000000000001e+23",
		0x444b1ae4d6e2ef4e: "999999999999999700000",
		0x444b1ae4d6e2ef4f: "999999999999999900000",
		0x444b1ae4d6e2ef50: "1e+21",
		0x3eb0c6f7a0b5ed8c: "9.999999999999997e-7",
		0x3eb0c6f7a0b5ed8d: "0.000001",
		0x41b3de4355555553: "333333333.3333332",
		0x41b3de4355555554: "333333333.33333325",
		0x41b3de4355555555: "333333333.3333333",
		0x41b3de4355555556: "333333333.3333334",
		0x41b3de4355555557: "333333333.33333343",
		0xbecbf647612f3696: "-0.0000033333333333333333",
		0x43143ff3c1cb0959: "1424953923781206.2",
	} {
		double := math.Float64frombits(bits)
		for _, form := range []byte{'g', 'e', 'f'} { // however it is written
			text := strconv.FormatFloat(double, form, -1, 64)
			if got, err := canonicalForm([]byte(text)); err != nil || string(got) != want {
				t.Errorf("%s (%016x) has the form %s, error %v, want %s", text, bits, got, err, want)
			}
		}
	}
	for _, none := range []string{"NaN", "Infinity", "-Infinity", "1e999", "01", "+1", ".5", "1.", "0x10"} {
		if got, err := Canonical([]byte(none)); !errors.Is(err, ErrJSON) {
			t.Errorf("%s has the form %s, error %v, want ErrJSON", none, got, err)
		}
	}
}

// RFC 8785, section 3.2, and the test data of its reference implementation.
func TestCanonicalText(t *testing.T) {
	tests := []struct{ name, in, want string }{
		{"arrays", `[ 56, {"d": true, "10": null, "1": [ ]} ]`, `[56,{"1":[],"10":null,"d":true}]`},
		{
			"structures", `{"1":{"f":{"f":"hi","F":5},"\n":56.0},"10":{ },"":"empty","a":{ },"111":[{"e":"yes","E":"no"}],"A":{ }}`,
			`{"":"empty","1":{"\n":56,"f":{"F":5,"f":"hi"}},"10":{},"111":[{"E":"no","e":"yes"}],"A":{},"a":{}}`,
		},
		{
			"values", `{"numbers":[333333333.33333329,1E30,4.50,2e-3,0.000000000000000000000000001],"string":"\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/","literals":[null,true,false]}`,
			`{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],"string":"€$\u000f\nA'B\"\\\\\"/"}`,
		},
		{
			"French names by code units, never by a locale", `{"peach":"This sorting order","péché":"is wrong according to French","pêche":"but canonicalization MUST","sin":"ignore locale"}`,
			`{"peach":"This sorting order","péché":"is wrong according to French","pêche":"but canonicalization MUST","sin":"ignore locale"}`,
		},
		{
			"weird names by UTF-16, not by UTF-8", `{"\u20ac":"Euro Sign","\r":"Carriage Return","\ufb33":"Hebrew Letter Dalet With Dagesh","1":"One","\ud83d\ude02":"Smiley","\u0080":"Control\u007f","\u00f6":"Latin Small Letter O With Diaeresis","\n":"Newline","</script>":"Browser Challenge"}`,
			"{\"\\n\":\"Newline\",\"\\r\":\"Carriage Return\",\"1\":\"One\",\"</script>\":\"Browser Challenge\",\"\u0080\":\"Control\u007f\",\"ö\":\"Latin Small Letter O With Diaeresis\",\"€\":\"Euro Sign\",\"😂\":\"Smiley\",\"\ufb33\":\"Hebrew Letter Dalet With Dagesh\"}",
		},
		{"what HTML minds stays", `"<>&\u2028\u2029\/\u003c"`, "\"<>&\u2028\u2029/<\""},
		{"nothing is normalised", `"A\u030a"`, "\"A\u030a\""},
		{"controls", `"\u0000\u0008\u0009\u000a\u000c\u000d\u001F\u007F"`, "\"\\u0000\\b\\t\\n\\f\\r\\u001f\u007f\""},
		{"minus zero", `[-0,-0.0,0e5]`, `[0,0,0]`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := canonicalForm([]byte(tt.in))
			if err != nil || string(got) != tt.want {
				t.Errorf("%s has the form\n%s, error %v, want\n%s", tt.in, got, err, tt.want)
			}
			if again, err := canonicalForm(got); err != nil || !bytes.Equal(again, got) {
				t.Errorf("the form of %s is %s, error %v", got, again, err)
			}
		})
	}
	values, _ := canonicalForm([]byte(tests[2].in))
	if got := hex.EncodeToString(values); got != "7b226c69746572616c73223a5b6e756c6c2c747275652c66616c73655d2c226e756d62657273223a5b3333333333333333332e333333333333332c31652b33302c342e352c302e3030322c31652d32375d2c22737472696e67223a22e282ac245c75303030665c6e4127425c225c5c5c5c5c222f227d" {
		t.Errorf("the values in hex are %s", got)
	}
}

func TestCanonicalRefuses(t *testing.T) {
	for name, in := range map[string]string{
		"nothing":                    "",
		"a name twice":               `{"a":1,"a":1}`,
		"a name twice, escaped":      `{"a":1,"\u0061":2}`,
		"a name twice, deeper":       `[{"b":{"a":1,"a":2}}]`,
		"half of a surrogate pair":   `"\ud83d"`,
		"the other half":             `{"\ude02":1}`,
		"halves in the wrong order":  `"\ude02\ud83d"`,
		"bytes that are no UTF-8":    "\"\xff\"",
		"a surrogate as UTF-8":       "\"\xed\xa0\x80\"",
		"a control":                  "\"\n\"",
		"two values":                 `1 2`,
		"a torn value":               `{"a":`,
		"a comma too many":           `[1,]`,
		"a million arrays":           strings.Repeat("[", 1_000_000),
		"a million whole arrays":     strings.Repeat("[", 1_000_000) + strings.Repeat("]", 1_000_000),
		"2^53":                       `9007199254740992`,
		"2^53 + 1":                   `[9007199254740993]`,
		"below -2^53":                `{"a":-9007199254740993}`,
		"a large exponent":           `1e30`,
		"more digits than a double":  `0.1000000000000000055511151231257827`,
		"a fraction that is lost":    `1.00000000000000000001`,
		"what is lost to nothing":    `1e-400`,
		"an exponent without an end": `0.1e-99999999999999999999`,
		"a long way to 2^53":         `90071992547409930e-1`,
	} {
		if got, err := Canonical([]byte(in)); !errors.Is(err, ErrJSON) {
			t.Errorf("%s: the form %.60s, error %v, want ErrJSON", name, got, err)
		}
	}
	for _, in := range []string{`9007199254740991`, `-9007199254740991`, `0.1`, `1.50`, `15e-1`, `0.000`, `-0e400`, `100e-2`, `1.7976931348623157e-300`, `"9007199254740993"`, `"\\"`, `{"1e999":"\"1e999"}`, `900719925474099.1`} {
		if _, err := Canonical([]byte(in)); err != nil {
			t.Errorf("%s is refused: %v", in, err)
		}
	}
}

// Two texts have the same form only if they have the same value: nothing that changes an entry is missed.
func FuzzCanonical(f *testing.F) {
	for _, seed := range []string{`{"a":[1,2.5,"x"],"b":null}`, `1e3`, `"\u00e9"`, `{"at":1930464000123456}`, `[]`, `9007199254740993`, `0.30000000000000004`} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, in string) {
		got, err := Canonical([]byte(in))
		if err != nil {
			if !errors.Is(err, ErrJSON) {
				t.Errorf("%q: %v", in, err)
			}
			return
		}
		again, err := Canonical(got)
		if err != nil || !slices.Equal(got, again) {
			t.Errorf("%q has the form %s, and that the form %s, error %v", in, got, again, err)
		}
	})
}
