package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/rs/zerolog"

	"readback/capture/evidence"
	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/capture/journal/sqlite"
	"readback/capture/seal"
	"readback/capture/sound"
)

// built returns the program as it is given to people.
func built(tb testing.TB) string {
	tb.Helper()
	name := filepath.Join(tb.TempDir(), "readback")
	c := exec.CommandContext(tb.Context(), "go", "build", "-o", name, ".")
	if out, err := c.CombinedOutput(); err != nil {
		tb.Fatalf("%v: %s", err, out)
	}
	return name
}

// sealedFolder makes a data folder with jobs of so many notes each, with a sound of so many bytes to each of the
// first notes, and seals it.
func sealedFolder(tb testing.TB, jobs []string, notes, sounds, size int) (data, key string) {
	tb.Helper()
	data = tb.TempDir()
	key = data + "-seal.key"
	store, err := sqlite.Open(tb.Context(), data)
	if err != nil {
		tb.Fatal(err)
	}
	files, err := evidence.Open(filepath.Join(data, soundFolder), sound.Ext)
	if err != nil {
		tb.Fatal(err)
	}
	n := 0
	for _, job := range jobs {
		var batch []journal.Entry
		for i := range notes + 1 {
			n++
			e := journaltest.Note(job, n)
			e.Answer = []byte(`{"kind":"remark"}`)
			e.Utterance = nil
			if i == 0 {
				e = journaltest.Opening(job, n)
				src, err := os.ReadFile(filepath.Join("..", "..", "testdata", "specs", "mr5.yaml"))
				if err != nil {
					tb.Fatal(err)
				}
				e.SpecText, e.ShopText = string(src), ""
			}
			e.ID, e.Sound, e.Caution = newID(tb), "", ""
			e.At = journal.InstantOf(time.Now().Add(-time.Hour))
			if i > 0 && i <= sounds {
				if e.Sound, err = files.Put(soundFor(n, size)); err != nil {
					tb.Fatal(err)
				}
			}
			batch = append(batch, e)
		}
		results, err := store.Append(tb.Context(), batch)
		for _, r := range results {
			if err == nil {
				err = r.Err
			}
		}
		if err != nil {
			tb.Fatal(err)
		}
	}
	sealer, err := seal.Open(tb.Context(), seal.Config{Data: data, KeyFile: key, Source: store, Notice: func() <-chan struct{} { return nil }, Now: time.Now, Log: zerolog.Nop()})
	if err != nil {
		tb.Fatal(err)
	}
	ctx, cancel := context.WithCancel(tb.Context())
	done := make(chan error, 1)
	go func() { done <- sealer.Run(ctx) }()
	for end := time.Now().Add(time.Minute); sealer.Status().Newest.Head.Size != uint64(n)+1; time.Sleep(5 * time.Millisecond) {
		if time.Now().After(end) {
			tb.Fatalf("sealed: %+v", sealer.Status())
		}
	}
	cancel()
	<-done
	if err := sealer.Close(); err != nil {
		tb.Fatal(err)
	}
	if err := store.Close(); err != nil {
		tb.Fatal(err)
	}
	return data, key
}

// soundFor is the sound of a note, which no other has.
func soundFor(n, size int) []byte {
	return append(fmt.Appendf(nil, "fLaC %d ", n), bytes.Repeat([]byte{0xa5, byte(n)}, size/2)...)
}

// ran is how a process ended.
type ran struct {
	status   int
	out, err string
	most     int64 // resident, in bytes; 0 where it cannot be told
}

// runs runs a program as an auditor does, in a folder with nothing else and with no environment.
func runs(tb testing.TB, dir, program string, in io.Reader, args ...string) ran {
	tb.Helper()
	var out, errs bytes.Buffer
	c := exec.CommandContext(tb.Context(), program, args...)
	c.Dir, c.Env, c.Stdin, c.Stdout, c.Stderr = dir, []string{}, in, &out, &errs
	if err := c.Start(); err != nil {
		tb.Fatal(err)
	}
	ended, most := make(chan struct{}), make(chan int64)
	go func() { most <- peak(c.Process.Pid, ended) }()
	err := c.Wait()
	close(ended)
	if c.ProcessState == nil {
		tb.Fatal(err)
	}
	return ran{c.ProcessState.ExitCode(), out.String(), errs.String(), <-most}
}

