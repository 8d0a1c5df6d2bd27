package rules_test

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"
)

func TestReadOptions(t *testing.T) {
	tests := []struct{ name, in, want, unclear string }{
		{"in any order", "long base, eight stages, two cut, rebuild", "base=long cut_impellers=2 rebuild=yes stages=8", ""},
		{"another order", "rebuild eight stages two cut impellers long base", "base=long cut_impellers=2 rebuild=yes stages=8", ""},
		{"digits, the name first", "stages 12 base short", "base=short stages=12", ""},
		{"a few of them", "ten stages", "stages=10", ""},
		{"not a rebuild", "short base not a rebuild five stages", "base=short rebuild=no stages=5", ""},
		{"more than it may be", "long base forty stages", "base=long", "forty"},
		{"a number of nothing", "long base and seven", "base=long", "seven"},
		{"said twice and differently", "eight stages no nine stages", "", "nine"},
		{"nothing", "good morning", "", ""},
		{"none of them", "no cut impellers six stages", "cut_impellers=0 stages=6", ""},
	}
	s := demo(t)
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			in := s.ReadOptions(tt.in)
			var got []string
			for _, name := range slices.Sorted(maps.Keys(in.Options)) {
				got = append(got, fmt.Sprintf("%s=%s", name, in.Options[name]))
			}
			if strings.Join(got, " ") != tt.want || strings.Join(in.Unclear, " ") != tt.unclear {
				t.Errorf("ReadOptions(%q) is %v, unclear %q; want %s, %q: %s", tt.in, got, in.Unclear, tt.want, tt.unclear, in.Say)
			}
		})
	}
	if in := s.ReadOptions("long base eight stages"); in.Say != "Base long and eight stages." {
		t.Errorf("it says %q", in.Say)
	}
}
