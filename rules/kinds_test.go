package rules_test

import (
	"testing"

	"readback/rules"
	"readback/rules/spec"
)

// small is a spec of an invented machine that uses the rule kinds which the demo's does
// not: wear limits, a test curve, a part that voids a torque, a generated order, what is
// missing at hand-over, a winding corrected by the constant of copper.
const small = `
spec: small
revision: "1"
options:
  size: {values: ["6", "8"], default: "6"}
  stages: {from: 2, to: 9, default: 3}
  studs: {from: 4, to: 12, default: 6}
axes:
  stage: {say: [stage, stages]}
  stud: {say: [stud, studs]}
  pass: {say: [pass]}
  point: {say: [point, test point]}
  ring: {say: [ring]}
callouts:
  - {id: spacer, say: [spacer], unit: mm, limits: {nominal: {size: {"6": 71, "8": 99.5}}, within: 0.1}}
  - {id: ring_found, say: [ring clearance found], unit: mm, at: {ring: 1..2}, limits: {max: 0.5}}
  - {id: ring_renewed, kind: confirm, say: [renewed], at: {ring: 1..2}, owed: no}
  - {id: nut, say: [stage nut], unit: N.m, at: {stage: 1..stages}, limits: {nominal: 40, within: 5 %}}
  - {id: sleeve, kind: part, say: [sleeve], at: {stage: 1..stages}, choices: {temporary: [temporary], final: [final]}, owed: no}
  - {id: stud, say: [stud torque], unit: N.m, at: {stud: 1..studs, pass: 1..2}, limits: {nominal: {pass: {"1": 10, "2": 20}}, within: 10 %}}
  - {id: flow, say: [flow], unit: m3/h, at: {point: 1..3}}
  - {id: head, say: [head], unit: m, at: {point: 1..3}}
  - {id: winding, say: [winding], unit: Ohm, taken_at: {temperature: Cel}, limits: {max: 1.53}, corrected: {by: temperature, to: 25, constant: 234.5}}
  - {id: handed_over, kind: event, say: [handed over, hand over], owed: no}
  - {id: end_cap, kind: part, say: [end cap], choices: {flat: [flat], domed: [domed]}, owed: no}
  - {id: key, kind: part, say: [drive key], choices: {plain: [plain], gib: [gib head]}, owed: no}
  - {id: hose_test, say: [hose test], unit: bar, limits: {min: 4}, taken_at: {time: {unit: min, limits: {min: 5}}, temperature: {unit: Cel, limits: {nominal: 20, within: 5}}}, owed: no}
  - {id: old_bore, say: [old bore], unit: mm, owed: no}
  - {id: new_bore, say: [new bore], unit: mm, owed: no}
  - {id: bore_ratio, say: [bore ratio], unit: "1", is: new_bore / old_bore, limits: {max: 1.01}}
kit:
  - {say: short spacer, when: {size: "6"}}
  - {say: long spacer, when: {size: "8"}}
  - {say: stage nuts, one: stage nut, many: stages}
  - {say: washers, many: 2 * stages + 1}
rules:
  - {rule: part_choice, callout: spacer, by: size}
  - {rule: part_choice, callout: end_cap, by: size, is: {"6": flat, "8": domed}}
  - {rule: part_choice, callout: key, is: gib}
  - {rule: wear, found: ring_found, left: ring_renewed}
  - {rule: void, when: sleeve, is: final, voids: [nut], same: stage}
  - {rule: pass_order, callout: stud, rounds: pass, over: stud, order: diagonal}
  - {rule: curve, callout: head, of: flow, points: [[0, 12], [5, 10], [10, 6]], times: stages, within: 5 %}
  - {rule: missing, when: handed_over}
`