// peak looks every other millisecond at the most that a process ever had resident, in bytes, until it has ended.
// What the system tells at its end would be that of the test, which has begun it.
func peak(pid int, ended <-chan struct{}) (most int64) {
	for {
		text, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
		if _, after, found := strings.Cut(string(text), "VmHWM:"); err == nil && found {
			var kB int64
			if _, err := fmt.Sscan(after, &kB); err == nil {
				most = max(most, kB<<10)
			}
		}
		select {
		case <-ended:
			return most
		case <-time.After(2 * time.Millisecond):
		}
	}
}

// TestBundleTravels: the program and a bundle, alone in a folder of a machine with nothing else, are enough.
func TestBundleTravels(t *testing.T) {
	program := built(t)
	data, key := sealedFolder(t, []string{"MW-1041"}, 5, 2, 100_000)
	away := t.TempDir()
	bundle := filepath.Join(away, "b.json")
	if r := runs(t, away, program, nil, "export", "MW-1041", "--as", "json", "--with-files", "--data", data, "--key-file", key, "-o", bundle); r.status != 0 || r.err != "" {
		t.Fatalf("%+v", r)
	}
	there := filepath.Join(away, "readback")
	text, err := os.ReadFile(program)
	if err == nil {
		err = os.WriteFile(there, text, 0o700)
	}
	if err != nil {
		t.Fatal(err)
	}
	if err := os.RemoveAll(data); err != nil {
		t.Fatal(err)
	}
	r := runs(t, away, there, nil, "verify", "b.json", "--files", "sounds")
	for _, want := range []string{"It holds.", "inside, and what the entries name by hash: 2 sounds (entries 2, 3)", "not checked: who signed", "not checked: whether more was said"} {
		if r.status != 0 || r.err != "" || !strings.Contains(r.out, want) {
			t.Errorf("want %q: %+v", want, r)
		}
	}
	found, err := filepath.Glob(filepath.Join(away, "sounds", "*"))
	if err != nil || len(found) != 2 {
		t.Fatalf("taken out: %v, %v", found, err)
	}
	got, err := os.ReadFile(found[0])
	if want := soundFor(2, 100_000); err != nil || !bytes.Equal(got, want) || filepath.Base(found[0]) != "entry-0002-"+evidence.HashOf(want)+".flac" {
		t.Errorf("%s: %d bytes, %v", found[0], len(got), err)
	}
	if outside := unshared(there); outside != nil { // with no network at all, where this machine lets us
		c := exec.CommandContext(t.Context(), outside[0], append(outside[1:], "verify", "b.json")...)
		c.Dir, c.Env = away, []string{}
		if out, err := c.CombinedOutput(); err != nil || !strings.Contains(string(out), "It holds.") {
			t.Errorf("with no network: %v: %s", err, out)
		}
	}
	changed := bytes.Replace(whole(os.ReadFile(bundle)), []byte(`"person":"Ines"`), []byte(`"person":"Jonas"`), 1)
	if err := os.WriteFile(bundle, changed, 0o600); err != nil {
		t.Fatal(err)
	}
	if r := runs(t, away, there, nil, "verify", "b.json"); r.status != 1 || !strings.Contains(r.out, "wrong: entry 1: it is not what was sealed") {
		t.Errorf("changed: %+v", r)
	}
}

func whole(text []byte, err error) []byte {
	if err != nil {
		panic(err)
	}
	return text
}

// unshared returns how to run a program without a network, nil where that is not allowed.
func unshared(program string) []string {
	path, err := exec.LookPath("unshare")
	if err != nil || exec.Command(path, "-rn", "true").Run() != nil {
		return nil
	}
	return []string{path, "-rn", program}
}

