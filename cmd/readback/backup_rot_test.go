package main

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"readback/capture/evidence"
)

// What the disk of the backups did to a sound that was copied before, which has its size still, is mended by the
// next backup.
func TestACopyThatRotted(t *testing.T) {
	data, key := sealedFolder(t, []string{"MW-1041"}, 2, 1, 1000)
	to := filepath.Join(t.TempDir(), "backups")
	backup := []string{"backup", "--data", data, "--to", to, "--key-file", key}
	must(t, clean, "1 sound or photo copied, 0 there already", backup...)
	all, err := filepath.Glob(filepath.Join(to, soundFolder, "*", "*"))
	if err != nil || len(all) != 1 {
		t.Fatal(all, err)
	}
	sound := whole(os.ReadFile(all[0]))
	rotten := bytes.Clone(sound)
	rotten[20] ^= 1
	if err := os.WriteFile(all[0], rotten, 0o600); err != nil {
		t.Fatal(err)
	}
	must(t, 1, "was changed, or is torn", "restore", "--from", to, "--dry")
	must(t, clean, "1 sound or photo copied, 0 there already", backup...)
	must(t, clean, "0 sounds and photos copied, 1 there already", backup...)
	must(t, clean, "", "restore", "--from", to, "--dry")
	if got := whole(os.ReadFile(all[0])); evidence.HashOf(got) != evidence.HashOf(sound) {
		t.Error("the copy is still changed")
	}
}
