package seal_test

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"readback/capture/journal"
	"readback/capture/journal/sqlite"
	"readback/capture/seal"
)

const (
	crashFolder = "READBACK_CRASH_FOLDER" // set: this process is the one that gets killed
	crashes     = "READBACK_CRASHES"      // how often to kill; 12 if it is not set
)

func TestMain(m *testing.M) {
	if dir := os.Getenv(crashFolder); dir != "" {
		fmt.Fprintln(os.Stderr, sealUntilKilled(dir))
		return
	}
	m.Run()
}

// sealUntilKilled keeps notes and seals them. It prints each head that is signed: what was printed may be in
// anybody's hands.
func sealUntilKilled(dir string) error {
	ctx := context.Background()
	store, err := sqlite.Open(ctx, filepath.Join(dir, "data"))
	if err != nil {
		return err
	}
	writer := journal.NewWriter(store)
	go func() { _ = writer.Run(ctx) }()
	sealer, err := seal.Open(ctx, seal.Config{
		Data: filepath.Join(dir, "data"), KeyFile: filepath.Join(dir, "key"), Witness: filepath.Join(dir, "witness"),
		Source: store, Notice: writer.Notice, Now: time.Now, Log: zerolog.New(os.Stderr),
	})
	if err != nil {
		return err
	}
	go func() { _ = sealer.Run(ctx) }()
	jobs, err := store.Jobs(ctx)
	if err != nil {
		return err
	}
	n := 0
	for _, j := range jobs {
		n += int(j.Entries)
	}
	var last seal.SignedHead
	for ; ; n++ {
		if _, err := writer.Append(ctx, entryOf(n)); err != nil {
			return err
		}
		status := sealer.Status()
		if status.Trouble != "" || status.Witness != "" {
			return fmt.Errorf("trouble %q, witness %q", status.Trouble, status.Witness)
		}
		if status.Newest != last {
			last = status.Newest
			text, err := json.Marshal(last)
			if err != nil {
				return err
			}
			fmt.Fprintf(os.Stdout, "%s\n", text)
		}
	}
}

// TestCrash kills a process that seals, at random moments and again and again. However it ended, the next goes
// on, and every head that was ever shown stays true: the record has only grown since.
func TestCrash(t *testing.T) {
	times := 12
	if text := os.Getenv(crashes); text != "" {
		var err error
		if times, err = strconv.Atoi(text); err != nil || times < 1 {
			t.Fatalf("%s=%s: give a number of times", crashes, text)
		}
	}
	random := uint64(time.Now().UnixNano())
	t.Logf("seed %d, %d crashes", random, times)
	r := rand.New(rand.NewPCG(random, 0))
	dir := t.TempDir()
	var heads []seal.SignedHead
	for round := range times {
		after := time.Duration(r.Int64N(int64(500 * time.Millisecond)))
		heads = append(heads, killOne(t, dir, after, round%4 == 3)...)
		if round%4 == 2 { // a power cut may take what of the cache was not on the disk
			for _, behind := range []string{"", "-wal", "-shm"} {
				_ = os.Remove(filepath.Join(dir, "data", "seal", "trees.db"+behind))
			}
		}
		if t.Failed() {
			return
		}
	}
	if len(heads) < (times+2)/3 { // one that is killed early has shown none
		t.Fatalf("only %d heads were signed before %d kills: nothing was tested", len(heads), times)
	}
	look(t, dir, heads)
}

// killOne lets a process seal, kills it, and returns the heads that it has shown. One that is killed early may
// not have come to its first.
func killOne(t *testing.T, dir string, after time.Duration, early bool) (heads []seal.SignedHead) {
	t.Helper()
	p := exec.CommandContext(t.Context(), os.Args[0])
	p.Env = append(os.Environ(), crashFolder+"="+dir)
	var said bytes.Buffer
	p.Stderr = &said
	out, err := p.StdoutPipe()
	must(t, err)
	must(t, p.Start())
	var kill *time.Timer
	if early {
		kill = time.AfterFunc(after/4, func() { _ = p.Process.Kill() })
	}
	for lines := bufio.NewReader(out); ; {
		line, err := lines.ReadBytes('\n')
		if err != nil {
			break
		}
		var h seal.SignedHead
		must(t, json.Unmarshal(line, &h))
		heads = append(heads, h)
		if kill == nil {
			kill = time.AfterFunc(after, func() { _ = p.Process.Kill() })
		}
	}
	if status, ok := errors.AsType[*exec.ExitError](p.Wait()); !ok || status.Exited() {
		t.Errorf("it ended by itself: %v: %s", status, &said)
	}
	return heads
}

// look opens the record once more, and holds a bundle of it against each head that was shown.
func look(t *testing.T, dir string, heads []seal.SignedHead) {
	t.Helper()
	store, err := sqlite.Open(t.Context(), filepath.Join(dir, "data"))
	must(t, err)
	defer store.Close()
	s := &shop{t: t, data: filepath.Join(dir, "data"), keyFile: filepath.Join(dir, "key"), witness: filepath.Join(dir, "witness"), store: store, notice: make(chan struct{})}
	all, err := store.After(t.Context(), 0, 1<<20)
	must(t, err)
	sealer, end := s.open()
	defer end()
	s.until(sealer, "all", size(uint64(len(all))+1))
	job, err := store.Entries(t.Context(), "MW-1042", 0, 1<<20)
	must(t, err)
	t.Logf("%d entries, %d heads were shown", len(all), len(heads))
	for _, h := range heads {
		r, err := verify(t, bundle(t, sealer, job, h.Head.Size), seal.Expect{Head: &h})
		if err != nil || !r.Holds() {
			t.Fatalf("the head of %d leaves: error %v\n%s", h.Head.Size, err, words(r))
		}
	}
}
