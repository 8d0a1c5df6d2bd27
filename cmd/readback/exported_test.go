package main

import (
	"bytes"
	"errors"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/journal/sqlite"
)

// grow adds a note to a job of a folder, stamped with a time.
func grow(t *testing.T, data, job string, at time.Time) {
	t.Helper()
	store, err := sqlite.Open(t.Context(), data)
	if err != nil {
		t.Fatal(err)
	}
	e := journaltest.Note(job, 77)
	e.ID, e.Answer, e.Utterance, e.Sound, e.Caution, e.At = newID(t), []byte(`{"kind":"remark"}`), nil, "", "", journal.InstantOf(at)
	results, err := store.Append(t.Context(), []journal.Entry{e})
	if err := errors.Join(err, results[0].Err, store.Close()); err != nil {
		t.Fatal(err)
	}
}

// TestGoingOnAsksNoClock: a job that grew is exported anew, whatever the clocks of the server and of this machine
// show; what the shop did not sign is not done; and a file that was changed is not taken for the one that was written.
func TestGoingOnAsksNoClock(t *testing.T) {
	data, key := sealedFolder(t, []string{"MW-1041", "MW-1042"}, 2, 1, 100)
	dir := filepath.Join(t.TempDir(), "out")
	do := func(args ...string) string {
		t.Helper()
		var out, errs bytes.Buffer
		if status := run(t.Context(), std{in: strings.NewReader(""), out: &out, err: &errs}, append([]string{"export", "--all", "--data", data, "-o", dir}, args...)); status != 0 {
			t.Fatalf("status %d: %s", status, &errs)
		}
		return errs.String()
	}
	want := func(said, want string) {
		t.Helper()
		if !strings.HasSuffix(said, "2 jobs: "+want+", 0 not exported\n") {
			t.Errorf("want %q: %s", want, said)
		}
	}
	nobody := filepath.Join(t.TempDir(), "no.key")
	for range 2 {
		said := do("--as", "json", "--key-file", nobody)
		want(said, "2 written, 0 there already")
		if strings.Count(said, ".json, which the shop's key did not sign\n") != 2 {
			t.Errorf("it does not say what is not signed: %s", said)
		}
	}
	want(do("--as", "json", "--key-file", key), "2 written, 0 there already")
	want(do("--as", "json", "--key-file", key), "0 written, 2 there already")
	want(do("--as", "csv"), "2 written, 0 there already")
	grow(t, data, "MW-1041", time.Now().Add(-1000*time.Hour)) // the clock was set back far
	want(do("--as", "csv"), "1 written, 1 there already")
	text, err := os.ReadFile(filepath.Join(dir, "MW-1041.csv"))
	if err != nil || bytes.Count(text, []byte("MW-1041,4,")) != 1 {
		t.Errorf("the note is not in the file: %s %v", text, err)
	}
	want(do("--as", "csv"), "0 written, 2 there already")
	if err := os.Truncate(filepath.Join(dir, "MW-1042.csv"), 20); err != nil {
		t.Fatal(err)
	}
	want(do("--as", "csv"), "1 written, 1 there already")
	if err := os.WriteFile(filepath.Join(dir, exportedFile), []byte(`{"file":"MW-10`), 0o600); err != nil {
		t.Fatal(err)
	}
	want(do("--as", "csv"), "2 written, 0 there already")
	want(do("--as", "csv"), "0 written, 2 there already")
}

// A server that goes silent in the middle of a bundle does not hold the export for ever, and leaves no file.
func TestSilentServer(t *testing.T) {
	quiet := make(chan struct{})
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		for range 3 {
			_, _ = io.WriteString(w, `{"entries":[`)
			w.(http.Flusher).Flush()
			time.Sleep(30 * time.Millisecond)
		}
		select {
		case <-quiet:
		case <-r.Context().Done():
		}
	}))
	defer server.Close()
	defer close(quiet)
	from := source{server: server.URL}
	var got bytes.Buffer
	err := from.copy(t.Context(), "/", &got, 300*time.Millisecond)
	if err == nil || !strings.Contains(err.Error(), "it sent nothing for 300ms") || strings.Count(got.String(), "entries") != 3 {
		t.Errorf("error %v, got %q", err, &got)
	}
}

// Of several bundles, what each leaves open is told in short.
func TestVerifyManyTellsWhatIsOpen(t *testing.T) {
	data, key := sealedFolder(t, []string{"MW-1041", "MW-1042"}, 2, 1, 100)
	dir := t.TempDir()
	var out, errs bytes.Buffer
	do := func(args ...string) int {
		out.Reset()
		return run(t.Context(), std{in: strings.NewReader(""), out: &out, err: &errs}, args)
	}
	one, two := filepath.Join(dir, "1.json"), filepath.Join(dir, "2.json")
	if do("export", "MW-1041", "--as", "json", "--data", data, "--key-file", filepath.Join(dir, "no.key"), "-o", one) != 0 ||
		do("export", "MW-1042", "--as", "json", "--with-files", "--data", data, "--key-file", key, "-o", two) != 0 {
		t.Fatal(&errs)
	}
	if status := do("verify", one, two); status != 0 {
		t.Errorf("status %d: %s", status, &errs)
	}
	for path, version := range map[string]string{one: `"seal":{"version":2,`, two: `"seal":{"version":3,`} { // an older program cannot check files inside
		if !bytes.Contains(whole(os.ReadFile(path)), []byte(version)) {
			t.Errorf("%s has another seal than %s", path, version)
		}
	}
	first, second, _ := strings.Cut(out.String(), two)
	if !strings.Contains(first, "  not checked: whether the job had more entries at that head; ") || strings.Contains(second, "more entries") || !strings.Contains(second, "Of none was checked:\n  who signed") {
		t.Errorf("it says:\n%s", &out)
	}
}