// repeated is a stream of a text, n bytes of it, between a beginning and an end.
func repeated(begin, again string, n int64, end string) io.Reader {
	return io.MultiReader(strings.NewReader(begin), io.LimitReader(&endless{text: strings.Repeat(again, max(1, 65536/len(again)))}, n), strings.NewReader(end))
}

// numbered is a stream of a text with a number in it, n times, between a beginning and an end.
func numbered(begin, again string, n int, end string) io.Reader {
	r, w := io.Pipe()
	go func() {
		out := bufio.NewWriter(w)
		_, err := out.WriteString(begin)
		for i := 0; i < n && err == nil; i++ {
			_, err = fmt.Fprintf(out, again, i)
		}
		if err == nil {
			_, err = out.WriteString(end)
		}
		_ = w.CloseWithError(errors.Join(err, out.Flush()))
	}()
	return r
}

// endless is a text again and again.
type endless struct {
	text string
	at   int
}

func (e *endless) Read(p []byte) (int, error) {
	n := copy(p, e.text[e.at:])
	e.at = (e.at + n) % len(e.text)
	return n, nil
}

// mostVerify is what verify may have resident: the largest value that it reads, and copies of it.
const mostVerify = 400 << 20

// TestHostileBundles: whatever a file holds, the program answers in words, with status 1 or 2 and in little memory.
func TestHostileBundles(t *testing.T) {
	program := built(t)
	data, key := sealedFolder(t, []string{"MW-1041"}, 3, 1, 60_000)
	export := runs(t, "/", program, nil, "export", "MW-1041", "--as", "json", "--with-files", "--data", data, "--key-file", key)
	if export.status != 0 {
		t.Fatalf("%+v", export)
	}
	whole := strings.TrimSpace(export.out)
	part := base64.StdEncoding.EncodeToString(bytes.Repeat([]byte{7}, seal.FilePart))
	for _, tt := range []struct {
		name   string
		in     io.Reader
		status int
		says   string
	}{
		{"whole", strings.NewReader(whole), 0, "It holds."},
		{"empty", strings.NewReader(""), 2, "ends in the middle"},
		{"null", strings.NewReader("null"), 2, "no object with entries"},
		{"torn", strings.NewReader(whole[:len(whole)/2]), 2, "ends in the middle"},
		{"torn in a sound", strings.NewReader(whole[:len(whole)-1000]), 2, "ends in the middle"},
		{"twice", strings.NewReader(whole + whole), 2, "behind its end"},
		{"trailing bytes", strings.NewReader(whole + "\x00"), 2, "behind its end"},
		{"a name twice", strings.NewReader(strings.Replace(whole, `"seq":2`, `"seq":2,"seq":2`, 1)), 2, "duplicate"},
		{"a lone surrogate", strings.NewReader(strings.Replace(whole, "forty", `\udead`, 1)), 2, "surrogate"},
		{"a number beyond 2^53", strings.NewReader(strings.Replace(whole, `"seq":2`, `"seq":2,"n":9007199254740993`, 1)), 1, "not the same to every reader"},
		{"an entry of a future version", strings.NewReader(strings.Replace(whole, `"kind":"note"`, `"kind":"hologram","version":9`, 1)), 1, "entry 2: it is not what was sealed"},
		{"nested", repeated(`{"entries":[`, "[", 1_000_000, ""), 2, "depth"},
		{"a value of 1 GB", repeated(`{"entries":[{"text":"`, "x", 1<<30, `"}]}`), 2, "more than 8 MiB"},
		{"millions of names in an entry", numbered(`{"entries":[{"job":"MW-1041","seq":1`, `,"n%d":{}`, 500_000, `}]}`), 1, "no seal"},
		{"a purge of millions", repeated(`{"entries":[{"kind":"purge","job":"MW-1041","seq":1,"purge":{"rule":"r","items":[{}`, ",{}", 7<<20/3*3, `]}}]}`), 1, "no seal"},
		{"long names of jobs", numbered(`{"entries":[`, `{"seq":1,"job":"%d`+strings.Repeat("L", 5000)+`"},`, 100_000, `{}]}`), 1, "no seal"},
		{"many jobs", numbered(`{"entries":[`, `{"seq":1,"job":"%d`+strings.Repeat("L", 900)+`"},`, 400_000, `{}]}`), 1, "no seal"},
		{"long rules of purges", numbered(`{"entries":[`, `{"seq":%d,"job":"J","kind":"purge","purge":{"rule":"`+strings.Repeat("r", 5000)+`","items":[{"seq":1%[1]d}]}},`, 100_000, `{}]}`), 1, "no seal"},
		{"faults of many", numbered(`{"entries":[`, `{"seq":%d,"n":1`+strings.Repeat("0", 30)+`1},`, 400_000, `{}]}`), 1, "no seal"},
		{"1 GB of other members", repeated(`{"a":"`, "x", 60<<20, `","b":"`+strings.Repeat("x", 60<<20)+`"}`), 2, "more than 64 MiB"},
		{"a sound of 1 GB", repeated(strings.TrimSuffix(whole, "]}")+`,{"hash":"`+strings.Repeat("0", 64)+`","parts":[`, `"`+part+`",`, (1<<30)/int64(len(part)+3)*int64(len(part)+3), `"AAAA"]}]}`), 1, "a file is inside that no entry names"},
		{"words for a terminal", strings.NewReader(strings.Replace(whole, `"evidence"`, `"\u001b[2J"`, 1)), 1, `\x1b[2J`},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r := runs(t, "/", program, tt.in, "verify", "-")
			said := r.out + r.err
			if r.status != tt.status || !strings.Contains(said, tt.says) || strings.ContainsAny(said, "\x1b\x00") || strings.Contains(said, "goroutine") {
				t.Errorf("status %d, want %d and %q: %.2000s", r.status, tt.status, tt.says, said)
			}
			if r.most > mostVerify {
				t.Errorf("%d MiB were resident", r.most>>20)
			}
			t.Logf("%d MiB resident", r.most>>20)
		})
	}
}

