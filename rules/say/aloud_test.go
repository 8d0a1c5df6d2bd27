package say_test

import (
	"regexp"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"readback/parse/number"
	"readback/parse/unit"
	"readback/rules/say"
)

func TestAloud(t *testing.T) {
	for _, tt := range []struct{ in, want string }{
		{"Collar nut three, forty-eight newton metres. In.", "Collar nut three, forty-eight newton metres. In."},
		{"Collar nut three: 51 N·m, out: 46.08 to 49.92 N·m", "Collar nut three: fifty-one newton metres, out: forty-six point zero eight to forty-nine point nine two newton metres"},
		{"Shim pack error -0.09 mm, out: -0.05 to 0.05 mm", "Shim pack error minus zero point zero nine millimetres, out: minus zero point zero five to zero point zero five millimetres"},
		{"seated (4 of them), collar nut (4 of them) and valve fitted.", "seated, four of them, collar nut, four of them, and valve fitted."},
		{"Screw angle three, turn one: 50 °, out: 55 to 65 °", "Screw angle three, turn one: fifty degrees, out: fifty-five to sixty-five degrees"},
		{"one phase is 4.2 % from the mean, at most 3%", "one phase is four point two per cent from the mean, at most three per cent"},
		{"Unit tag, P-104.", "Unit tag, P dash one zero four."},
		{"job MW-1041", "job MW dash one zero four one"},
		{"Serial number, 4471.", "Serial number, four four seven one."},
		{"is the one for 1:1 ratio; this job is 2:1 ratio.", "is the one for one to one ratio; this job is two to one ratio."},
		{"at 14:05, till 9:30", "at fourteen oh five, till nine thirty"},
		{"wrench seven was calibrated until 2026-03-01", "wrench seven was calibrated until the first of March two thousand and twenty-six"},
		{"41 MΩ at 500 V", "forty-one megohms at five hundred volts"},
		{"0.5Ω and 30 µm, 30 μm, 20 °C, 1 °C", "zero point five ohms and thirty microns, thirty microns, twenty degrees Celsius, one degree Celsius"},
		{"64.0 mm ± 0.1 mm, ±4 %", "sixty-four point zero millimetres plus or minus zero point one millimetres, plus or minus four per cent"},
		{"at most 3 in", "at most three inches"},
		{"3 in stage two", "three in stage two"},
		{"2 in to 3 in.", "two inches to three inches."},
		{"8-14 N·m, 8–14 N·m", "eight to fourteen newton metres, eight to fourteen newton metres"},
		{"3/16 in, 1/2 in, 3/4 in, 5/2 mm", "three sixteenths inches, half inches, three quarters inches, five halves millimetres"},
		{"1450 rpm, 1,450 rpm", "one thousand four hundred and fifty revs a minute, one thousand four hundred and fifty revs a minute"},
		{"the limit in N·m or °C", "the limit in newton metres or degrees Celsius"},
		{"“scratch that” – yes/no", "scratch that, yes or no"},
		{"mr5, rev. C", "mr five, revision C"},
		{"Say it again.)", "Say it again."},
		{"stage 4b, .5 mm, 007", "stage four b, zero point five millimetres, zero zero seven"},
		{"Åsa and Jürgen, don't", "Asa and Jurgen, don't"},
		{"1.2.3 then 12 mm.", "one point two point three then twelve millimetres."},
		{"<b>4</b> `rm` $HOME [[x]] \\ *", "less than b more than four less than or b more than rm HOME, x"},
		{"", ""},
		{"...!?", ""},
		{"日本", ""},
		{"\xff\xfe", ""},
	} {
		if got := say.Aloud(tt.in); got != tt.want {
			t.Errorf("Aloud(%q)\n got %q\nwant %q", tt.in, got, tt.want)
		}
	}
}

// What is shown of a value is spoken as the tool says the value.
func TestShownIsSpokenAsItIsSaid(t *testing.T) {
	all := unit.All()
	rapid.Check(t, func(t *rapid.T) {
		u := rapid.SampledFrom(all).Draw(t, "unit")
		v, ok := number.Decimal(rapid.Int64Range(-999_999, 999_999).Draw(t, "digits"), rapid.IntRange(0, 5).Draw(t, "scale"))
		if !ok || u.Symbol == "" {
			return
		}
		behind := rapid.SampledFrom([]string{"", ", out", ".", " or so", " (low)"}).Draw(t, "behind")
		if u.Code == "[in_i]" && behind == " or so" {
			behind = " or 3 in"
		}
		text := "Stage one: " + say.Shown(v, u.Code) + behind
		want := "Stage one: " + say.Quantity(v, u.Code)
		if got := say.Aloud(text); !strings.HasPrefix(got, want) {
			t.Errorf("Aloud(%q) = %q, want %q", text, got, want)
		}
	})
}

// speakable is all that a voice is given.
var speakable = regexp.MustCompile(`^(?:[A-Za-z]+(?:['-][A-Za-z]+)*[.,;:?!]?(?: |$))*$`)

func FuzzAloud(f *testing.F) {
	for _, s := range []string{"51 N·m, out: 46.08 to 49.92 N·m", "-0.05", "P-104 (4 of them)", "3/0 1:1 2026-03-01 ±4 % 0.0001 in", "a'-b --5 ½ rev. no. 1,2,3.4.5", "A\b\b\brev.rev.~YrevA\b\b"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		got := say.Aloud(text)
		if !speakable.MatchString(got) {
			t.Fatalf("Aloud(%q) = %q holds more than words", text, got)
		}
		if again := say.Aloud(got); again != got {
			t.Fatalf("Aloud(%q) = %q, and again %q", text, got, again)
		}
	})
}
