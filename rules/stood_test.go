package rules_test

import (
	"math"
	"testing"

	"readback/rules"
)

// stoodOf returns what stands of a callout once the notes were said.
func stoodOf(t *testing.T, callout string, notes ...string) (out []rules.Stood) {
	t.Helper()
	b := open(t, demo(t), "")
	b.job.Equip(register(t))
	for _, note := range notes {
		b.say(note)
	}
	for _, s := range b.job.Stood() {
		if s.Callout == callout {
			out = append(out, s)
		}
	}
	return out
}

func TestStood(t *testing.T) {
	one := func(callout string, notes ...string) rules.Stood {
		t.Helper()
		all := stoodOf(t, callout, notes...)
		if len(all) != 1 {
			t.Fatalf("%d readings of %s stand after %q", len(all), callout, notes)
		}
		return all[0]
	}
	nut := one("collar_nut_torque", "tea", "collar nut stage three forty eight point five newton metres on wrench seven")
	if nut.Note != 2 || nut.Base.RatString() != "97/2" || nut.Judged != 48.5 || nut.Instrument != "wrench 7" || nut.Where != "collar nut three" ||
		nut.Nominal.RatString() != "48" || nut.Min.FloatString(2) != "46.08" || nut.Max.FloatString(2) != "49.92" || nut.Limits != "46.08 to 49.92 N·m" {
		t.Errorf("a nut stands as %+v", nut)
	}
	if nut.Uncertainty != "0.56 N·m" { // √((2 % of 48.5)²/3 + 0.1²/12), as the register of the test has it
		t.Errorf("its uncertainty is %q", nut.Uncertainty)
	}
	runout := one("shaft_runout", "shaft runout 0.03 mm")
	if runout.Uncertainty != "" {
		t.Errorf("without an instrument the uncertainty is %q", runout.Uncertainty)
	}
	if runout.Min != nil || runout.Nominal != nil || runout.Max.RatString() != "1/20" {
		t.Errorf("what is limited at one end stands as %+v", runout)
	}
	phase := one("winding_resistance", "winding resistance u v 1.86 ohms")
	if phase.Min != nil || phase.Max != nil || phase.Limits != "" {
		t.Errorf("what has no limits stands as %+v", phase)
	}
	// 205 MOhm at 30 degrees are half of it at 40.
	warm := one("insulation", "insulation two oh five megohms at thirty degrees")
	if warm.Base.RatString() != "205" || math.Abs(warm.Judged-102.5) > 1e-9 || warm.AsRead || warm.Limits != "at least 100 MΩ at 40 °C" {
		t.Errorf("what was taken at 30 degrees stands as %+v", warm)
	}
	if cold := one("insulation", "insulation two oh five megohms"); cold.Judged != 205 || !cold.AsRead {
		t.Errorf("what was taken at no temperature stands as %+v", cold)
	}
}

// A computed value comes of the last of its readings, with their instrument if that is one.
func TestStoodOfComputed(t *testing.T) {
	down, up := "end play down 82.6 mm on depth gauge one", "end play up 81.2 mm"
	if got := stoodOf(t, "end_play", down); len(got) > 0 {
		t.Errorf("half of an end play stands as %+v", got)
	}
	got := stoodOf(t, "end_play", down, "tea", up+" on depth gauge one")
	if len(got) != 1 || !got[0].Derived || got[0].Note != 3 || got[0].Base.FloatString(2) != "1.40" || got[0].Instrument != "depth gauge 1" {
		t.Errorf("an end play stands as %+v", got)
	}
	if got = stoodOf(t, "end_play", down, up+" on depth gauge two"); len(got) != 1 || got[0].Instrument != "" {
		t.Errorf("an end play of two gauges stands as %+v", got)
	}
	if got = stoodOf(t, "end_play", down, up, "scratch that"); len(got) > 0 {
		t.Errorf("after its reading was withdrawn an end play stands as %+v", got)
	}
}