// oddJobs are ids that a file cannot have as its name, or that differ in their case alone.
var oddJobs = []string{"MW-1041", "mw-1041", "Mw-1041", "../x", "a/b", "a\\b", "CON", "CON.1", "A.", "A..B", ".A", ".", "..", "-o", strings.Repeat("L", 200), strings.Repeat("L", 199) + "M", "Ü 1", "a\x1b[2J"}

func TestSafeNames(t *testing.T) {
	seen := map[string]string{}
	for _, job := range oddJobs {
		name := safeName(job)
		low := strings.ToLower(name)
		if other, there := seen[low]; there || len(name) > 100 || name != filepath.Base(name) || strings.HasPrefix(name, ".") || strings.ContainsAny(name, "/\\: \x1b") || strings.EqualFold(name, "con") {
			t.Errorf("%q has the name %q, as %q", job, name, other)
		}
		seen[low] = job
	}
	for _, plain := range []string{"MW-1041", "MW-1041.2", "A.B-1.C_2"} {
		if safeName(plain) != plain {
			t.Errorf("%q is named %q", plain, safeName(plain))
		}
	}
}

// TestManyJobs: each job has its file, one that cannot be exported is told, what is there stays, and verify
// answers for all of them.
func TestManyJobs(t *testing.T) {
	jobs := []string{"MW-1041", "mw-1041", "A.B", "MW-1042"}
	data, key := sealedFolder(t, jobs, 2, 1, 100)
	dir := filepath.Join(t.TempDir(), "out")
	do := func(ctx context.Context, args ...string) (int, string, string) {
		var out, errs bytes.Buffer
		status := run(ctx, std{in: strings.NewReader(""), out: &out, err: &errs}, args)
		return status, out.String(), errs.String()
	}
	all := []string{"export", "--all", "--as", "json", "--with-files", "--data", data, "--key-file", key, "-o", dir}
	stopped, cancel := context.WithCancel(t.Context())
	cancel()
	if status, _, said := do(stopped, all...); status == 0 {
		t.Errorf("stopped: %d %s", status, said)
	}
	status, _, said := do(t.Context(), all...)
	if status != 0 || !strings.Contains(said, `1 of 4: "MW-1041": MW-1041-with-files.json`) || !strings.HasSuffix(said, "4 jobs: 4 written, 0 there already, 0 not exported\n") {
		t.Fatalf("status %d: %s", status, said)
	}
	found, err := filepath.Glob(filepath.Join(dir, "*.json"))
	if hidden, _ := filepath.Glob(filepath.Join(dir, ".*")); err != nil || len(found) != 4 || len(hidden) > 0 {
		t.Fatalf("%v, %v, %v", found, hidden, err)
	}
	if status, _, said := do(t.Context(), all...); status != 0 || !strings.HasSuffix(said, "4 jobs: 0 written, 4 there already, 0 not exported\n") {
		t.Errorf("again: status %d: %s", status, said)
	}
	if err := os.Remove(found[0]); err != nil {
		t.Fatal(err)
	}
	if status, _, said := do(t.Context(), all...); status != 0 || !strings.HasSuffix(said, "4 jobs: 1 written, 3 there already, 0 not exported\n") {
		t.Errorf("one was gone: status %d: %s", status, said)
	}
	status, _, said = do(t.Context(), "export", "MW-1041", "NOT-THERE", "MW-1042", "--as", "csv", "--data", data, "-o", dir)
	if status != 1 || !strings.Contains(said, `3 of 3: "NOT-THERE": not exported: there is no job NOT-THERE`) || !strings.HasSuffix(said, "3 jobs: 2 written, 0 there already, 1 not exported\n") {
		t.Errorf("one is not there: status %d: %s", status, said)
	}
	if status, _, said := do(t.Context(), "export", "--since", "2999-01-01", "--as", "csv", "--data", data, "-o", dir); status != 0 || !strings.HasPrefix(said, "0 jobs") {
		t.Errorf("since a day to come: status %d: %s", status, said)
	}
	if status, _, said := do(t.Context(), "export", "--person", "ines", "--as", "csv", "--again", "--data", data, "-o", dir); status != 0 || !strings.HasPrefix(said, "1 of 4") {
		t.Errorf("of a person: status %d: %s", status, said)
	}

	status, out, said := do(t.Context(), append([]string{"verify"}, found...)...)
	if status != 0 || strings.Count(out, "It holds.") != 4 || !strings.Contains(out, "4 bundles: 4 hold, 0 do not hold, 0 cannot be read.") || !strings.Contains(out, "who signed") {
		t.Errorf("status %d: %s%s", status, out, said)
	}
	text := whole(os.ReadFile(found[1]))
	if err := os.WriteFile(found[1], bytes.Replace(text, []byte("forty"), []byte("fifty"), 1), 0o600); err != nil {
		t.Fatal(err)
	}
	status, out, _ = do(t.Context(), append([]string{"verify"}, found...)...)
	if status != 1 || !strings.Contains(out, "wrong: entry 2: it is not what was sealed") || !strings.Contains(out, "3 hold, 1 do not hold, 0 cannot") {
		t.Errorf("status %d: %s", status, out)
	}
	if err := os.WriteFile(found[2], text[:100], 0o600); err != nil {
		t.Fatal(err)
	}
	status, out, said = do(t.Context(), append([]string{"verify"}, found...)...)
	if status != 2 || !strings.Contains(out, "2 hold, 1 do not hold, 1 cannot be read.") || !strings.Contains(said, "1 bundle cannot be read") {
		t.Errorf("status %d: %s%s", status, out, said)
	}
}

