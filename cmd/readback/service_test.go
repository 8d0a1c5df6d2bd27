package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"

	"readback/capture/floor"
	"readback/capture/hear"
	"readback/capture/hear/speechtest"
	"readback/capture/hear/wav"
)

// hearFiles runs `readback hear` on what flite says and returns its answers.
func hearFiles(t *testing.T, stt string, sentences ...string) []string {
	t.Helper()
	args := []string{"hear", "--json", "--spec", "mr5", "--stt", stt}
	for i, s := range sentences {
		name := filepath.Join(t.TempDir(), fmt.Sprintf("%d.wav", i))
		if err := os.WriteFile(name, wav.Bytes(speechtest.Say(t, "rms", s), hear.Rate), 0o600); err != nil {
			t.Fatal(err)
		}
		args = append(args, name)
	}
	c := exec.CommandContext(t.Context(), "readback", args...)
	out, err := c.Output()
	if exit, ok := errors.AsType[*exec.ExitError](err); err != nil && (!ok || exit.ExitCode() != 1) {
		t.Fatalf("%v: %s", err, exit.Stderr)
	}
	return strings.Split(strings.TrimSpace(string(out)), "\n")
}

// The real recogniser beside a service: what both read alike is taken, what they read otherwise is
// asked, and where the service is away the recogniser hears alone.
func TestHearWithAService(t *testing.T) {
	speechtest.Need(t)
	text := new(atomic.Value)
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if _, err := wav.Read(r.Body); err != nil {
			t.Error(err)
		}
		_ = json.NewEncoder(w).Encode(map[string]any{"text": text.Load()})
	}))
	defer s.Close()
	const said = "build spacer eighty eight point five millimetres"
	for answer, want := range map[string]string{
		"Build spacer, 88.5 mm.": `"value":"88.5"`,
		"Build spacer, 85.8 mm.": `Did you say build spacer eighty eight point five millimetres?`,
		"Well, good morning.":    `Did you say build spacer eighty eight point five millimetres?`,
	} {
		text.Store(answer)
		got := hearFiles(t, s.URL, said)
		if !strings.Contains(got[0], want) {
			t.Errorf("where the service says %q: %s", answer, got[0])
		}
		if taken := strings.Contains(got[1], `"readings":1`); taken != strings.Contains(want, "value") {
			t.Errorf("where the service says %q: %s", answer, got[1])
		}
	}
	s.Close()
	got := hearFiles(t, s.URL, said, "note the customer says it rattles when cold")
	if !strings.Contains(got[0], `"value":"88.5"`) {
		t.Errorf("where the service is away: %s", got[0])
	}
	if !strings.Contains(got[1], floor.GuessSay) || !strings.Contains(got[1], "note the customer says it rattles") || !strings.Contains(got[2], `"readings":1`) {
		t.Errorf("a remark: %s and %s", got[1], got[2])
	}
}

// A file with more sound than a note has is bad input: it says what to do, and nothing of it is taken.
func TestHearALongFile(t *testing.T) {
	speechtest.Need(t)
	for seconds, status := range map[float64]int{12: 0, 12.1: 2, 30: 2} {
		name := filepath.Join(t.TempDir(), "long.wav")
		pcm := append(speechtest.Say(t, "rms", "build spacer sixty four millimetres"), make([]int16, 30*hear.Rate)...)[:int(seconds*hear.Rate)]
		if err := os.WriteFile(name, wav.Bytes(pcm, hear.Rate), 0o600); err != nil {
			t.Fatal(err)
		}
		c := exec.CommandContext(t.Context(), "readback", "hear", "--json", "--spec", "mr5", name)
		var wrong strings.Builder
		c.Stderr = &wrong
		out, err := c.Output()
		if _, exits := errors.AsType[*exec.ExitError](err); err != nil && !exits {
			t.Fatal(err)
		}
		if got := c.ProcessState.ExitCode(); got != status || strings.Contains(string(out), `"value":"64"`) != (status == 0) {
			t.Errorf("%v s: status %d, %s%s", seconds, got, out, wrong.String())
		}
		if status == 2 && (len(out) > 0 || !strings.Contains(wrong.String(), "12 s at most") || !strings.Contains(wrong.String(), "hint: split it: one note a file")) {
			t.Errorf("%v s: %s", seconds, wrong.String())
		}
	}
}

// A server tells its pages what hears, of the lead-in, and where sound goes.
func TestServeWithAService(t *testing.T) {
	speechtest.Need(t)
	s := httptest.NewServer(http.NotFoundHandler())
	defer s.Close()
	for _, tt := range []struct {
		url  string
		want []string
	}{
		{s.URL, []string{`"engine":"service and offline"`, `"why":""`, `"lead_in":"bench seven"`}},
		{"http://198.51.100.7:9", []string{`"warning":"What is spoken here leaves this net: the sound of each note is sent to 198.51.100.7 (198.51.100.7), and anybody on the way can listen`}},
	} {
		p := launch(t, t.TempDir(), "--stt", tt.url, "--lead-in", "bench seven")
		if !p.serves() {
			t.Fatalf("the server ended: %v: %s", p.end(nil), &p.log)
		}
		ask, err := http.NewRequestWithContext(t.Context(), http.MethodGet, p.address+"/api/hearing", http.NoBody)
		if err != nil {
			t.Fatal(err)
		}
		r, err := s.Client().Do(ask)
		if err != nil {
			t.Fatal(err)
		}
		var body strings.Builder
		if err := r.Write(&body); err != nil {
			t.Fatal(err)
		}
		_ = r.Body.Close()
		if err := p.end(os.Interrupt); err != nil {
			t.Error(err)
		}
		for _, w := range tt.want {
			if !strings.Contains(body.String(), w) {
				t.Errorf("%s: the pages are told %s; want %s in it", tt.url, body.String(), w)
			}
		}
		if warned := strings.Contains(p.log.String(), "leaves this net"); warned != strings.Contains(tt.want[0], "leaves") {
			t.Errorf("%s: the log says %s", tt.url, &p.log)
		}
	}
}
