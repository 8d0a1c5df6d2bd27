package trend

import (
	"math/rand/v2"
	"testing"
	"time"

	"readback/rules/drift"
)

// Where no instrument is off, one is blamed as seldom as the confidence says: in at most
// five of a hundred looks at all of them, although each is compared, and the rest again
// once one was set apart.
func TestFalseAlarmsAreAsRareAsItSays(t *testing.T) {
	const looks = 600
	names := []string{"wrench 2", "wrench 7", "wrench 9"}
	blamed := 0
	for seed := range uint64(looks) {
		r := rand.New(rand.NewPCG(seed, 9))
		var readings []drift.Measured
		for i := range 60 {
			readings = append(readings, drift.Measured{Group: "nut", Instrument: names[i%3], Off: r.NormFloat64(), When: time.Unix(int64(i+1)*86400, 0)})
		}
		for _, f := range findings(readings, names, drift.OfNominal, drift.Together(level, len(names))) {
			if f.Shown {
				blamed++
				break
			}
		}
	}
	// Of 600 looks at 5 % the number is below 47 but for one time in a thousand.
	if blamed > 46 || blamed == 0 {
		t.Errorf("a good instrument is blamed in %d of %d looks", blamed, looks)
	}
}

// The one that is off comes first, and those beside it are compared without its readings.
func TestTheWorstIsSetApart(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	var readings []drift.Measured
	names := []string{"wrench 2", "wrench 7", "wrench 9"}
	for i := range 120 {
		off := 0.3 * r.NormFloat64()
		if names[i%3] == "wrench 7" {
			off -= 3
		}
		readings = append(readings, drift.Measured{Group: "nut", Instrument: names[i%3], Off: off, When: time.Unix(int64(i+1)*86400, 0)})
	}
	all := findings(readings, names, drift.OfNominal, drift.Together(level, 3))
	if len(all) != 3 || all[0].Instrument != "wrench 7" || !all[0].Shown || all[1].Shown || all[2].Shown {
		t.Fatalf("%+v", all)
	}
	for _, f := range all[1:] {
		if len(f.Comparison.With) != 1 || f.Comparison.With[0] == "wrench 7" {
			t.Errorf("%s is compared with %v", f.Instrument, f.Comparison.With)
		}
	}
	// Of two nobody can tell which is off, and the second is not blamed for the first.
	two := findings(readings, []string{"wrench 7", "wrench 9"}, drift.OfNominal, level)
	if len(two) != 2 || !two[0].Shown || two[1].Shown || two[1].Comparison != nil {
		t.Errorf("of two: %+v", two)
	}
}
