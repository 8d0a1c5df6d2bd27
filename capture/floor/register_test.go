package floor_test

import (
	"strings"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"readback/capture/floor"
	"readback/capture/floor/floortest"
	"readback/capture/journal/journaltest"
)

const register = `shop: Millrace Pump Works
instruments:
  - say: [wrench seven]
    measures: N.m
    range: 10..60
    accuracy: 2 %
    step: 0.1
    calibrated_until: UNTIL
`

// shopOn returns a floor on the disk whose register has wrench seven calibrated until a
// day.
func shopOn(tb testing.TB, d *disk, until string) *floor.Floor {
	tb.Helper()
	r, err := floor.ReadRegister("register.yaml", []byte(strings.Replace(register, "UNTIL", until, 1)))
	if err != nil {
		tb.Fatal(err)
	}
	return floor.New(floor.Config{
		Reader: d, Writer: writer{d}, Specs: floortest.Specs(tb), Shop: r, Program: "test", Log: zerolog.Nop(),
		Now: func() time.Time { return journaltest.Start },
	})
}

// A seat knows which instruments its shop lacks; where the shop has no register, it lacks none.
func TestASeatKnowsWhatItsShopLacks(t *testing.T) {
	for _, f := range []struct {
		on    *floor.Floor
		lacks bool
	}{{shopOn(t, newDisk(), "2027-01-01"), true}, {floorOn(t, newDisk()), false}} {
		openDemo(t, f.on, "MW-1041")
		s := sit(t, f.on, "MW-1041", "bench 1", "Ines")
		for name, lacks := range map[string]bool{"wrench 7": false, "wrench 40": f.lacks} {
			if got, err := s.Lacks(t.Context(), name); err != nil || got != lacks {
				t.Errorf("%s is lacking: %t, error %v; want %t", name, got, err, lacks)
			}
		}
	}
}

// A job keeps the register that it was opened with: a calibration that is entered later
// changes no finding of a note that was said before it, and a restart none at all.
func TestJobKeepsItsRegister(t *testing.T) {
	before := journaltest.Start.AddDate(0, 0, -1).UTC().Format(time.DateOnly)
	today := journaltest.Start.UTC().Format(time.DateOnly)
	d := newDisk()
	f := shopOn(t, d, before)
	openDemo(t, f, "MW-1041")
	s := sit(t, f, "MW-1041", "bench 1", "Ines")
	say(t, s, 1, "on wrench seven")
	if a := say(t, s, 2, "collar nut stage one 48 Nm"); !strings.Contains(string(a.Body), "was calibrated until "+before) {
		t.Errorf("an instrument past its calibration is not told: %s", a.Body)
	}

	f = shopOn(t, d, today)
	s = sit(t, f, "MW-1041", "bench 1", "Ines")
	if a := say(t, s, 3, "collar nut stage two 48 Nm"); !strings.Contains(string(a.Body), "was calibrated until "+before) {
		t.Errorf("after a restart the job goes by another register, or has lost the instrument in use: %s", a.Body)
	}
	openDemo(t, f, "MW-1042")
	s = sit(t, f, "MW-1042", "bench 1", "Ines")
	if a := say(t, s, 4, "collar nut stage one 48 Nm on wrench seven"); strings.Contains(string(a.Body), "calibrated until") {
		t.Errorf("a job that was opened later does not go by the new register: %s", a.Body)
	}
}
