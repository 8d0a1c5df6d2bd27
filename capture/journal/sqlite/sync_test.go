package sqlite_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

var (
	// Lines of strace -f -y: "PID call(FD</path>..." and "PID <... call resumed>...".
	logWritten = regexp.MustCompile(`^\d+ +pwrite64\(\d+<[^>]*-wal>`)
	logSync    = regexp.MustCompile(`^(\d+) +fdatasync\(\d+<[^>]*-wal>(\) += 0| <unfinished)`)
	syncEnds   = regexp.MustCompile(`^(\d+) +<\.\.\. fdatasync resumed>\) += 0`)
	answered   = regexp.MustCompile(`^\d+ +write\(1<[^>]*>, "(\d+) \d+\\n"`)
)

// TestSyncComesBeforeAnswer watches the system calls of a server with one bench: before
// each answer the log was written, and then synced to the disk, and nothing after.
func TestSyncComesBeforeAnswer(t *testing.T) {
	strace, err := exec.LookPath("strace")
	if err != nil {
		t.Fatalf("%v: install strace", err)
	}
	trace := filepath.Join(t.TempDir(), "trace")
	server := exec.CommandContext(t.Context(), strace, "-f", "-y", "-e", "trace=pwrite64,fdatasync,write", "-o", trace, os.Args[0])
	server.Env = append(os.Environ(), crashFolder+"="+t.TempDir(), crashFrom+"=1", crashBench+"=1")
	if out, err := server.CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	text, err := os.ReadFile(trace)
	if err != nil {
		t.Fatal(err)
	}
	notes, early := checkTrace(strings.Split(string(text), "\n"))
	if notes != oneBench || len(early) > 0 {
		t.Errorf("%d notes were answered, want %d; too early: %v", notes, oneBench, early)
	}
}

// checkTrace counts the notes that were answered, and names those answered before the log
// was written and synced.
func checkTrace(lines []string) (notes int, early []string) {
	written, synced, syncing, last := false, false, "", ""
	for _, line := range lines {
		if logWritten.MatchString(line) {
			written, synced = true, false
		} else if m := logSync.FindStringSubmatch(line); m != nil {
			if syncing = m[1]; m[2] != " <unfinished" {
				synced = true
			}
		} else if m := syncEnds.FindStringSubmatch(line); len(m) > 1 && m[1] == syncing {
			synced = true
		} else if m := answered.FindStringSubmatch(line); len(m) > 1 && m[1] != last { // not one sent twice
			if !written || !synced {
				early = append(early, m[1])
			}
			notes, last, written, synced = notes+1, m[1], false, false
		}
	}
	return notes, early
}

// A watcher that sees nothing wrong in a wrong trace would be no test.
func TestCheckTraceFindsWhatIsWrong(t *testing.T) {
	const (
		write  = `7 pwrite64(5</d/journal.db-wal>, "x", 1, 0) = 1`
		sync   = `7 fdatasync(5</d/journal.db-wal>) = 0`
		answer = `8 write(1<pipe:[1]>, "1 1\n", 4) = 4`
	)
	for _, tt := range []struct {
		name  string
		lines []string
		fails bool
	}{
		{"in order", []string{write, write, sync, answer}, false},
		{"never synced", []string{write, answer}, true},
		{"synced too late", []string{write, answer, sync}, true},
		{"written again after the sync", []string{write, sync, write, answer}, true},
		{"never written", []string{sync, answer}, true},
		{"the sync has only begun", []string{write, `7 fdatasync(5</d/journal.db-wal> <unfinished ...>`, answer}, true},
		{"the sync has ended", []string{
			write, `7 fdatasync(5</d/journal.db-wal> <unfinished ...>`, `7 <... fdatasync resumed>) = 0`, answer,
		}, false},
		{"the sync has failed", []string{write, `7 fdatasync(5</d/journal.db-wal>) = -1 EIO`, answer}, true},
	} {
		notes, early := checkTrace(tt.lines)
		if found := len(early) > 0; found != tt.fails || notes != 1 {
			t.Errorf("%s: %d notes, found wrong %t, want 1 and %t", tt.name, notes, found, tt.fails)
		}
	}
}