func loadSmall(t *testing.T) *rules.Spec {
	t.Helper()
	s, err := spec.Load("small.yaml", []byte(small))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestOtherKinds(t *testing.T) {
	tests := []struct {
		name    string
		options string
		before  []string
		note    string
		reads   string
		open    string
	}{
		// Common practice, no source: a 6-inch unit builds on a 71 mm spacer, an 8-inch on 99.5 mm.
		{"the spacer of the smaller size", "", nil, "spacer 71 mm", "71 mm in", ""},
		{"the spacer of the larger size in the smaller", "", nil, "spacer 99.5 mm", "99.5 mm out", "limit spacer warn; part_choice spacer stop"},
		{"the spacer of the larger size", "size=8", nil, "spacer 99.5 mm", "99.5 mm in", ""},

		{"the kind of part for the size", "", nil, "flat end cap", "", ""},
		{"the kind of part for the other size", "", nil, "domed end cap", "", "part_choice end_cap stop"},
		{"that kind in the other size", "size=8", nil, "domed end cap", "", ""},
		{"put right", "", []string{"domed end cap"}, "flat end cap", "", ""},
		{"a part of which one kind always belongs", "size=8", nil, "plain drive key", "", "part_choice key stop"},
		{"and that kind", "", []string{"plain drive key"}, "gib head drive key", "", ""},

		{"taken as it should be", "", nil, "hose test 6 bar at 20 degrees for 5 minutes", "6 bar in", ""},
		{"taken on the limit", "", nil, "hose test 6 bar at 25 degrees for 5 minutes", "6 bar in", ""},
		{"taken too short", "", nil, "hose test 6 bar at 20 degrees for 4 minutes", "6 bar in", "limit hose_test warn"},
		{"in another unit", "", nil, "hose test 6 bar at 68 degrees fahrenheit for 300 seconds", "6 bar in", ""},
		{"what it was taken at was not said", "", nil, "hose test 6 bar at 20 degrees", "6 bar in", "limit hose_test note"},
		{"and is said then", "", []string{"hose test 6 bar at 20 degrees"}, "for 6 minutes", "6 bar in", ""},
		{"out, and taken wrong", "", nil, "hose test 3 bar at 40 degrees for 5 minutes", "3 bar out", "limit hose_test warn; limit hose_test warn"},

		{"a quotient of readings, whatever they were said in", "", []string{"old bore 1 inch"}, "new bore 25.7 mm", "25.7 mm in", "derived bore_ratio warn"},
		{"a quotient in its limits", "", []string{"old bore 1 inch"}, "new bore 25.6 mm", "25.6 mm in", ""},

		{"worn past its limit", "", nil, "ring clearance found ring one 0.62 mm", "0.62 mm out", "limit ring_found@ring=1 warn"},
		{"worn, then renewed", "", []string{"ring clearance found ring one 0.62 mm"}, "ring one renewed", "", ""},
		{"the other ring renewed mends nothing", "", []string{"ring clearance found ring one 0.62 mm"}, "ring two renewed", "", "limit ring_found@ring=1 warn"},

		{"a torque with a temporary part stands", "", []string{"temporary sleeve stage one"}, "stage nut stage one 40 Nm", "40 N.m in", ""},
		{"the final part voids the torque of its stage", "", []string{"stage nut stage one 40 Nm", "stage nut stage two 40 Nm"}, "final sleeve stage one", "", "void nut@stage=1 warn"},
		{"and the second torque closes it", "", []string{"stage nut stage one 40 Nm", "final sleeve stage one"}, "stage nut stage one 40 Nm", "40 N.m in", ""},

		{"a generated diagonal order, kept", "", []string{"stud torque stud one pass one 10 Nm"}, "stud torque stud four pass one 10 Nm", "10 N.m in", ""},
		{"a generated diagonal order, broken", "", []string{"stud torque stud one pass one 10 Nm"}, "stud torque stud two pass one 10 Nm", "10 N.m in", "pass_order stud@pass=1 warn"},
		{"the order of four studs", "studs=4", []string{"stud torque stud one pass one 10 Nm"}, "stud torque stud three pass one 10 Nm", "10 N.m in", ""},

		// Three stages: at 2.5 m3/h the curve is at 33 m, between 31.35 and 34.65.
		{"on the curve", "", []string{"flow test point one 2.5 m3/h"}, "head test point one 33 m", "33 m in", ""},
		{"on the limit of the curve", "", []string{"flow test point one 2.5 m3/h"}, "head test point one 31.35 m", "31.35 m in", ""},
		{"off the curve", "", []string{"flow test point one 2.5 m3/h"}, "head test point one 31.3 m", "31.3 m in", "derived head@point=1 warn"},
		{"more stages, more head", "stages=4", []string{"flow test point one 2.5 m3/h"}, "head test point one 33 m", "33 m in", "derived head@point=1 warn"},
		{"beyond the end of the curve", "", []string{"flow test point one 11 m3/h"}, "head test point one 10 m", "10 m in", "derived head@point=1 warn"},
		{"one point is not another", "", []string{"flow test point one 2.5 m3/h"}, "head test point two 20 m", "20 m in", ""},

		// IEC 60228: R2 = R1 (t2 + 234.5)/(t1 + 234.5); 1.500 ohms at 20 degrees are 1.529469548 at 25.
		{"copper at 20 degrees, in at 25", "", nil, "winding 1.500 ohms at 20 degrees", "1.500 Ohm in", ""},
		{"copper at 20 degrees, out at 25", "", nil, "winding 1.501 ohms at 20 degrees", "1.501 Ohm out", "limit winding warn"},
	}
	s := loadSmall(t)
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			b := open(t, s, tt.options)
			for _, n := range tt.before {
				b.say(n)
			}
			a := b.say(tt.note)
			if got := verdicts(a.Readings); got != tt.reads {
				t.Errorf("%q reads %q, want %q: %s", tt.note, got, tt.reads, a.Say)
			}
			if got := findings(b.job.Open()); got != tt.open {
				t.Errorf("after %q open is %q, want %q", tt.note, got, tt.open)
			}
		})
	}
}

