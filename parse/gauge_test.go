package parse_test

import (
	"fmt"
	"reflect"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"readback/parse"
)

// gauged writes what a note has to do with a gauge on one line.
func gauged(u parse.Utterance) string {
	g := u.Gauge
	if g == nil {
		return "none"
	}
	parts := []string{string(g.Do)}
	for _, t := range g.Over {
		parts = append(parts, strings.TrimSuffix(t.Callout+"@"+string(t.At), "@"))
	}
	if g.From != "" {
		parts = append(parts, "from "+string(g.From))
	}
	if g.Doubt != "" {
		parts = append(parts, "?"+string(g.Doubt))
	}
	return strings.Join(parts, " ")
}

func TestGaugeIsPutOn(t *testing.T) {
	v := shop()
	for note, want := range map[string]string{
		"gauge on end play down":                            "on end_play_down",
		"gauge on collar nuts from stage one":               "on collar_nut_torque from stage=1",
		"Gauge on collar nuts, starting at stage 3.":        "on collar_nut_torque from stage=3",
		"put the gauge on the collar nuts from stage two":   "on collar_nut_torque from stage=2",
		"gauge to rods pass two from rod three":             "on tie_rod_torque@pass=2 from rod=3",
		"gauge on stages one to three":                      "on collar_nut_torque@stage=1 collar_nut_torque@stage=2 collar_nut_torque@stage=3",
		"gauge on end play down and end play up":            "on end_play_down end_play_up",
		"gauge on stage twelve collar nut":                  "on collar_nut_torque@stage=12 ?no such place",
		"gauge on the moon":                                 "on ?no home",
		"gauge off":                                         "off",
		"the gauge is off":                                  "off",
		"gauge next":                                        "next",
		"gauge back":                                        "back",
		"gauge again":                                       "again",
		"where is the gauge":                                "where",
		"gauge on collar nut stage one 48 newton metres":    "none", // a reading
		"not the gauge on collar nuts":                      "none",
		"I think the gauge is on collar nuts":               "none",
		"depth gauge is dirty":                              "none",
		"the gauge reads forty eight on collar nut one":     "none",
		"collar nut stage three forty eight newton metres":  "none",
		"gauge on collar nuts? is it":                       "none",
		"again":                                             "none", // no gauge is on
		"order a new gauge":                                 "none",
		"gauge on collar nuts from stage one 48 N.m please": "none",
	} {
		u := parse.Text(note, v, parse.Context{})
		if got := gauged(u); got != want {
			t.Errorf("%q: %s, want %s", note, got, want)
		}
		if u.Gauge.Steers() && len(u.Claims)+len(u.Marks)+len(u.Asks) > 0 {
			t.Errorf("%q steers the gauge and claims something: %s", note, brief(u))
		}
	}
}

func TestSent(t *testing.T) {
	v := shop()
	on := func(callout string, at parse.Place) parse.Context {
		target := parse.Target{Callout: callout, At: at}
		return parse.Context{Aim: &parse.Aim{Over: []parse.Target{target}, Next: &target}}
	}
	nut := on("collar_nut_torque", "stage=3")
	for _, tt := range []struct {
		text string
		ctx  parse.Context
		want string
	}{
		{"48.0", nut, "reading; collar_nut_torque@stage=3=48.0 (gauge)"},
		{"+48.10", nut, "reading; collar_nut_torque@stage=3=48.10 (gauge)"},
		{"0048,10", nut, "reading; collar_nut_torque@stage=3=48.10 (gauge)"},
		{" 48 ", nut, "reading; collar_nut_torque@stage=3=48 (gauge)"},
		{"48.0 Nm", nut, "reading; collar_nut_torque@stage=3=48.0 N.m (gauge)"},
		{"35.4lbf.ft", nut, "reading; collar_nut_torque@stage=3=35.4 [ft_i].[lbf_av] (gauge)"},
		{"-0.02", on("shaft_runout", ""), "reading; shaft_runout=-0.02 (gauge)"},
		{"−.02 mm", on("shaft_runout", ""), "reading; shaft_runout=-0.02 mm (gauge)"},
		{"0", on("shaft_runout", ""), "reading; shaft_runout=0 (gauge)"},
		{"48.0", parse.Context{}, "unclear; =48.0 (gauge) !no home"},
		{"48.0", parse.Context{Aim: &parse.Aim{}}, "unclear; =48.0 (gauge) !no home"},
		{"47,500", nut, "unclear; ?no number"}, // or 47500?
		{"-1,250 Nm", nut, "unclear; ?no number"},
		{"0,125", nut, "reading; collar_nut_torque@stage=3=0.125 (gauge)"},
		{"0047,500", nut, "reading; collar_nut_torque@stage=3=47.500 (gauge)"},
		{"1250,125", nut, "reading; collar_nut_torque@stage=3=1250.125 (gauge)"},
		{"1.250", nut, "reading; collar_nut_torque@stage=3=1.250 (gauge)"},
		{"1,2500", nut, "reading; collar_nut_torque@stage=3=1.2500 (gauge)"},
		{"", nut, "unclear; ?no number"},
		{"48.0.1", nut, "unclear; ?no number"},
		{"4 8", nut, "unclear; ?no number"},
		{"48 oranges", nut, "unclear; ?no number"},
		{"48 Nm 49 Nm", nut, "unclear; ?no number"},
		{"MW-1041", nut, "unclear; ?no number"},
		{"4006381333931", nut, "unclear; ?no number"},
		{"-", nut, "unclear; ?no number"},
		{"1e3", nut, "unclear; ?no number"},
		{"scratch that", nut, "unclear; ?no number"},
	} {
		if got := brief(parse.Sent(tt.text, v, tt.ctx)); got != tt.want {
			t.Errorf("%q: %s, want %s", tt.text, got, tt.want)
		}
	}
	twice := parse.Sent("48.0", v, nut).SentTwice()
	if got := brief(twice); got != "reading; collar_nut_torque@stage=3=48.0 (gauge) !sent twice" {
		t.Errorf("twice: %s", got)
	}
	asked := nut.After(twice, parse.Heard{Asked: twice.Claims, Aim: nut.Aim})
	if got := brief(parse.Text("yes", v, asked)); got != "reading; collar_nut_torque@stage=3=48.0 (gauge)" {
		t.Errorf("yes to that: %s", got)
	}
	if got := brief(parse.Text("no", v, asked)); strings.Contains(got, "48") {
		t.Errorf("no to that: %s", got)
	}
}

