package offline_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"runtime"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"readback/capture/hear"
	"readback/capture/hear/offline"
	"readback/capture/hear/speechtest"
)

func TestKilledWorkerCostsOneNote(t *testing.T) {
	var log strings.Builder
	e := newEngine(t, offline.Config{Log: zerolog.New(zerolog.SyncWriter(&log))})
	ear := open(t, e, speechtest.Words(t))
	mustHear(t, ear, "slt", "yes")
	for range 3 {
		if err := ear.Begin(t.Context()); err != nil {
			t.Fatal(err)
		}
		pcm := speechtest.Say(t, "slt", speechtest.Sentences[0])
		if _, err := ear.Write(t.Context(), pcm[:len(pcm)/2]); err != nil {
			t.Fatal(err)
		}
		if err := syscall.Kill(offline.Pid(ear), syscall.SIGKILL); err != nil {
			t.Fatal(err)
		}
		if _, err := ear.Write(t.Context(), pcm[len(pcm)/2:]); !errors.Is(err, hear.ErrLost) {
			t.Errorf("after its death a write says %v", err)
		}
		if _, err := ear.End(t.Context()); !errors.Is(err, hear.ErrLost) {
			t.Errorf("after its death the end says %v", err)
		}
		if _, err := ear.Score(t.Context(), "yes"); !errors.Is(err, hear.ErrLost) {
			t.Errorf("after its death a score says %v", err)
		}
		mustHear(t, ear, "slt", speechtest.Sentences[1])
	}
	// Between two notes a death costs nothing.
	if err := syscall.Kill(offline.Pid(ear), syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	mustHear(t, ear, "slt", speechtest.Sentences[3])
	if err := errors.Join(ear.Close(), e.Close()); err != nil {
		t.Fatal(err)
	}
	if got := strings.Count(log.String(), "recogniser ended by itself"); got != 4 {
		t.Errorf("%d deaths are in the log, want 4:\n%s", got, &log)
	}
}

func TestHangIsCut(t *testing.T) {
	speechtest.Need(t)
	for _, how := range []string{"hang", "end", "garbage"} {
		for _, at := range []string{"write", "end", "listen", "begin", "score"} {
			t.Run(how+" at "+at, func(t *testing.T) {
				t.Parallel()
				e := newEngine(t, offline.Config{
					Command: []string{os.Args[0], offline.Subcommand, how, at},
					Listen:  100 * time.Millisecond, Write: 100 * time.Millisecond, End: 100 * time.Millisecond,
				})
				ear, err := e.Open(t.Context(), hear.Words{})
				if err == nil {
					_, _, err = say(t.Context(), ear, make([]int16, hear.Rate))
				}
				if !errors.Is(err, hear.ErrLost) {
					t.Errorf("it says %v", err)
				}
			})
		}
	}
}

func TestStoppedWorkerCostsOneNote(t *testing.T) {
	var log strings.Builder
	e := newEngine(t, offline.Config{Write: 2 * time.Second, Log: zerolog.New(zerolog.SyncWriter(&log))})
	ear := open(t, e, speechtest.Words(t))
	if err := ear.Begin(t.Context()); err != nil {
		t.Fatal(err)
	}
	pid := offline.Pid(ear)
	if err := syscall.Kill(pid, syscall.SIGSTOP); err != nil {
		t.Fatal(err)
	}
	var err error
	for err == nil { // it may answer once more before it stops
		_, err = ear.Write(t.Context(), make([]int16, hear.Frame))
	}
	if !errors.Is(err, hear.ErrLost) || !strings.Contains(err.Error(), "no answer in 2s") {
		t.Errorf("a worker that hangs says %v", err)
	}
	mustHear(t, ear, "slt", "yes")
	if err := errors.Join(ear.Close(), e.Close()); err != nil {
		t.Fatal(err)
	}
	if err := syscall.Kill(pid, 0); err == nil {
		t.Error("the worker that hung lives on")
	}
	if !strings.Contains(log.String(), "hangs and is ended") {
		t.Errorf("the log does not tell of it:\n%s", &log)
	}
}

func TestAnotherVersionIsRefused(t *testing.T) {
	e := newEngine(t, offline.Config{Command: []string{os.Args[0], offline.Subcommand, "version", ""}})
	if _, err := e.Open(t.Context(), speechtest.Words(t)); err == nil || !strings.Contains(err.Error(), "restart the server") {
		t.Errorf("a worker of another version: %v", err)
	}
}

func TestWhatDoesNotStartIsTold(t *testing.T) {
	for _, command := range [][]string{{"/none/such"}, {"/bin/sh", "-c", "echo no such luck >&2"}} {
		e := newEngine(t, offline.Config{Command: command})
		_, err := e.Open(t.Context(), speechtest.Words(t))
		if err == nil || !strings.Contains(err.Error(), "start a recogniser") || !strings.Contains(err.Error(), "no such") {
			t.Errorf("%v: %v", command, err)
		}
	}
	if _, err := offline.New(offline.Config{Model: t.TempDir()}); !errors.Is(err, hear.ErrMissing) {
		t.Errorf("without a model: %v", err)
	}
	if _, err := offline.New(offline.Config{Worn: 2}); err == nil {
		t.Error("a worker that is worn before it begins is taken")
	}
}

func TestContextCutsACall(t *testing.T) {
	ear := open(t, newEngine(t, offline.Config{}), speechtest.Words(t))
	if err := ear.Begin(t.Context()); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := ear.Write(ctx, []int16{1}); !errors.Is(err, context.Canceled) {
		t.Errorf("with a context that has ended: %v", err)
	}
	mustHear(t, ear, "slt", "yes")
}

func TestEarsAreLimited(t *testing.T) {
	e := newEngine(t, offline.Config{Workers: 1})
	first := open(t, e, speechtest.Words(t))
	ctx, cancel := context.WithTimeout(t.Context(), 50*time.Millisecond)
	defer cancel()
	if _, err := e.Open(ctx, speechtest.Words(t)); !errors.Is(err, hear.ErrBusy) || !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("a second ear: %v", err)
	}
	pid := offline.Pid(first)
	opened := make(chan hear.Ear)
	go func() {
		second, err := e.Open(t.Context(), speechtest.Words(t))
		if err != nil {
			t.Error(err)
		}
		opened <- second
	}()
	if err := first.Close(); err != nil {
		t.Fatal(err)
	}
	second := <-opened
	defer second.Close()
	mustHear(t, second, "slt", "yes")
	if err := syscall.Kill(pid, 0); err != nil && offline.Pid(second) == pid {
		t.Errorf("the ear's worker %d is gone: %v", pid, err)
	}
}