func TestHandOverSaysWhatIsMissing(t *testing.T) {
	b := open(t, loadSmall(t), "stages=2 studs=4")
	for _, n := range []string{
		"spacer 71 mm", "ring clearance found ring one 0.3 mm", "ring clearance found ring two 0.3 mm",
		"stage nut stage one 40 Nm", "all studs pass one stud torque 10 Nm", "all studs pass two stud torque 20 Nm",
		"flow point one 0 m3/h", "flow point two 5 m3/h", "flow point three 10 m3/h",
		"head point one 24 m", "head point two 20 m",
	} {
		b.say(n)
	}
	if got := findings(b.job.Open()); got != "" {
		t.Fatalf("open before the hand-over: %s", got)
	}
	b.say("handed over")
	want := "missing nut@stage=2 warn; missing head@point=3 warn; missing winding warn"
	if got := findings(b.job.Open()); got != want {
		t.Errorf("open at hand-over: %s\nwant %s", got, want)
	}
	b.say("winding 1.4 ohms at 25 degrees")
	want = "missing nut@stage=2 warn; missing head@point=3 warn"
	if got := findings(b.job.Open()); got != want {
		t.Errorf("open after one is done: %s\nwant %s", got, want)
	}
}

func TestQuestionsAboutTheJob(t *testing.T) {
	b := open(t, loadSmall(t), "stages=4")
	b.say("stage nut stage one 50 Nm")
	for note, want := range map[string]string{
		"how many stages":     "This job has four stages.",
		"how many studs":      "This job has six studs.",
		"what do I need":      "This job needs one short spacer, four stage nuts and nine washers.",
		"why":                 "Stage nut one: 50 N·m, out: 38 to 42 N·m.",
		"how many sandwiches": "I cannot answer that. Ask what is called for, what is left, what is open, what was read, or where we are.",
	} {
		if a := b.say(note); a.Say != want {
			t.Errorf("%q is answered %q, want %q", note, a.Say, want)
		}
	}
	b.say("stage nut stage one 40 Nm")
	if a := b.say("why"); a.Say != "Stage nut one: 50 N·m, out: 38 to 42 N·m. It is closed." {
		t.Errorf("a closed finding is explained: %q", a.Say)
	}
}