// Whatever a number looks like, it is what the gauge has sent: its digits, its sign, its unit.
func TestSentKeepsItsDigits(t *testing.T) {
	v := shop()
	target := parse.Target{Callout: "shaft_runout"}
	ctx := parse.Context{Aim: &parse.Aim{Over: []parse.Target{target}, Next: &target}}
	rapid.Check(t, func(t *rapid.T) {
		whole := rapid.IntRange(0, 99999).Draw(t, "whole")
		noughts := strings.Repeat("0", rapid.IntRange(0, 4).Draw(t, "noughts"))
		decimals := rapid.StringMatching(`[0-9]{0,4}`).Draw(t, "decimals")
		sign := rapid.SampledFrom([]string{"", "+", "-"}).Draw(t, "sign")
		point := rapid.SampledFrom([]string{".", ","}).Draw(t, "point")
		unit := rapid.SampledFrom([]string{"", "mm", " mm"}).Draw(t, "unit")
		text, want := fmt.Sprintf("%s%s%d", sign, noughts, whole), fmt.Sprint(whole)
		if decimals != "" {
			text, want = text+point+decimals, want+"."+decimals
		}
		if sign == "-" && strings.Trim(want, "0.") != "" {
			want = "-" + want
		}
		u := parse.Sent(text+unit, v, ctx)
		if point == "," && len(decimals) == 3 && noughts == "" && whole > 0 && whole < 1000 {
			if len(u.Claims) > 0 { // it may be thousands
				t.Fatalf("%q is read as %s", text+unit, brief(u))
			}
			return
		}
		if len(u.Claims) != 1 || strings.TrimPrefix(u.Claims[0].Value.String(), "-") != strings.TrimPrefix(want, "-") ||
			strings.HasPrefix(want, "-") != strings.HasPrefix(u.Claims[0].Value.String(), "-") || u.Claims[0].Target != target {
			t.Fatalf("%q is read as %s, want %s", text+unit, brief(u), want)
		}
	})
}

// FuzzSent sends what a gauge, a scanner or a cat may type.
func FuzzSent(f *testing.F) {
	for _, s := range append(seeds, "48.0", "+0048,10 Nm", "-0.02mm", "4006381333931", "48.0\t", "48\n49", ".", ",5", "٤٨", "48 ° C", "1/2 in") {
		f.Add(s, true)
	}
	v := shop()
	target := parse.Target{Callout: "collar_nut_torque", At: "stage=3"}
	f.Fuzz(func(t *testing.T, text string, on bool) {
		var ctx parse.Context
		if on {
			ctx.Aim = &parse.Aim{Over: []parse.Target{target}, Next: &target}
		}
		u := parse.Sent(text, v, ctx)
		if again := parse.Sent(text, v, ctx); !reflect.DeepEqual(u, again) {
			t.Fatalf("Sent(%q) differs: %s", text, cmp.Diff(u, again))
		}
		if len(u.Claims)+len(u.Asks) != 1 || len(u.Marks)+len(u.Withdrawn) > 0 {
			t.Fatalf("Sent(%q): %s", text, brief(u))
		}
		for _, c := range u.Claims {
			inside(t, text, c.Span)
			if (len(c.Doubts) == 0) != on || on && c.Target != target || !on && c.Callout != "" || c.NoValue {
				t.Fatalf("Sent(%q): %s", text, brief(u))
			}
			digits := strings.Map(func(r rune) rune {
				if r >= '0' && r <= '9' {
					return r
				}
				return -1
			}, text)
			got := strings.ReplaceAll(strings.TrimPrefix(c.Value.String(), "-"), ".", "")
			if strings.TrimLeft(digits, "0") != strings.TrimLeft(got, "0") {
				t.Fatalf("Sent(%q) has other digits: %s", text, brief(u))
			}
		}
	})
}
