package main

import (
	"path/filepath"
	"testing"
	"time"

	"readback/capture/backup"
)

// A backup that is made when the clock was set back is the newest all the same: it stays, and is what is put back.
func TestBackupsBehindAClockThatWasSetBack(t *testing.T) {
	data, _ := sealedFolder(t, []string{"MW-1041"}, 2, 1, 100)
	to := filepath.Join(t.TempDir(), "backups")
	now := time.Date(2031, 3, 4, 8, 0, 0, 0, time.UTC)
	backUp := func() backup.Report {
		t.Helper()
		r, err := backup.Make(t.Context(), backup.Config{Data: dataFolder(), From: data, To: to, Keep: 2, Program: "test", Now: func() time.Time { return now }, Tell: func(string) {}})
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	backUp()
	backUp() // in the same millisecond
	now = now.Add(-365 * 24 * time.Hour)
	grow(t, data, "MW-1041", now)
	last := backUp()
	if !there(last.Path) || len(last.Removed) != 1 || last.At != now {
		t.Errorf("%s, removed %v, at %s", last.Path, last.Removed, last.At)
	}
	r, err := backup.Restore(t.Context(), backup.RestoreConfig{Data: dataFolder(), From: to, Tell: func(string) {}})
	if err != nil || r.Path != last.Path || r.Entries != 4 {
		t.Errorf("the newest is %s with %d entries, error %v; want %s", r.Path, r.Entries, err, last.Path)
	}
}
