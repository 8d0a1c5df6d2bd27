package export_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"readback/capture/floor"
	"readback/capture/journal"
	"readback/web/export"
)

// A jump of the clock stands on page and paper and in the table, as what the program and no person has written.
func TestExportsHaveClockJumps(t *testing.T) {
	b := openBench(t)
	b.say(t, "Ines", "collar nut stage one forty eight newton metres")
	s, err := b.floor.State(t.Context(), job)
	if err != nil {
		t.Fatal(err)
	}
	wall, own := s.Last, time.Duration(0)
	watch := b.floor.ClockWatch(floor.Clocks{Wall: func() time.Time { return wall }, Own: func() time.Duration { return own }})
	if err := watch.Look(t.Context()); err != nil {
		t.Fatal(err)
	}
	wall, own = wall.Add(-2*time.Hour), own+time.Second
	if err := watch.Look(t.Context()); err != nil {
		t.Fatal(err)
	}
	const says = "was set back by 2h0m1s"
	r := b.record(t)
	page := string(write(t, r, export.HTML))
	if strings.Count(page, says) != 1 {
		t.Errorf("the page has it %d times", strings.Count(page, says))
	}
	rows, err := csv.NewReader(bytes.NewReader(write(t, r, export.CSV))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if n := len(slices.DeleteFunc(slices.Clone(rows), func(row []string) bool { return !strings.Contains(strings.Join(row, " "), says) })); n != 1 {
		t.Errorf("the table has it in %d rows", n)
	}
	var of struct {
		Entries []struct{ Kind, Text, Person string }
	}
	if err := json.Unmarshal(write(t, r, export.JSON), &of); err != nil || len(of.Entries) != 3 || of.Entries[2].Kind != "clock" || !strings.Contains(of.Entries[2].Text, says) || of.Entries[2].Person != journal.NotStated {
		t.Errorf("the bundle has %+v, error %v", of, err)
	}
	name := filepath.Join(t.TempDir(), "t.pdf")
	if err := os.WriteFile(name, write(t, r, export.PDF), 0o600); err != nil {
		t.Fatal(err)
	}
	program, err := exec.LookPath("pdftotext")
	if err != nil {
		t.Skip("pdftotext is not here")
	}
	text, err := exec.CommandContext(t.Context(), program, "-layout", name, "-").Output()
	if joined := strings.Join(strings.Fields(string(text)), " "); err != nil || strings.Count(joined, says) != 1 {
		t.Errorf("the paper has it %d times, error %v", strings.Count(joined, says), err)
	}
}
