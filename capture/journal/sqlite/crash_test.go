package sqlite_test

import (
	"bufio"
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/journal/sqlite"
)

const (
	crashFolder = "READBACK_CRASH_FOLDER" // set: this process is the server that gets killed
	crashFrom   = "READBACK_CRASH_FROM"   // the first number of its notes
	crashBench  = "READBACK_CRASH_BENCH"  // set: one bench that stops by itself after oneBench notes
	crashes     = "READBACK_CRASHES"      // how often to kill; 5 if it is not set
	manyBenches = 32
	oneBench    = 100
)

func TestMain(m *testing.M) {
	if dir := os.Getenv(crashFolder); dir != "" {
		from, err := strconv.Atoi(os.Getenv(crashFrom))
		if err == nil {
			err = serveUntilKilled(dir, from)
		}
		fmt.Fprintln(os.Stderr, err) // it was not killed, which its parent notices
		return
	}
	m.Run()
}

// serveUntilKilled appends notes from many benches and prints each one that was
// acknowledged. Every tenth is sent twice, as a client does that has lost its line.
func serveUntilKilled(dir string, from int) error {
	ctx := context.Background()
	s, err := sqlite.Open(ctx, dir)
	if err != nil {
		return err
	}
	benches, end := manyBenches, math.MaxInt
	if os.Getenv(crashBench) != "" {
		benches, end = 1, from+oneBench
	}
	w := journal.NewWriter(s)
	go func() { _ = w.Run(ctx) }()
	var wait sync.WaitGroup
	for b := range benches {
		wait.Go(func() {
			for n := from + b; n < end; n += benches {
				for range 1 + n%10/9 {
					r, err := w.Append(ctx, crashEntry(n))
					if err != nil {
						fmt.Fprintln(os.Stderr, err)
						return
					}
					fmt.Fprintf(os.Stdout, "%d %d\n", n, r.Entry.Seq)
				}
			}
		})
	}
	wait.Wait()
	return fmt.Errorf("every bench has stopped")
}

// crashJob names the job of the n-th note: eight jobs, four benches on each.
func crashJob(n int) string { return fmt.Sprintf("MW-%d", 1041+n%8) }

// crashEntry is the n-th entry: every seventh is a disposition, which has a column of its own.
func crashEntry(n int) journal.Entry {
	if n%7 == 0 {
		return journaltest.Disposition(crashJob(n), n, 1)
	}
	return journaltest.Note(crashJob(n), n)
}

// TestCrash kills a server under load at random moments, again and again in the same
// folder, and finds every acknowledged note exactly once, with the seq that was said.
func TestCrash(t *testing.T) {
	times := 5
	if text := os.Getenv(crashes); text != "" {
		var err error
		if times, err = strconv.Atoi(text); err != nil || times < 1 {
			t.Fatalf("%s=%s: give a number of times", crashes, text)
		}
	}
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d, %d crashes", seed, times)
	random := rand.New(rand.NewPCG(seed, 0))
	dir := t.TempDir()
	acknowledged := map[int]int64{} // note to seq
	from := 1
	for range times {
		killOne(t, dir, from, time.Duration(random.Int64N(int64(150*time.Millisecond))), acknowledged)
		from = look(t, dir, acknowledged) + 1
		if t.Failed() {
			return
		}
	}
	t.Logf("%d notes were acknowledged", len(acknowledged))
	if len(acknowledged) < times {
		t.Errorf("only %d notes were acknowledged before %d kills: nothing was tested", len(acknowledged), times)
	}
}

// killOne starts a server, lets it work for a while after its first answer, kills it, and
// adds what it had acknowledged until then.
func killOne(t *testing.T, dir string, from int, after time.Duration, acknowledged map[int]int64) {
	t.Helper()
	server := exec.CommandContext(t.Context(), os.Args[0])
	server.Env = append(os.Environ(), crashFolder+"="+dir, fmt.Sprintf("%s=%d", crashFrom, from))
	server.Stderr = os.Stderr
	out, err := server.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := server.Start(); err != nil {
		t.Fatal(err)
	}
	var kill *time.Timer
	answers := bufio.NewReader(out)
	for {
		line, err := answers.ReadString('\n')
		if err != nil {
			break // the line that the kill has cut was not an answer yet
		}
		if kill == nil {
			kill = time.AfterFunc(after, func() { _ = server.Process.Kill() })
		}
		var n int
		var seq int64
		if _, err := fmt.Sscanf(line, "%d %d\n", &n, &seq); err != nil {
			t.Fatalf("the server said %q: %v", line, err)
		}
		acknowledged[n] = seq
	}
	if kill != nil {
		kill.Stop()
	}
	if err := server.Wait(); err == nil || !strings.Contains(err.Error(), "killed") {
		t.Fatalf("the server ended with %v, want that it was killed", err)
	}
}

// look opens what the killed server has left and returns the highest number of a note.
func look(t *testing.T, dir string, acknowledged map[int]int64) (highest int) {
	t.Helper()
	s, err := sqlite.Open(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	entries, err := s.After(t.Context(), 0, 1<<30)
	if err != nil {
		t.Fatal(err)
	}
	found, last := map[int]int64{}, map[string]int64{}
	for _, e := range entries {
		n, err := strconv.Atoi(e.ID[10:])
		if err != nil {
			t.Fatal(err)
		}
		want := crashEntry(n)
		if _, twice := found[n]; twice || e.Kind != want.Kind || !cmp.Equal(e.Disposition, want.Disposition) || e.Text != want.Text || e.Job != want.Job || e.Seq != last[e.Job]+1 {
			t.Errorf("note %d (twice %t) is %q, job %s seq %d after %d", n, twice, e.Text, e.Job, e.Seq, last[e.Job])
		}
		found[n], last[e.Job], highest = e.Seq, e.Seq, max(highest, n)
	}
	for n, seq := range acknowledged {
		if found[n] != seq {
			t.Errorf("note %d was acknowledged with seq %d and is found with %d", n, seq, found[n])
		}
	}
	if ok, err := s.Query(t.Context(), "PRAGMA integrity_check"); err != nil || ok != "ok" {
		t.Errorf("integrity_check: %s, error %v", ok, err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	return highest
}
