package voice_test

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"readback/capture/voice"
)

// installed returns a program, or ends the test: skipped, in CI failed.
func installed(t testing.TB, name string) *voice.Program {
	t.Helper()
	p, err := voice.Find(t.Context(), name)
	if err == nil {
		return p
	}
	if os.Getenv("CI") == "true" {
		t.Fatal(err)
	}
	t.Skip(err)
	return nil
}

func TestEveryVoiceSpeaks(t *testing.T) {
	for _, name := range voice.Names() {
		t.Run(name, func(t *testing.T) {
			if name == "espeak-ng" {
				if _, err := voice.Find(t.Context(), name); err != nil {
					t.Skip(err) // flite is what run.sh installs
				}
			}
			p := installed(t, name)
			s, _ := newSpeaker(t, p, t.TempDir(), 1<<20)
			for _, v := range s.Voices() {
				usual, err := s.Say(t.Context(), voice.Line{Text: "Shim pack error: -0.09 mm, out. Collar nut 3, 48 N·m. In.", Voice: v.ID})
				if err != nil {
					t.Fatalf("%s: %v", v.ID, err)
				}
				if usual.Length < 3*time.Second || usual.Length > 12*time.Second || usual.Rate < 16000 {
					t.Errorf("%s speaks for %v at %d samples a second", v.ID, usual.Length, usual.Rate)
				}
				fast, err := s.Say(t.Context(), voice.Line{Text: "Shim pack error: -0.09 mm, out. Collar nut 3, 48 N·m. In.", Voice: v.ID, Speed: 1.6})
				if err != nil || fast.Length > usual.Length*8/10 {
					t.Errorf("%s at 1.6 of the speed: %v, at the usual %v (%v)", v.ID, fast.Length, usual.Length, err)
				}
			}
		})
	}
}

// The words are words to the program, whatever they look like.
func TestTextIsNoCommand(t *testing.T) {
	p := installed(t, "flite")
	dir := t.TempDir()
	for _, words := range []string{"-o " + dir + "/written", "$(touch " + dir + "/written)", "; touch " + dir + "/written", "`touch " + dir + "/written`", "/etc/hostname"} {
		if _, err := p.Render(t.Context(), words, "slt", 1); err != nil {
			t.Errorf("%q: %v", words, err)
		}
	}
	if files, err := os.ReadDir(dir); err != nil || len(files) != 0 {
		t.Errorf("the words were done: %v, %v", files, err)
	}
}

// program writes a script that takes the place of flite, and finds it. Asked for its version it says
// nothing.
func program(t *testing.T, script string) *voice.Program {
	t.Helper()
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "flite"), []byte("#!/bin/sh\n[ \"$1\" = --version ] && exit\n"+script), 0o700); err != nil {
		t.Fatal(err)
	}
	t.Setenv("PATH", dir+":"+os.Getenv("PATH"))
	p, err := voice.Find(t.Context(), "")
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestProgramIsKilledWithItsContext(t *testing.T) {
	pipe := filepath.Join(t.TempDir(), "pid")
	if err := syscall.Mkfifo(pipe, 0o600); err != nil {
		t.Fatal(err)
	}
	p := program(t, `echo $$ > "`+pipe+`"; exec sleep 1000`)
	ctx, stop := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { _, err := p.Render(ctx, "In.", "slt", 1); done <- err }()
	pid, err := os.ReadFile(pipe) // it waits for the program
	if err != nil {
		t.Fatal(err)
	}
	stop()
	if err := <-done; !errors.Is(err, context.Canceled) || !errors.Is(err, voice.ErrFailed) {
		t.Errorf("it ended with %v", err)
	}
	if _, err := os.Stat("/proc/" + strings.TrimSpace(string(pid))); err == nil {
		t.Errorf("process %s runs on", pid)
	}
}

func TestProgramsThatFail(t *testing.T) {
	for name, script := range map[string]string{
		"it complains":    `echo "no such voice" >&2; exit 3`,
		"it says nothing": `exit 0`,
		"it writes text":  `for last; do :; done; echo hello > "$last"`,
		"it is torn":      `for last; do :; done; printf 'RIFF\044\0\0\0WAVEfmt \020\0\0\0' > "$last"`,
	} {
		t.Run(name, func(t *testing.T) {
			s, _ := newSpeaker(t, program(t, script), t.TempDir(), 1<<20)
			if _, err := s.Say(t.Context(), voice.Line{Text: "In."}); !errors.Is(err, voice.ErrFailed) {
				t.Errorf("it gives %v", err)
			}
		})
	}
}

func TestWhatIsMissingIsNamed(t *testing.T) {
	t.Setenv("PATH", t.TempDir())
	for name, want := range map[string]string{"": "apt-get install flite", "espeak-ng": "apt-get install espeak-ng", "parrot": "use one of: flite, espeak-ng"} {
		if _, err := voice.Find(t.Context(), name); errors.Is(err, voice.ErrMissing) == errors.Is(err, voice.ErrProgram) || !strings.Contains(err.Error(), want) {
			t.Errorf("Find(%q) gives %v, want %q", name, err, want)
		}
	}
}

func BenchmarkSay(b *testing.B) {
	for _, name := range voice.Names() {
		p, err := voice.Find(b.Context(), name)
		if err != nil {
			continue
		}
		for _, v := range p.Voices() {
			b.Run(name+"/"+v.ID+"/rendered", func(b *testing.B) {
				s, _ := newSpeaker(b, p, b.TempDir(), 0) // room for nothing
				for b.Loop() {
					if _, err := s.Say(b.Context(), voice.Line{Text: "Collar nut three, forty-eight newton metres. In.", Voice: v.ID}); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
		b.Run(name+"/kept", func(b *testing.B) {
			s, _ := newSpeaker(b, p, b.TempDir(), 1<<20)
			for b.Loop() {
				if _, err := s.Say(b.Context(), voice.Line{Text: "Collar nut three, forty-eight newton metres. In."}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func TestWarming(t *testing.T) {
	f := &fake{}
	s, _ := newSpeaker(t, f, t.TempDir(), 1<<20)
	if err := s.Warm(t.Context(), voice.Common("Lock the supply out.")); err != nil {
		t.Fatal(err)
	}
	n := f.count()
	for _, text := range []string{"In.", "Out.", "Say again.", "Lock the supply out."} {
		if _, err := s.Say(t.Context(), voice.Line{Text: text}); err != nil || f.count() != n {
			t.Errorf("%q was not rendered beforehand (%v)", text, err)
		}
	}
	stopped, stop := context.WithCancel(t.Context())
	stop()
	if err := s.Warm(stopped, []voice.Line{{Text: "Another."}}); !errors.Is(err, context.Canceled) {
		t.Errorf("warming that is stopped gives %v", err)
	}
}
