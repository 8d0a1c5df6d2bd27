package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"readback/capture/journal"
	"readback/capture/journal/sqlite"
)

// oldSound gives a job of a data folder a note of a hundred days ago with a sound, and returns the file
// of that.
func oldSound(t *testing.T, data, job, text string) (file string) {
	t.Helper()
	keeps, err := openKept(data)
	if err != nil {
		t.Fatal(err)
	}
	hash, err := keeps.sounds.Files.Put([]byte(text))
	if err != nil {
		t.Fatal(err)
	}
	file = filepath.Join(data, soundFolder, hash[:2], hash+".flac")
	old := time.Now().Add(-100 * 24 * time.Hour)
	if err := os.Chtimes(file, old, old); err != nil {
		t.Fatal(err)
	}
	store, err := sqlite.Open(t.Context(), data)
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	results, err := store.Append(t.Context(), []journal.Entry{{Job: job, ID: newID(t), Kind: journal.Note, At: journal.InstantOf(old), Text: "seat clean", Sound: hash}})
	if err != nil || results[0].Err != nil {
		t.Fatal(err, results)
	}
	return file
}

func there(file string) bool {
	_, err := os.Stat(file)
	return err == nil
}

// TestPurge: the command says what it would do, does it, and writes it down first; beside a server that
// runs it does nothing; a server with an age does it by itself, and mends what a crash has left.
func TestPurge(t *testing.T) {
	data := t.TempDir()
	p := begin(t, data)
	p.open(t, "MW-1041")
	p.stop(t)
	file := oldSound(t, data, "MW-1041", "one")
	run := func(args ...string) (string, error) {
		out, err := exec.CommandContext(t.Context(), "readback", append([]string{"purge", "--data", data}, args...)...).CombinedOutput()
		return string(out), err
	}
	p = begin(t, data)
	if out, err := run("--sounds", "90"); err == nil || !strings.Contains(out, "stop the server first") || !there(file) {
		t.Errorf("beside a server: %v, %s", err, out)
	}
	p.stop(t)
	if out, err := run("--sounds", "90", "--dry"); err != nil || !strings.HasSuffix(out, "1 sound and 0 photos would be purged\n") || !there(file) {
		t.Errorf("dry: %v, %s", err, out)
	}
	if out, err := run("--sounds", "101"); err != nil || !strings.Contains(out, "0 sounds") || !there(file) {
		t.Errorf("too young: %v, %s", err, out)
	}
	left := filepath.Join(filepath.Dir(file), strings.Repeat(filepath.Base(filepath.Dir(file)), 32)+".flac") // a crash kept it from its entry
	if err := os.WriteFile(left, []byte("two"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Chtimes(left, time.Time{}, time.Now().Add(-time.Hour)); err != nil {
		t.Fatal(err)
	}
	if out, err := run("--sounds", "90", "--by", "Ines", "--why", "the works council's rule"); err != nil || !strings.Contains(out, "MW-1041: 1 sound or photo") || !strings.Contains(out, "1 sound and 0 photos purged, 2 files removed") || there(file) {
		t.Errorf("%v, %s", err, out)
	}
	all := kept(t, data)
	if e := all[len(all)-1]; e.Kind != journal.Purged || e.Person != "Ines" || e.Purge.Rule != "the works council's rule" || e.Purge.Items[0].Seq != 2 {
		t.Errorf("the record ends with %+v", e)
	}
	out, err := exec.CommandContext(t.Context(), "readback", "export", "MW-1041", "--as", "csv", "--data", data).Output()
	if err != nil || !strings.Contains(string(out), "sound purged on ") {
		t.Errorf("export: %v, %s", err, out)
	}

	if err := os.WriteFile(file, []byte("one"), 0o600); err != nil { // as a crash would leave it
		t.Fatal(err)
	}
	old := time.Now().Add(-time.Hour)
	if err := os.Chtimes(file, old, old); err != nil {
		t.Fatal(err)
	}
	another := oldSound(t, data, "MW-1041", "two")
	c := exec.CommandContext(t.Context(), "readback", "serve", "--data", data, "--listen", "127.0.0.1:0", "--stt", "none", "--speak", "none", "--keep-sound", "90", "--key-file", data+"-seal.key")
	server := &process{Cmd: c}
	if err := server.begin(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = server.end(os.Kill) })
	for end := time.Now().Add(20 * time.Second); (there(file) || there(another)) && time.Now().Before(end); {
		time.Sleep(20 * time.Millisecond)
	}
	server.stop(t)
	if there(file) || there(another) {
		t.Errorf("the server has left the mended one %t, the old one %t: %s", there(file), there(another), &server.log)
	}
	all = kept(t, data)
	if e := all[len(all)-1]; e.Kind != journal.Purged || e.Purge.Rule != "older than 90 days" || e.Seq != 5 {
		t.Errorf("the record ends with %+v", e)
	}
}

// A dry purge makes no folder.
func TestADryPurgeMakesNothing(t *testing.T) {
	data := t.TempDir()
	store, err := sqlite.Open(t.Context(), data)
	if err != nil {
		t.Fatal(err)
	}
	if err := store.Close(); err != nil {
		t.Fatal(err)
	}
	out, err := exec.CommandContext(t.Context(), "readback", "purge", "--data", data, "--sounds", "90", "--dry").CombinedOutput()
	if err != nil || there(filepath.Join(data, soundFolder)) || there(filepath.Join(data, photoFolder)) {
		t.Errorf("%v, %s", err, out)
	}
}

// A job that cannot be worked on any more loses its old sounds as well.
func TestPurgeOfABrokenJob(t *testing.T) {
	data := t.TempDir()
	file := oldSound(t, data, "MW-1041", "one") // nothing opens the job
	out, err := exec.CommandContext(t.Context(), "readback", "purge", "--data", data, "--sounds", "90").CombinedOutput()
	if err != nil || there(file) {
		t.Errorf("%v, %s", err, out)
	}
	if all := kept(t, data); len(all) != 2 || all[1].Kind != journal.Purged {
		t.Errorf("the record is %+v", all)
	}
}

// addEntries keeps entries in a data folder without a server.
func addEntries(t *testing.T, data string, entries ...journal.Entry) {
	t.Helper()
	store, err := sqlite.Open(t.Context(), data)
	if err != nil {
		t.Fatal(err)
	}
	defer store.Close()
	results, err := store.Append(t.Context(), entries)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range results {
		if r.Err != nil {
			t.Fatal(r.Err)
		}
	}
}
