package spec_test

import (
	"errors"
	"strings"
	"testing"

	"readback/rules"
	"readback/rules/spec"
	"readback/testdata"
)

// head is the start of a spec that is right.
const head = "spec: t\nrevision: \"1\"\noptions:\n  n: {from: 1, to: 4, default: 2}\naxes:\n  stage: {say: [stage]}\n"

const callout = "callouts:\n  - {id: runout, unit: mm, limits: {max: 0.05}}\n"

// partly is a callout that is a part.
const partly = "callouts:\n  - {id: cap, kind: part, say: [end cap], choices: {flat: [flat], bent: [bent]}}\n"

func TestFaultsSayWhereAndWhatWouldDo(t *testing.T) {
	tests := []struct{ name, src, want string }{
		{"an empty file", "", `t.yaml: the file is empty; start with a line such as "spec: mr5"`},
		{"only a comment", "# nothing\n", `t.yaml: the file holds no spec; start with a line such as "spec: mr5"`},
		{"no mapping", "- a\n- b\n", `t.yaml:1:1: this is not a spec; a spec is a mapping that starts with a line such as "spec: mr5"`},
		{"a tab", "spec: t\n\trevision: a\n", "t.yaml:2:1: a tab indents the line; indent with spaces; YAML takes no tabs"},
		{"not YAML", "spec: [t\n", "t.yaml:1:7: this is not YAML: sequence end token ']' not found; look at the indentation and the brackets there"},
		{"an unknown key", head + "colour: red\n" + callout, `t.yaml:7:1: a spec has no key "colour"; it may have spec, revision, title, source, invented, options, axes, callouts, rules, work, cautions, decision, kit, pronounce`},
		{"a key twice", head + "callouts:\n  - {id: a, unit: mm, unit: m}\n", "t.yaml:8:23: this is not YAML: mapping key \"unit\" already defined at [8:13]; look at the indentation and the brackets there"},
		{"no revision", "spec: t\n" + callout, `t.yaml:1:1: revision is missing; add a line such as "revision: \"C\""`},
		{"no callouts", "spec: t\nrevision: a\n", "t.yaml:1:1: the spec has no callouts; add callouts: with at least one"},
		{"no unit", head + "callouts:\n  - id: runout\n", `t.yaml:8:5: callout runout has no unit; add one, such as "unit: mm"`},
		{"an unknown unit", head + "callouts:\n  - {id: runout, unit: furlong}\n", `t.yaml:8:24: the unit "furlong" is not known; use a UCUM code such as N.m, mm or MOhm`},
		{"a unit as people write it", head + "callouts:\n  - {id: nut, unit: Nm}\n", `t.yaml:8:21: the unit "Nm" is not known; write N.m`},
		{"another unit of another quantity", head + "callouts:\n  - {id: nut, unit: N.m, also_in: [mm]}\n", "t.yaml:8:36: mm measures length, callout nut torque; name units of the same quantity"},
		{"an id twice", head + "callouts:\n  - {id: a, say: [a], unit: mm}\n  - {id: a, say: [b], unit: mm}\n", "t.yaml:9:10: callout a stands twice; give the second one an id of its own"},
		{"an id with capitals", head + "callouts:\n  - {id: Runout, unit: mm}\n", `t.yaml:8:10: the id "Runout" is not usable; use small letters, digits, _ and -, a letter first`},
		{"an unknown axis", head + "callouts:\n  - {id: a, unit: mm, at: {rod: 1..4}}\n", `t.yaml:8:28: there is no axis "rod"; add it under axes:, or use one of stage`},
		{"an axis that ends at an unknown option", head + "callouts:\n  - {id: a, unit: mm, at: {stage: 1..m}}\n", `t.yaml:8:35: "m" is neither a whole number nor an option that is one; write a range such as 1..4 or 1..stages`},
		{"min above max", head + "callouts:\n  - {id: a, unit: mm, limits: {min: 2.4, max: 1.0}}\n", "t.yaml:8:37: min 2.4 is above max 1.0; put the smaller one in min"},
		{"a nominal without a tolerance", head + "callouts:\n  - {id: a, unit: mm, limits: {nominal: 48}}\n", "t.yaml:8:32: the limits of callout a have a nominal and no within; add within: 0.1, or within: 4 %"},
		{"a number that is none", head + "callouts:\n  - {id: a, unit: mm, limits: {max: five}}\n", `t.yaml:8:37: max "five" is not a decimal number of at most 15 digits; write it as 48 or 0.05`},
		{"a number with an exponent", head + "callouts:\n  - {id: a, unit: mm, limits: {max: 1e99999}}\n", `t.yaml:8:37: max "1e99999" is not a decimal number of at most 15 digits; write it as 48 or 0.05`},
		{"a hexadecimal number", head + "callouts:\n  - {id: a, unit: mm, limits: {max: 0x10}}\n", `t.yaml:8:37: max "0x10" is not a decimal number of at most 15 digits; write it as 48 or 0.05`},
		{"a limit for an unknown option", head + "callouts:\n  - {id: a, unit: mm, limits: {max: {size: {s: 1}}}}\n", `t.yaml:8:38: max of callout a hangs on "size", which is no option and no axis of it; use an option, or an axis that stands under at:`},
		{"a limit that leaves a place out", head + "callouts:\n  - {id: a, unit: mm, at: {stage: 1..2}, limits: {max: {stage: {\"1\": 5}}}}\n", "t.yaml:8:57: max of callout a has no value for stage 2; add one"},
		{"a default that is none", "spec: t\nrevision: a\noptions:\n  n: {from: 1, to: 4, default: 9}\n" + callout, `t.yaml:4:32: the default "9" of option n is none of its values; choose one that it may be`},
		{"an unknown rule", head + callout + "rules:\n  - {rule: magic}\n", `t.yaml:10:6: there is no rule "magic"; use one of part_choice, stack_order, step_order, hold_point, pass_order, spread, void, missing, wear, curve; limits and computed values stand with their callout`},
		{"a rule about nothing", head + callout + "rules:\n  - {rule: void, when: bang, voids: [runout]}\n", `t.yaml:10:24: there is no callout "bang"; use an id from callouts:`},
		{"an order that leaves one out", head + "callouts:\n  - {id: a, unit: mm, at: {stage: 1..3}}\nrules:\n  - {rule: pass_order, callout: a, rounds: stage, over: stage, order: [1, 3]}\n", "t.yaml:10:71: the order 1-3 is not every stage once; name each place of the axis once"},
		{"a callout twice in the work", head + "callouts:\n  - {id: a, unit: mm}\nwork:\n  - do: [a]\n  - do: [a]\n", "t.yaml:11:10: callout a stands twice in the work; keep it where it is done first"},
		{"a choice called undone", head + "callouts:\n  - {id: cap, kind: part, choices: {undone: [open], shut: [shut]}}\n", `t.yaml:8:37: callout cap has a choice called undone, which means something else in the record; call it otherwise`},
		{"a confirmation that is taken at something", head + "callouts:\n  - {id: a, kind: confirm, taken_at: {voltage: V}}\n", "t.yaml:8:39: callout a is no reading and is taken at something; take it away"},
		{"taken at its own quantity", head + "callouts:\n  - {id: a, unit: Cel, taken_at: {temperature: Cel}}\n", "t.yaml:8:48: callout a measures temperature and is taken at one: which is which cannot be heard; make what it is taken at a callout of its own"},
		{"taken at two of one quantity", head + "callouts:\n  - {id: a, unit: MOhm, taken_at: {test: V, supply: V}}\n", "t.yaml:8:53: callout a is taken at two quantities of voltage: test and supply; keep one; a number with its unit must say which it is"},
		{"so many per cent of nothing", head + "callouts:\n  - {id: a, unit: mm, limits: {nominal: 0, within: 10 %}}\n", "t.yaml:8:32: the limits of callout a are so many per cent of nothing; write within in the unit itself"},
		{"a temperature of itself", head + "callouts:\n  - {id: a, unit: MOhm, taken_at: {t: Cel}, corrected: {by: t, to: 40, halving: 10, else: a}}\n", "t.yaml:8:91: callout a takes its temperature from itself; name the callout that reads it"},
		{"two kinds of a part spoken alike", head + "callouts:\n  - {id: cap, kind: part, choices: {flat: [flat, plain], bent: [bent, plain]}}\n", `t.yaml:8:64: choices flat and bent of callout cap are both spoken "plain"; give one of them other words`},
		{"a kind of part that there is none of", head + partly + "rules:\n  - {rule: part_choice, callout: cap, is: round}\n", `t.yaml:10:43: part cap has no choice "round"; use one that stands under choices:`},
		{"a part of no kind", head + partly + "rules:\n  - {rule: part_choice, callout: cap}\n", "t.yaml:10:6: rule part_choice does not say which kind of cap belongs; add is: with a choice of it, or by: and is: {...} for each value of the option"},
		{"a kind for every option but one", "spec: t\nrevision: a\noptions:\n  base: {values: [s, l], default: s}\n" + partly + "rules:\n  - {rule: part_choice, callout: cap, by: base, is: {s: flat}}\n", "t.yaml:8:54: is has no kind for base l; add one"},
		{"a kind for a value that the option never has", "spec: t\nrevision: a\noptions:\n  base: {values: [s, l], default: s}\n" + partly + "rules:\n  - {rule: part_choice, callout: cap, by: base, is: {s: flat, l: bent, m: flat}}\n", `t.yaml:8:54: option base is never "m"; it may be s or l`},
		{"kinds by nothing", head + partly + "rules:\n  - {rule: part_choice, callout: cap, is: {s: flat}}\n", "t.yaml:10:6: rule part_choice lacks by; add by: with the option whose values stand under is:"},
		{"a size without its option", head + callout + "rules:\n  - {rule: part_choice, callout: runout}\n", "t.yaml:10:6: rule part_choice lacks by; add by: with the option that the limits of runout hang on"},
		{"a size with kinds", head + callout + "rules:\n  - {rule: part_choice, callout: runout, by: n, is: flat}\n", "t.yaml:10:53: callout runout is a reading and has no kinds; take is away; its limits say which size belongs"},
		{"a detail with places", head + "callouts:\n  - {id: a, kind: detail, at: {stage: 1..3}}\n", "t.yaml:8:32: callout a is a detail and has places; a detail is there once; take at away, or make it another kind"},
		{"a sound that is no phone", head + callout + "pronounce: {runout: \"R UH2 N X T\"}\n", `t.yaml:9:21: the word "runout" is pronounced with "UH2", which is no phone; write UH: capitals, without a mark of stress`},
		{"a sound in small letters", head + callout + "pronounce:\n  runout: r ah n aw t\n", `t.yaml:10:11: the word "runout" is pronounced with "r", which is no phone; write R: capitals, without a mark of stress`},
		{"a phone that there is none of", head + callout + "pronounce: {runout: [R AH N AW T, R Q]}\n", `t.yaml:9:35: the word "runout" is pronounced with "Q", which is no phone; write phones of AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH T TH UH UW V W Y Z ZH`},
		{"a word without a vowel", head + callout + "pronounce: {psst: P S T}\n", `t.yaml:9:19: the word "psst" is pronounced without a vowel; write all of its phones, as R AH N AW T`},
		{"the sound of two words", head + callout + "pronounce: {run-out: R AH N AW T}\n", `t.yaml:9:13: pronounce has "run-out", which is no single word; write one word in small letters, as it stands in a spoken form; a hyphen parts two words`},
		{"a word without its sound", head + callout + "pronounce: {runout: }\n", `t.yaml:9:13: pronounce says nothing of "runout"; write its phones, as R AH N AW T`},
		{"taken at no unit", head + "callouts:\n  - {id: a, unit: MOhm, taken_at: {voltage: {limits: {min: 1}}}}\n", `t.yaml:8:36: what callout a is taken at has no unit: "voltage"; add one, such as unit: V`},
		{"taken at limits that exclude each other", head + "callouts:\n  - {id: a, unit: MOhm, taken_at: {voltage: {unit: V, limits: {min: 9, max: 1}}}}\n", "t.yaml:8:69: min 9 is above max 1; put the smaller one in min"},
		{"an expression of two quantities", head + "callouts:\n  - {id: a, unit: mm}\n  - {id: b, unit: N.m}\n  - {id: c, unit: mm, is: a - b}\n", "t.yaml:10:6: the expression of callout c does not add up: length and torque cannot be added or subtracted; compute only with readings of one quantity"},
		{"an expression of nothing", head + "callouts:\n  - {id: c, unit: mm, is: a - b}\n", "t.yaml:8:6: callout c is computed from a, which is no reading without places; use ids of readings"},
		{"two callouts spoken alike", head + "callouts:\n  - {id: a, unit: mm, say: [depth]}\n  - {id: b, unit: mm, say: [depth]}\n", `t.yaml:9:6: callouts a and b are both spoken "depth"; give one of them other words`},
		{"capitals that nobody can hear", head + "callouts:\n  - {id: a, unit: mm, say: [Depth]}\n", `t.yaml:8:28: the spoken form "Depth" has capitals; write it as it is spoken, in small letters`},
		{"an alias", head + "callouts:\n  - &x {id: a, unit: mm}\n  - *x\n", "t.yaml:8:5: anchors, aliases and tags are not read in a spec; write the value out"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := spec.Load("t.yaml", []byte(tt.src))
			if err == nil {
				t.Fatalf("no fault was found, want %s", tt.want)
			}
			if first, _, _ := strings.Cut(err.Error(), "\n"); first != tt.want {
				t.Errorf("got  %s\nwant %s", err, tt.want)
			}
		})
	}
}

