package rules_test

import (
	"strings"
	"testing"

	"readback/parse"
	"readback/rules"
	"readback/rules/spec"
	"readback/testdata"
)

func register(tb testing.TB) *rules.Shop {
	tb.Helper()
	src, err := testdata.Files.ReadFile("shop/register.yaml")
	if err != nil {
		tb.Fatal(err)
	}
	s, err := spec.LoadShop("register.yaml", src)
	if err != nil {
		tb.Fatal(err)
	}
	return s
}

func TestInstruments(t *testing.T) {
	tests := []struct {
		name    string
		before  []string
		note    string
		reads   string
		finding string // what the instrument finding says; "" for none
	}{
		{"no instrument named, nothing said of it", nil, "collar nut stage one 49.5 Nm", "49.5 N.m in", ""},
		// A wrench of 2 % at 48 N.m, step 0.1: u = 0.555, U = 1.11, guards 47.19 to 48.81.
		{"in the middle with a good wrench", nil, "collar nut stage one 48 Nm on wrench seven", "48 N.m in", ""},
		{"inside, but the uncertainty reaches the limit", nil, "collar nut stage one 49.5 Nm on wrench seven", "49.5 N.m close", ""},
		{"out stays out", nil, "collar nut stage one 50.5 Nm on wrench seven", "50.5 N.m out", ""},
		{"named once, it holds for what follows", []string{"on wrench seven"}, "collar nut stage one 49.5 Nm", "49.5 N.m close", ""},
		{"each quantity has its own", []string{"on wrench seven", "depth gauge one", "end play down 82.60 mm"}, "collar nut stage one 49.5 Nm", "49.5 N.m close", ""},
		{"past its calibration", nil, "collar nut stage one 48 Nm on wrench nine", "48 N.m in", "calibrated until 2026-03-31"},
		{"not in the register", nil, "collar nut stage one 48 Nm on wrench twelve", "48 N.m in", "not in the shop's register"},
		{"out of its range", nil, "rod one pass one 8 Nm on wrench seven", "8 N.m in", "10 to 60 N·m"},
		// ± 4 % of 48 N.m is what the limits allow: JCGM 106, U of 2.22 against 1.92 N.m.
		{"too coarse to prove the limits", nil, "collar nut stage one 48 Nm on wrench two", "48 N.m close", "too coarse"},
		{"it measures something else", nil, "collar nut stage one 48 Nm on depth gauge one", "48 N.m in", "measures millimetres"},
		{"a limit on one side", nil, "shaft runout 0.048 mm on dial indicator three", "0.048 mm close", ""},
		{"said in another unit", nil, "collar nut stage one 35.4 foot pounds on wrench seven", "35.4 [ft_i].[lbf_av] in", ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			b := open(t, demo(t), "")
			b.job.Equip(register(t))
			b.job.Today("2026-11-25")
			for _, n := range tt.before {
				b.say(n)
			}
			a := b.say(tt.note)
			if got := verdicts(a.Readings); got != tt.reads {
				t.Errorf("%q reads %s, want %s", tt.note, got, tt.reads)
			}
			got := ""
			for _, f := range a.Findings {
				if f.Rule == rules.RuleInstrument {
					got = f.Text
				}
			}
			if tt.finding == "" && got != "" || !strings.Contains(got, tt.finding) {
				t.Errorf("%q: the instrument finding is %q, want %q in it", tt.note, got, tt.finding)
			}
		})
	}
}

func TestAnInstrumentFindingIsClosedByAFitOne(t *testing.T) {
	b := open(t, demo(t), "")
	b.job.Equip(register(t))
	b.job.Today("2026-11-25")
	b.say("collar nut stage one 48 Nm on wrench nine")
	if got := findings(b.job.Open()); got != "instrument collar_nut_torque@stage=1 warn" {
		t.Fatalf("open: %s", got)
	}
	b.say("collar nut stage one 48 Nm on wrench seven")
	if got := findings(b.job.Open()); got != "" {
		t.Errorf("open after a fit wrench: %s", got)
	}
}

// On the last day of its calibration an instrument is fit, the day after it is not.
func TestCalibrationEndsWithItsDay(t *testing.T) {
	for day, want := range map[string]string{"2027-06-30": "", "2027-07-01": "instrument collar_nut_torque@stage=1 warn", "": ""} {
		b := open(t, demo(t), "")
		b.job.Equip(register(t))
		b.job.Today(day)
		b.say("collar nut stage one 48 Nm on wrench seven")
		if got := findings(b.job.Open()); got != want {
			t.Errorf("on %q open is %q, want %q", day, got, want)
		}
	}
}

func TestConformityIsShown(t *testing.T) {
	b := open(t, demo(t), "")
	b.job.Equip(register(t))
	a := b.say("collar nut stage one 49.5 Nm on wrench seven")
	// u of 2 % of 49.5 N.m and a step of 0.1 is 0.572; Φ(0.42/0.572) = 0.768.
	if got := a.Readings[0].Conformity; got != "0.768" {
		t.Errorf("the probability of conformity is %s, want 0.768", got)
	}
	if want := "Close: inside with seventy-seven per cent likelihood."; !strings.Contains(a.Say, want) {
		t.Errorf("it says %q, want %q in it", a.Say, want)
	}
}