// What the job needs and what belongs at a place is answered from the rules.
func TestQuestionsAboutOrderAndTools(t *testing.T) {
	b := open(t, demo(t), "cut_impellers=1")
	if a := b.say("which wrench for the collar nuts"); a.Say != "There is no register of instruments here." {
		t.Errorf("without a register: %q", a.Say)
	}
	b.job.Equip(register(t))
	b.job.Today("2026-11-25")
	for _, n := range []string{"build spacer 64 mm", "full impeller stage one", "stage one seated", "collar nut stage one 48 Nm", "rod one pass one 8 Nm"} {
		b.say(n)
	}
	for note, want := range map[string]string{
		"read back stage one":               "Stage one impeller, full. Stage one seated. Collar nut one, forty-eight newton metres. In.",
		"read back stage two":               "Not yet: impeller, seated and collar nut.",
		"what's left before the cover":      "Before cover on: impeller (4 of them), seated (4 of them), collar nut (4 of them) and valve fitted.",
		"how many collar nuts are left":     "Collar nuts: four left to do.",
		"how many collar nuts do I need":    "This job needs five collar nuts.",
		"how many washers":                  "This job needs five collar washers.",
		"how many impellers":                "This job needs four full impellers and one cut impeller.",
		"how many rods":                     "This job has four rods.",
		"which bolts do I need":             "This job needs four coupling bolts.",
		"what's the order of the rods":      "Tie rods: one, three, two, four; each pass whole before the next.",
		"which rod is next":                 "Next: tie rod three, pass one.",
		"which tie rod is next":             "Next: tie rod three, pass one.",
		"which wrench for the collar nuts":  "Collar nut: wrench 7.",
		"what gauge do I use":               "Collar nut: wrench 7.",
		"which wrench for the runout":       "Shaft runout: depth gauge 1, dial indicator 3, feeler gauge 1 or micrometer 2.",
		"where is the torque wrench":        "I cannot answer that. Ask what is called for, what is left, what is open, what was read, or where we are.",
		"how tight are the coupling bolts":  "Coupling bolt, pass one: fifteen newton metres, give or take eight per cent. Coupling bolt, pass two: thirty newton metres, give or take eight per cent.",
		"what's the insulation limit":       "Insulation: at least one hundred megohms at forty degrees Celsius.",
		"what's the torque for pass three":  "Tie rod, pass three: twenty newton metres, give or take ten per cent.",
		"what's the torque, the third pass": "Tie rod, pass three: twenty newton metres, give or take ten per cent.",
	} {
		if a := b.say(note); a.Say != want {
			t.Errorf("%q is answered %q, want %q", note, a.Say, want)
		}
	}
}

func TestQuestionsAboutParts(t *testing.T) {
	for options, want := range map[string]string{"": "End cap: flat.", "size=8": "End cap: domed."} {
		if a := open(t, loadSmall(t), options).say("which end cap"); a.Say != want {
			t.Errorf("with %q it is answered %q, want %q", options, a.Say, want)
		}
	}
	b := open(t, loadSmall(t), "")
	if a := b.say("what's the hose test"); a.Say != "Hose test: at least four bar, time at least five minutes, temperature fifteen to twenty-five degrees Celsius." {
		t.Errorf("what it is taken at is answered: %q", a.Say)
	}
}

// What "same again" refers to ends at hand-over.
func TestContextEndsAtHandOver(t *testing.T) {
	b := open(t, loadSmall(t), "stages=4")
	b.say("stage nut stage one 40 Nm")
	b.say("handed over")
	if a := b.say("stage two same again"); len(a.Readings) > 0 {
		t.Errorf("after the hand-over \"same again\" records %s: %s", verdicts(a.Readings), a.Say)
	}
}