func TestAllFaultsAtOnce(t *testing.T) {
	_, err := spec.Load("t.yaml", []byte(head+"colour: red\ncallouts:\n  - {id: a, unit: furlong}\n  - {id: b}\n"))
	faults, ok := errors.AsType[spec.Errors](err)
	if !ok || len(faults) != 3 {
		t.Fatalf("%d faults, want 3:\n%v", len(faults), err)
	}
	for i, line := range []int{7, 9, 10} {
		if faults[i].Line != line {
			t.Errorf("fault %d is on line %d, want %d: %v", i, faults[i].Line, line, faults[i])
		}
	}
	if one, ok := errors.AsType[*spec.Error](err); !ok || one != faults[0] {
		t.Errorf("the first fault cannot be taken from the error")
	}
}

func TestTooLargeAFile(t *testing.T) {
	_, err := spec.Load("t.yaml", []byte(head+callout+strings.Repeat("# x\n", spec.MaxSize/4)))
	if err == nil || !strings.Contains(err.Error(), "larger than 1 MiB") {
		t.Errorf("a file over 1 MiB: %v", err)
	}
}

func TestValuesAreReadAsWritten(t *testing.T) {
	src := strings.Replace(head, "\"1\"", "1.10", 1) + "callouts:\n  - {id: a, unit: mm, limits: {nominal: 48.0, within: 4 %}, plausible: -5..60}\n"
	s, err := spec.Load("t.yaml", []byte(src))
	if err != nil {
		t.Fatal(err)
	}
	c := s.Callouts[0]
	if s.Revision != "1.10" || c.Limits.Nominal.Value.String() != "48.0" || !c.Limits.Percent || c.Plausible.Min.String() != "-5" {
		t.Errorf("revision %s, nominal %s, per cent %v, plausible from %s", s.Revision, c.Limits.Nominal.Value, c.Limits.Percent, c.Plausible.Min)
	}
}

