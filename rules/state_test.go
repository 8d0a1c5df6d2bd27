package rules_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"readback/parse"
	"readback/rules"
	"readback/rules/spec"
)

// shown writes the callouts of the state that were asked for, a place a line.
func shown(j *rules.Job, callouts ...string) (out []string) {
	for _, c := range j.State() {
		for _, p := range c.Places {
			for _, id := range callouts {
				if id == c.ID {
					verdict := ""
					if p.Reading != nil {
						verdict = string(p.Reading.Verdict)
					}
					line := fmt.Sprintf("%s | %s | %s %s | %s | void %t left %t", p.Where, p.Limits, p.Shown, verdict, p.Mark, p.Void, p.Left)
					out = append(out, strings.Join(strings.Fields(line), " "))
				}
			}
		}
	}
	return out
}

func TestStateShowsWhatStands(t *testing.T) {
	j, err := rules.NewJob(demo(t), map[string]string{"stages": "3", "cut_impellers": "1"})
	if err != nil {
		t.Fatal(err)
	}
	words, said := parse.NewVocabulary(j.Words()), parse.Context{}
	for _, text := range []string{
		"seat clean", "full impeller stage one", "collar nut stage one forty eight newton metres",
		"collar nut stage two fifty one newton metres", "rod one pass one eight newton metres", "rod two loosened",
		"end play down eighty two point six up eighty one point two millimetres",
	} {
		u := parse.Text(text, words, said)
		said = said.After(u, j.Fold(u).Heard)
	}
	want := []string{
		"seat clean | | | done | void false left false",
		"stage one impeller | full | | full | void false left false",
		"stage two impeller | full | | | void false left true",
		"stage three impeller | cut | | | void false left true",
		"collar nut one | 46.08 to 49.92 N·m | 48 N·m in | | void false left false",
		"collar nut two | 46.08 to 49.92 N·m | 51 N·m out | | void false left false",
		"collar nut three | 46.08 to 49.92 N·m | | | void false left true",
		"end play | 1 to 2.4 mm | 1.4 mm in | | void false left false",
	}
	got := shown(j, "seat_clean", "impeller", "collar_nut_torque", "end_play")
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	if got := shown(j, "tie_rod_torque")[0]; got != "tie rod one, pass one | 7.2 to 8.8 N·m | | | void true left true" {
		t.Errorf("a reading that was made worthless is shown as %q", got)
	}
	if got := shown(j, "tie_rod_torque")[1]; !strings.HasPrefix(got, "tie rod three, pass one") {
		t.Errorf("rods stand in the order %q, not in that of the work", got)
	}
	if got := shown(j, "insulation")[0]; !strings.Contains(got, "at least 100 MΩ at 40 °C") {
		t.Errorf("the corrected limit is shown as %q", got)
	}
}