func TestManyEars(t *testing.T) {
	e := newEngine(t, offline.Config{Workers: 3})
	var group sync.WaitGroup
	for i := range 9 {
		voice, sentence := speechtest.Voices[i%4], speechtest.Sentences[i]
		pcm := speechtest.Say(t, voice, sentence)
		words := speechtest.Words(t)
		group.Go(func() {
			ear, err := e.Open(t.Context(), words)
			if err != nil {
				t.Error(err)
				return
			}
			defer ear.Close()
			if heard, _, err := say(t.Context(), ear, pcm); err != nil || text(heard.Words) != sentence {
				t.Errorf("heard %q, %v, want %q", text(heard.Words), err, sentence)
			}
		})
	}
	group.Wait()
}

func TestNothingIsLeft(t *testing.T) {
	speechtest.Need(t)
	t.Setenv("TMPDIR", t.TempDir())
	words, pcm := speechtest.Words(t), speechtest.Say(t, "slt", "yes")
	before := runtime.NumGoroutine()
	for _, drop := range []bool{false, true} {
		e := newEngine(t, offline.Config{})
		ear, err := e.Open(t.Context(), words)
		if err != nil {
			t.Fatal(err)
		}
		if _, _, err := say(t.Context(), ear, pcm); err != nil {
			t.Fatal(err)
		}
		pid := offline.Pid(ear)
		if err := ear.Begin(t.Context()); err != nil {
			t.Fatal(err)
		}
		if drop {
			_ = ear.Close()
		}
		if err := e.Close(); err != nil {
			t.Fatal(err)
		}
		if err := syscall.Kill(pid, 0); err == nil {
			t.Errorf("the worker %d lives on", pid)
		}
		if _, err := ear.Write(t.Context(), pcm); err == nil {
			t.Error("an ear of a closed engine hears")
		}
		if _, err := e.Open(t.Context(), words); err == nil {
			t.Error("a closed engine opens an ear")
		}
	}
	left, err := os.ReadDir(os.Getenv("TMPDIR"))
	if err != nil || len(left) > 0 {
		t.Errorf("files are left: %v, %v", left, err)
	}
	for range 1000 { // a goroutine may still be on its last step
		if runtime.NumGoroutine() <= before {
			return
		}
		runtime.Gosched()
	}
	stacks := make([]byte, 1<<16)
	t.Errorf("%d goroutines were there, now %d:\n%s", before, runtime.NumGoroutine(), stacks[:runtime.Stack(stacks, true)])
}