// A server gives the same bundle, and many.
func TestManyJobsOfAServer(t *testing.T) {
	data, key := sealedFolder(t, []string{"MW-1041", "MW-1042"}, 2, 1, 200_000)
	c := exec.CommandContext(t.Context(), "readback", "serve", "--data", data, "--listen", "127.0.0.1:0", "--stt", "none", "--speak", "none", "--key-file", key)
	p := &process{Cmd: c}
	if err := p.begin(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = p.end(os.Kill) })
	if !p.serves() {
		t.Fatalf("the server ended: %s", &p.log)
	}
	dir := t.TempDir()
	var out, errs bytes.Buffer
	if status := run(t.Context(), std{in: strings.NewReader(""), out: &out, err: &errs}, []string{"export", "--all", "--as", "json", "--with-files", "--server", p.address, "-o", dir}); status != 0 {
		t.Fatalf("status %d: %s", status, &errs)
	}
	found, _ := filepath.Glob(filepath.Join(dir, "*.json"))
	if status := run(t.Context(), std{in: strings.NewReader(""), out: &out, err: &errs}, append([]string{"verify"}, found...)); status != 0 || !strings.Contains(out.String(), "2 bundles: 2 hold") {
		t.Errorf("status %d: %s%s", status, &out, &errs)
	}
	var b struct {
		Files []struct{ Parts []string }
	}
	if err := json.Unmarshal(whole(os.ReadFile(found[0])), &b); err != nil || len(b.Files) != 1 || len(b.Files[0].Parts) != 5 {
		t.Errorf("%v: %d files", err, len(b.Files))
	}
	p.stop(t)
}