// A computed value is as uncertain as its readings together: a gauge of 0.02 mm and a step
// of 0.01 give u = 0.0119 for each depth, and 0.0168 for their difference. Φ((2.4 - 2.39)/0.0168)
// is 0.724.
func TestConformityOfWhatIsComputed(t *testing.T) {
	for _, tt := range []struct {
		up, verdict, conformity, say, open string
	}{
		{"81.20", "in", "1.000", "End play, one point four millimetres. In.", ""},
		{"80.21", "close", "0.724", "End play, two point three nine millimetres. Close: inside with seventy-two per cent likelihood.", ""},
		{"80.19", "out", "0.276", "End play two point four one millimetres. Out: one to two point four millimetres.", "End play 2.41 mm, out: 1 to 2.4 mm; 28 % likely inside"},
	} {
		b := open(t, demo(t), "")
		b.job.Equip(register(t))
		b.say("end play down 82.60 mm on depth gauge one")
		a := b.say("end play up " + tt.up + " mm")
		if !strings.Contains(a.Say, tt.say) {
			t.Errorf("up %s: it says %q, want %q in it", tt.up, a.Say, tt.say)
		}
		for _, c := range b.job.State() {
			if c.ID != "end_play" {
				continue
			}
			if r := c.Places[0].Reading; r == nil || string(r.Verdict) != tt.verdict || r.Conformity != tt.conformity {
				t.Errorf("up %s: end play is %+v, want %s, %s", tt.up, r, tt.verdict, tt.conformity)
			}
		}
		got := ""
		for _, f := range b.job.Open() {
			if f.Rule == rules.RuleDerived {
				got = f.Text
			}
		}
		if got != tt.open {
			t.Errorf("up %s: the finding is %q, want %q", tt.up, got, tt.open)
		}
	}
	b := open(t, demo(t), "")
	b.job.Equip(register(t))
	b.say("end play down 82.60 mm")
	if a := b.say("end play up 80.21 mm on depth gauge one"); !strings.Contains(a.Say, "End play, two point three nine millimetres. In.") {
		t.Errorf("with one uncertainty unknown nothing is said of it: %q", a.Say)
	}
}

// An insulation resistance of 52 megohms at 50 degrees is 104 at 40 (IEEE Std 43-2013, 6.3: it
// halves with every 10 K). A tester of 5 % and a step of 1 gives u = 1.53, 3.06 at 40 degrees:
// Φ(4/3.06) is 0.905, and close. In winding copper 1.500 ohms at 20 degrees are 1.52947 at 25 (IEC
// 60228, 234.5), with u = 0.00179: Φ(0.00053/0.00179) is 0.616.
func TestConformityIsThatAtTheReference(t *testing.T) {
	b := open(t, demo(t), "")
	b.job.Equip(register(t))
	a := b.say("insulation 52 megohms at 50 degrees on insulation tester one")
	if r := a.Readings[0]; r.Verdict != rules.Close || r.Conformity != "0.905" {
		t.Errorf("insulation is %s, conformity %s; want close, 0.905", r.Verdict, r.Conformity)
	}
	b = open(t, loadSmall(t), "")
	b.job.Equip(register(t))
	a = b.say("winding 1.500 ohms at 20 degrees on ohmmeter one")
	if r := a.Readings[0]; r.Verdict != rules.In || r.Conformity != "0.616" {
		t.Errorf("the winding is %s, conformity %s; want in, 0.616", r.Verdict, r.Conformity)
	}
}

// What a reading may be measured with is what would raise no finding at its limits.
func TestFitInstruments(t *testing.T) {
	for _, tt := range []struct {
		callout string
		at      parse.Place
		day     string
		want    string
	}{
		{"collar_nut_torque", "stage=1", "2026-11-25", "wrench 7"}, // two is too coarse, four too small, nine overdue
		{"collar_nut_torque", "stage=1", "2026-03-01", "wrench 7, wrench 9"},
		{"collar_nut_torque", "stage=1", "2027-07-01", ""},
		{"tie_rod_torque", "rod=1,pass=1", "2026-11-25", "wrench 4"},
		{"end_play_down", "", "2026-11-25", "depth gauge 1"}, // no limits: what reaches 60 to 110 mm
		{"winding_resistance", "phase=uv", "2026-11-25", "ohmmeter 1"},
		{"insulation", "", "2026-11-25", "insulation tester 1"},
		{"end_play", "", "2026-11-25", ""},   // computed
		{"seat_clean", "", "2026-11-25", ""}, // nothing to measure
	} {
		b := open(t, demo(t), "")
		b.job.Equip(register(t))
		b.job.Today(tt.day)
		if got := strings.Join(b.job.Fit(parse.Target{Callout: tt.callout, At: tt.at}), ", "); got != tt.want {
			t.Errorf("on %s %s %s is measured with %q, want %q", tt.day, tt.callout, tt.at, got, tt.want)
		}
	}
}