// resident is how much memory a process has, in MiB.
func resident(t testing.TB, pid int) int {
	t.Helper()
	b, err := os.ReadFile(fmt.Sprintf("/proc/%d/statm", pid))
	if err != nil {
		t.Fatal(err)
	}
	var all, held int
	if _, err := fmt.Sscan(string(b), &all, &held); err != nil {
		t.Fatal(err)
	}
	return held * os.Getpagesize() >> 20
}

// TestMemoryStaysBounded changes words and hears notes. With READBACK_LONG set it does so for minutes.
func TestMemoryStaysBounded(t *testing.T) {
	changes, notes := 110, 40
	if os.Getenv("READBACK_LONG") != "" {
		changes, notes = 300, 500
	}
	ear := open(t, newEngine(t, offline.Config{}), speechtest.Words(t))
	all := speechtest.Words(t)
	few := hear.Words{Grammar: speechtest.Grammar("yes", "no"), Sounds: all.Sounds}
	pcm := speechtest.Say(t, "slt", "yes")[:hear.Rate]
	note := func() {
		t.Helper()
		if heard, _, err := say(t.Context(), ear, pcm); err != nil || text(heard.Words) != "yes" {
			t.Fatalf("heard %q, %v", text(heard.Words), err)
		}
	}
	note()
	pids := map[int]bool{}
	most := 0
	for i := range changes {
		for _, w := range []hear.Words{few, all} {
			if err := ear.Listen(t.Context(), w); err != nil {
				t.Fatal(err)
			}
		}
		if i%20 == 0 {
			note()
			most = max(most, resident(t, offline.Pid(ear)))
		}
		pids[offline.Pid(ear)] = true
	}
	// Each change sets two nets; a worker lasts for some 300 and half a MiB each.
	if most > 300 || len(pids) < 1+changes/100 {
		t.Errorf("over %d changes of the words %d workers took up to %d MiB", 2*changes, len(pids), most)
	}
	t.Logf("%d changes of the words: %d workers, up to %d MiB", 2*changes, len(pids), most)
	for range 60 { // until the decoders have the room that they need
		note()
	}
	before, pid := resident(t, offline.Pid(ear)), offline.Pid(ear)
	for range notes {
		note()
	}
	after := resident(t, offline.Pid(ear))
	if offline.Pid(ear) != pid || after > before+8 {
		t.Errorf("%d notes: from %d to %d MiB, worker %d to %d", notes, before, after, pid, offline.Pid(ear))
	}
	t.Logf("%d notes: from %d to %d MiB", notes, before, after)
}
