package rules_test

import (
	"slices"
	"strconv"
	"strings"
	"testing"

	"readback/rules"
)

func TestNamesOfASpec(t *testing.T) {
	for _, tt := range []struct{ id, title, want string }{
		{"mr5", "MR-5 dewatering pump, rebuild and build", "m r five|m r five dewatering pump|dewatering pump"},
		{"bevel-head", "BH-2 right-angle gear head of a pump drive", "bevel head|b h two right angle gear head|b h two|right angle gear head"},
		{"t100", "", "t one zero zero"},
		{"gearbox", "Gearbox", "gearbox"},
	} {
		if got := strings.Join((&rules.Spec{ID: tt.id, Title: tt.title}).Names(), "|"); got != tt.want {
			t.Errorf("%s is called %s, want %s", tt.id, got, tt.want)
		}
	}
}

// What an option is said to be is understood as just that.
func TestPhrasesAreUnderstoodAgain(t *testing.T) {
	s := demo(t)
	s = &rules.Spec{Options: append(s.Options,
		rules.Option{Name: "ratio", Say: "ratio", Values: []string{"1:1", "2:1"}},
		rules.Option{Name: "screws", Say: "cover screws", Values: []string{"6", "8", "12"}},
	)}
	for _, o := range s.Options {
		values := slices.Clone(o.Values)
		for n := o.From; o.Values == nil && n <= o.To; n++ {
			values = append(values, strconv.Itoa(n))
		}
		for _, v := range values {
			phrase := o.Phrase(v)
			in := s.ReadOptions("and " + phrase)
			if got := in.Options[o.Name]; got != v || len(in.Options) != 1 || len(in.Unclear) > 0 {
				t.Errorf("%q is understood as %v, unclear %q; want %s %s", phrase, in.Options, in.Unclear, o.Name, v)
			}
		}
	}
}