func TestDemoSpecIsTheWholeShop(t *testing.T) {
	src, err := testdata.Files.ReadFile("specs/mr5.yaml")
	if err != nil {
		t.Fatal(err)
	}
	s, err := spec.Load("mr5.yaml", src)
	if err != nil {
		t.Fatal(err)
	}
	for _, id := range []string{
		"build_spacer", "collar_nut_torque", "tie_rod_torque", "end_play_down", "end_play_up", "shaft_runout", "coupling_bolt_torque", "insulation",
		"winding_resistance", "seat_clean", "stage_seated", "inlet_free", "valve_fitted", "threads_lubricated", "cable_clear", "impeller", "cover_on", "rods_loosened",
	} {
		found := false
		for _, c := range s.Callouts {
			found = found || c.ID == id
		}
		if !found {
			t.Errorf("callout %s is missing", id)
		}
	}
	kinds := map[string]bool{}
	for _, r := range s.Rules {
		switch r.(type) {
		case *rules.Limit:
			kinds["limit"] = true
		case *rules.Derived:
			kinds["derived"] = true
		case *rules.Spread:
			kinds["spread"] = true
		case *rules.PassOrder:
			kinds["pass_order"] = true
		case *rules.StepOrder:
			kinds["step_order"] = true
		case *rules.StackOrder:
			kinds["stack_order"] = true
		case *rules.PartChoice:
			kinds["part_choice"] = true
		case *rules.Void:
			kinds["void"] = true
		case *rules.HoldPoint:
			kinds["hold_point"] = true
		}
	}
	if len(kinds) != 9 {
		t.Errorf("the demo has the rule kinds %v, want 9", kinds)
	}
	if len(s.Cautions) == 0 || !s.Invented {
		t.Error("the demo has no cautions or does not say that it is invented")
	}
}

// FuzzLoad loads torn specs: no panic, and a fault always says something.
func FuzzLoad(f *testing.F) {
	src, err := testdata.Files.ReadFile("specs/mr5.yaml")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(string(src))
	for _, s := range []string{"", head + callout, "spec: [", "a: &a [*a]", "? : :", "- - -", "spec: |\n  x", "\t", "spec: t\n---\nspec: u", "\r --\r---", "callouts: {}", "axes: [1]", "options: {a: {from: 1, to: 1000}}"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, src string) {
		s, err := spec.Load("t.yaml", []byte(src))
		if (s == nil) == (err == nil) {
			t.Fatalf("Load gives spec %v and error %v", s, err)
		}
		if err != nil && len(err.Error()) < 10 {
			t.Fatalf("the error %q says nothing", err)
		}
		if s != nil {
			if j, err := rules.NewJob(s, nil); err == nil {
				j.Words()
				j.Left()
			}
		}
	})
}
