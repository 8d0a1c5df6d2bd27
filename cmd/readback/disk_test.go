package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"readback/capture/seal"
	"readback/capture/wire"
	"readback/capture/ws"
	"readback/search"
)

// A full disk refuses notes in words and loses none; with room again the same notes go in.
func TestFullDisk(t *testing.T) {
	dir := mount(t, "size=3m")
	data := filepath.Join(dir, "data")
	p := begin(t, data)
	p.open(t, "MW-1041")
	b := p.sit(t, "MW-1041", "bench 1")
	answers := map[string]wire.Answer{}
	last, why := fill(t, b, answers)
	if !strings.Contains(why, "the disk is full and nothing was kept; make room") {
		t.Errorf("refused with %q", why)
	}
	for range 3 { // what tidies up behind the scenes may make room for some more
		last, _ = fill(t, b, answers)
	}
	for id, first := range answers {
		if a, err := b.Say(t.Context(), wire.Note{ID: id, Text: "seat clean"}); err != nil || a.Seq != first.Seq || string(a.Body) != string(first.Body) {
			t.Errorf("%s again on a full disk: %d, error %v; first %d", id, a.Seq, err, first.Seq)
		}
	}
	if got := len(kept(t, data)); got != len(answers)+1 {
		t.Errorf("%d entries are kept, %d were answered", got-1, len(answers))
	}
	if status, _ := p.get(t, "/api/jobs/MW-1041"); status != http.StatusOK {
		t.Errorf("the job's state on a full disk: %d", status)
	}
	if err := syscall.Mount("", dir, "tmpfs", syscall.MS_REMOUNT, "size=64m"); err != nil {
		t.Fatal(err)
	}
	a, err := b.Say(t.Context(), last)
	if err != nil || a.Seq != int64(len(answers)+2) {
		t.Errorf("with room again the note got %d, error %v; want %d", a.Seq, err, len(answers)+2)
	}
	answers[last.ID] = a
	p.stop(t)
	again := begin(t, data)
	for _, e := range kept(t, data)[1:] {
		if first := answers[e.ID]; e.Seq != first.Seq || string(e.Answer) != string(first.Body) {
			t.Errorf("after a start note %s is %d %s, answered %d %s", e.ID, e.Seq, e.Answer, first.Seq, first.Body)
		}
	}
	again.stop(t)
	findable(t, data, len(answers))
}

// findable searches the data folder: the index has caught up with all that was kept.
func findable(t *testing.T, data string, want int) {
	t.Helper()
	hits, err := find(t.Context(), source{data: data}, search.Query{Text: "nut", Limit: 1}, "")
	if err != nil || hits.Total != uint64(want) {
		t.Errorf("%d notes are found, error %v; want %d", hits.Total, err, want)
	}
}

// fill says notes until one is refused, and returns it.
func fill(t *testing.T, b *ws.Bench, answers map[string]wire.Answer) (last wire.Note, why string) {
	t.Helper()
	for range 10_000 {
		note := wire.Note{ID: newID(t), Text: "collar nut stage one forty eight newton metres" + strings.Repeat(" tea is ready", 100)}
		a, err := b.Say(t.Context(), note)
		if r, refused := errors.AsType[*ws.RefusalError](err); refused {
			return note, r.Reason
		}
		if err != nil {
			t.Fatal(err)
		}
		answers[note.ID] = a
	}
	t.Fatal("the disk was never full")
	return wire.Note{}, ""
}

// get asks the server and returns the status and the body.
func (p *process) get(tb testing.TB, path string) (int, []byte) {
	tb.Helper()
	request, err := http.NewRequestWithContext(tb.Context(), http.MethodGet, p.address+path, http.NoBody)
	if err != nil {
		tb.Fatal(err)
	}
	response, err := new(http.Client).Do(request)
	if err != nil {
		tb.Fatal(err)
	}
	defer response.Body.Close()
	var body json.RawMessage
	if err := json.NewDecoder(response.Body).Decode(&body); err != nil {
		tb.Errorf("%s: %v", path, err)
	}
	return response.StatusCode, body
}

func TestDiskThatIsFullAtStart(t *testing.T) {
	refuses(t, filepath.Join(mount(t, "size=4k"), "data"), "the disk is full", "hint: make room on that disk")
}

// A disk that cannot be written is refused at the start; its record can be read.
func TestReadOnlyDisk(t *testing.T) {
	dir := mount(t, "size=16m")
	data := filepath.Join(dir, "data")
	p := begin(t, data)
	p.open(t, "MW-1041")
	b := p.sit(t, "MW-1041", "bench 1")
	if _, err := b.Say(t.Context(), wire.Note{ID: newID(t), Text: "collar nut stage one forty eight newton metres"}); err != nil {
		t.Fatal(err)
	}
	p.stop(t)
	if err := syscall.Mount("", dir, "tmpfs", syscall.MS_REMOUNT|syscall.MS_RDONLY, ""); err != nil {
		t.Fatal(err)
	}
	refuses(t, data, "cannot be written", "hint: make the folder writable")
	refuses(t, filepath.Join(dir, "new"), "cannot be written", "hint: make the folder writable")
	text, err := fetchExport(t.Context(), &std{err: io.Discard}, source{data: data}, "MW-1041", "csv", sealOptions{})
	if err != nil || !strings.Contains(string(text), "collar_nut_torque") {
		t.Errorf("an export of a disk that cannot be written: %s, error %v", text, err)
	}
	bundle, err := fetchExport(t.Context(), &std{err: io.Discard}, source{data: data}, "MW-1041", "json", sealOptions{keyFile: data + "-seal.key"})
	if err != nil {
		t.Fatal(err)
	}
	if r, err := seal.Verify(t.Context(), bytes.NewReader(bundle), seal.Expect{}); err != nil || !r.Holds() || r.Entries != 2 {
		t.Errorf("a bundle of a disk that cannot be written: %+v, error %v", r, err)
	}
	findable(t, data, 1)
}

// refuses starts a server that says why it does not serve, and what would help.
func refuses(t *testing.T, data, why, help string) {
	t.Helper()
	p := launch(t, data)
	if p.serves() {
		t.Errorf("it serves at %s", p.address)
	}
	err := p.end(nil)
	if p.ProcessState.ExitCode() != usage || !strings.Contains(p.log.String(), why) || !strings.Contains(p.log.String(), help) {
		t.Errorf("it ended with %v and said %q; want %q, %q", err, &p.log, why, help)
	}
}

// mount returns a folder that is a disk of its own, in memory.
func mount(t *testing.T, options string) string {
	t.Helper()
	dir := t.TempDir()
	if err := syscall.Mount("readback-test", dir, "tmpfs", 0, options); err != nil {
		t.Fatalf("mount a tmpfs: %v; run the tests as root, or in a namespace that may mount", err)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(dir, syscall.MNT_DETACH); err != nil {
			t.Errorf("unmount: %v", err)
		}
	})
	return dir
}