// The other unit of the shop stands beside a value, never on the other side of a limit.
func TestStateShowsTheOtherUnitOfTheShop(t *testing.T) {
	notes := []string{
		"collar nut stage one forty eight newton metres", "collar nut stage two thirty five foot pounds",
		"collar nut stage three 49.921 newton metres", "build spacer 64 millimetres",
		"end play down 82.6 up 81.2 millimetres", "shaft runout 0.0501 millimetres",
		"collar nut stage four 425 inch pounds",
	}
	tests := []struct {
		name string
		shop *rules.Shop
		want []string
	}{
		{"no register", nil, []string{"48 N·m|", "35 lbf·ft|", "49.921 N·m|", "425 lbf·in|", "64 mm|", "0.0501 mm|", "1.4 mm|"}},
		{"a register without units", &rules.Shop{}, []string{"48 N·m|", "35 lbf·ft|", "49.921 N·m|", "425 lbf·in|", "64 mm|", "0.0501 mm|", "1.4 mm|"}},
		{
			"a register with units", &rules.Shop{Show: []string{"N.m", "[ft_i].[lbf_av]", "mm", "[in_i]"}},
			// 49.92 N·m, the limit, are 36.8191 lbf·ft; 0.05 mm are 0.0019685 in.
			[]string{"48 N·m|35.4 lbf·ft", "35 lbf·ft|47 N·m", "49.921 N·m|36.8198 lbf·ft", "425 lbf·in|", "64 mm|2.52 in", "0.0501 mm|0.001972 in", "1.4 mm|0.055 in"},
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			j, err := rules.NewJob(demo(t), nil)
			if err != nil {
				t.Fatal(err)
			}
			j.Equip(tt.shop)
			said := parse.Context{}
			for _, text := range notes {
				u := parse.Text(text, parse.NewVocabulary(j.Words()), said)
				said = said.After(u, j.Fold(u).Heard)
			}
			var got []string
			for _, id := range []string{"collar_nut_torque", "build_spacer", "shaft_runout", "end_play"} {
				for _, c := range j.State() {
					for _, p := range c.Places {
						if c.ID == id && p.Reading != nil {
							got = append(got, p.Shown+"|"+p.Also)
						}
					}
				}
			}
			if diff := cmp.Diff(tt.want, got); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

const pack = `spec: pack
revision: "A"
title: filter pack
source: the shop's own
options:
  leaves: {from: 2, to: 6, default: 4}
axes:
  leaf: {say: [leaf, leaves]}
callouts:
  - {id: frame_flat, kind: confirm, say: [frame flat], at: {leaf: 1..leaves}}
  - {id: screen, kind: part, say: [screen], at: {leaf: 1..leaves}, choices: {coarse: [coarse], fine: [fine]}}
  - {id: gap, say: [gap], unit: mm, at: {leaf: 1..leaves}}
  - {id: lid_on, kind: event, say: [lid on], owed: yes}
rules: RULES
work:
  - each: leaf
    do: [frame_flat]
  - each: leaf
    do: [screen, gap]
  - do: [lid_on]
`

// The stack is found by what the work says, whatever the trade.
func TestStackIsTheFirstStepThatLaysParts(t *testing.T) {
	choices := []parse.Choice{{Is: "coarse", Say: []string{"coarse"}}, {Is: "fine", Say: []string{"fine"}}}
	whole := strings.ReplaceAll(pack, "RULES", "[{rule: hold_point, past: lid_on, needs: [screen, gap]}]")
	tests := []struct {
		name, src string
		want      rules.Stack
		ok        bool
	}{
		{"a part at each leaf and a hold point on it", whole, rules.Stack{Axis: "leaf", Parts: []string{"screen"}, Other: []string{"gap"}, Kinds: choices, Cover: "lid_on"}, true},
		{
			"a hold point that does not need the part closes nothing", strings.ReplaceAll(whole, "needs: [screen, gap]", "needs: [gap]"),
			rules.Stack{Axis: "leaf", Parts: []string{"screen"}, Other: []string{"gap"}, Kinds: choices},
			true,
		},
		{"no part is laid along an axis", strings.NewReplacer("do: [screen, gap]", "do: [gap]", "choices:", "owed: no, choices:").Replace(whole), rules.Stack{}, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s, err := spec.Load("pack.yaml", []byte(tt.src))
			if err != nil {
				t.Fatal(err)
			}
			j, err := rules.NewJob(s, nil)
			if err != nil {
				t.Fatal(err)
			}
			got, ok := j.Stack()
			if diff := cmp.Diff(tt.want, got); diff != "" || ok != tt.ok {
				t.Errorf("ok %t (-want +got):\n%s", ok, diff)
			}
		})
	}
}

// Every callout of a job is there once, and what is left agrees with what is owed.
func TestStateIsWhole(t *testing.T) {
	s := demo(t)
	j, err := rules.NewJob(s, map[string]string{"rebuild": "yes"})
	if err != nil {
		t.Fatal(err)
	}
	seen, left := map[string]int{}, 0
	for _, c := range j.State() {
		seen[c.ID]++
		for _, p := range c.Places {
			if p.Left {
				left++
			}
		}
	}
	for _, c := range s.Callouts {
		if seen[c.ID] != 1 {
			t.Errorf("callout %s is there %d times", c.ID, seen[c.ID])
		}
	}
	if left != len(j.Left()) || left == 0 {
		t.Errorf("%d places are left, and Left lists %d", left, len(j.Left()))
	}
}