// BenchmarkBundles exports and verifies with the program: one job of 5,000 notes, with sounds and without; a job with
// 1 GB of sound; and 1,000 jobs.
func BenchmarkBundles(b *testing.B) {
	program := built(b)
	many := make([]string, 1000)
	for i := range many {
		many[i] = fmt.Sprintf("MW-%d", 2000+i)
	}
	for _, tt := range []struct {
		name                string
		jobs                []string
		notes, sounds, size int
		files               bool
	}{
		{"notes=5000", []string{"MW-1041"}, 5000, 0, 0, false},
		{"notes=5000/sounds=30kB", []string{"MW-1041"}, 5000, 5000, 30_000, true},
		{"sounds=1GB", []string{"MW-1041"}, 1000, 1000, 1_000_000, true},
		{"jobs=1000", many, 20, 0, 0, false},
	} {
		b.Run(tt.name, func(b *testing.B) {
			data, key := sealedFolder(b, tt.jobs, tt.notes, tt.sounds, tt.size)
			var wrote, checked time.Duration
			var bytes, mostWrite, mostCheck int64
			for b.Loop() {
				dir := b.TempDir()
				args := []string{"export", "--all", "--as", "json", "--data", data, "--key-file", key, "-o", dir}
				if tt.files {
					args = append(args, "--with-files")
				}
				begun := time.Now()
				r := runs(b, dir, program, nil, args...)
				wrote += time.Since(begun)
				if r.status != 0 {
					b.Fatalf("%.2000s", r.err)
				}
				mostWrite = max(mostWrite, r.most)
				found, _ := filepath.Glob(filepath.Join(dir, "*.json"))
				bytes = 0
				for _, name := range found {
					info, err := os.Stat(name)
					if err != nil {
						b.Fatal(err)
					}
					bytes += info.Size()
				}
				begun = time.Now()
				r = runs(b, dir, program, nil, slices.Concat([]string{"verify"}, found)...)
				checked += time.Since(begun)
				if r.status != 0 {
					b.Fatalf("%.2000s", r.out)
				}
				mostCheck = max(mostCheck, r.most)
				if err := os.RemoveAll(dir); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(wrote.Seconds()/float64(b.N), "export-s")
			b.ReportMetric(checked.Seconds()/float64(b.N), "verify-s")
			b.ReportMetric(float64(mostWrite>>20), "export-MiB")
			b.ReportMetric(float64(mostCheck>>20), "verify-MiB")
			b.ReportMetric(float64(bytes)/float64(len(tt.jobs)*tt.notes), "B/note")
		})
	}
}
