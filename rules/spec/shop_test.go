package spec_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"readback/rules/spec"
)

func TestRegisterFaultsSayWhereAndWhatWouldDo(t *testing.T) {
	const head = "shop: Millrace Pump Works\ninstruments:\n"
	const shown = "shop: Millrace Pump Works\nshow: "
	tests := []struct{ name, src, want string }{
		{"an empty file", "", `r.yaml: the file is empty; start with a line such as "shop: Millrace Pump Works"`},
		{"no name", "instruments: []\n", `r.yaml:1:1: the register has no name; start with a line such as "shop: Millrace Pump Works"`},
		{"no tool", head + "  - {say: [brian], measures: N.m}\n", `r.yaml:3:11: "brian" cannot be heard as an instrument; write a tool with its number, such as wrench seven or depth gauge 2`},
		{"two of one name", head + "  - {say: [wrench seven], measures: N.m}\n  - {say: [wrench 7], measures: N.m}\n", `r.yaml:4:11: two instruments are called wrench 7; give each a number of its own`},
		{"an unknown unit", head + "  - {say: [wrench seven], measures: Nm2x}\n", `r.yaml:3:37: the unit "Nm2x" is not known; write a UCUM code, such as measures: N.m`},
		{"no accuracy", head + "  - {say: [wrench seven], measures: N.m, accuracy: good}\n", `r.yaml:3:52: the accuracy "good" is no amount; write it as 2 % of the reading, or as 0.02 in the instrument's unit`},
		{"a range that falls", head + "  - {say: [wrench seven], measures: N.m, range: 60..10}\n", `r.yaml:3:49: range goes from 60 down to 10; put the smaller number first`},
		{"no day", head + "  - {say: [wrench seven], measures: N.m, calibrated_until: 2026-02-30}\n", `r.yaml:3:60: calibrated_until "2026-02-30" is no day; write year, month and day, as 2027-03-31`},
		{"an unknown key", head + "  - {say: [wrench seven], measures: N.m, colour: red}\n", `r.yaml:3:42: an instrument has no key "colour"; it may have say, measures, range, accuracy, step, types, calibrated_until`},
		{"an unknown unit to show", shown + "[Nm2x]\n", `r.yaml:2:8: the unit "Nm2x" is not known; write a UCUM code, such as N.m or "[ft_i].[lbf_av]"`},
		{"a unit to show twice", shown + "[mm, N.m, mm]\n", `r.yaml:2:17: the unit mm stands twice in show; keep one of them`},
		{"three units of a dimension", shown + "[mm, m, cm]\n", `r.yaml:2:15: show has three units of length; keep the two that are to stand side by side`},
		{"a unit to show alone", shown + "[N.m]\n", `r.yaml:2:8: the unit N.m has no other of torque to stand beside it; add the other unit, or leave this one out`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := spec.LoadShop("r.yaml", []byte(tt.src))
			if err == nil || strings.TrimSpace(err.Error()) != tt.want {
				t.Errorf("got  %v\nwant %s", err, tt.want)
			}
		})
	}
}

func TestRegisterSaysWhichUnitsToShow(t *testing.T) {
	s, err := spec.LoadShop("r.yaml", []byte("shop: Millrace Pump Works\nshow: [N.m, \"[lbf_av].[ft_i]\", mm, \"[in_i]\"]\n"))
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]string{"N.m", "[ft_i].[lbf_av]", "mm", "[in_i]"}, s.Show); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

func FuzzLoadShop(f *testing.F) {
	f.Add("shop: a\nshow: [N.m, \"[ft_i].[lbf_av]\", mm, \"[in_i]\"]\n")
	f.Add("shop: a\ninstruments:\n  - {say: [wrench seven], measures: N.m, range: 10..60, accuracy: 2 %, step: 0.1, calibrated_until: 2027-06-30}\n")
	f.Fuzz(func(t *testing.T, src string) {
		s, err := spec.LoadShop("r.yaml", []byte(src))
		if (s == nil) == (err == nil) {
			t.Fatalf("register %v, error %v", s, err)
		}
	})
}
