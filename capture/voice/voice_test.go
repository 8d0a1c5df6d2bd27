package voice_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"pgregory.net/rapid"

	"readback/capture/voice"
)

// fake renders a tone whose samples hang on the words, the voice and the speed.
type fake struct {
	mu    sync.Mutex
	asked []string
	most  int // that ran at once
	runs  int
	hold  chan struct{} // if set, each waits for it, or for its context
	began chan struct{} // if set, it is told when one begins
	err   error
}

func (f *fake) Name() string { return "fake 1" }

func (f *fake) Voices() []voice.Voice {
	return []voice.Voice{{ID: "one", Name: "One"}, {ID: "two", Name: "Two"}}
}

func (f *fake) Render(ctx context.Context, words, v string, speed float64) ([]byte, error) {
	f.mu.Lock()
	f.asked = append(f.asked, words)
	f.runs++
	f.most = max(f.most, f.runs)
	err, hold, began := f.err, f.hold, f.began
	f.mu.Unlock()
	defer func() { f.mu.Lock(); f.runs--; f.mu.Unlock() }()
	select {
	case began <- struct{}{}:
	default:
	}
	if hold != nil {
		select {
		case <-hold:
		case <-ctx.Done():
			return nil, ctx.Err()
		}
	}
	return tone(words, v, speed), err
}

func (f *fake) count() int {
	f.mu.Lock()
	defer f.mu.Unlock()
	return len(f.asked)
}

// tone is a WAV file as a program writes one into a pipe: with sizes that are not true.
func tone(words, v string, speed float64) []byte {
	sum := sha256.Sum256([]byte(words + v))
	b := []byte("RIFF\xff\xff\xff\x7fWAVEfmt \x10\x00\x00\x00\x01\x00\x01\x00\x80\x3e\x00\x00\x00\x7d\x00\x00\x02\x00\x10\x00data\xff\xff\xff\x7f")
	b = append(b, make([]byte, 2*3200)...) // a fifth of a second of silence
	for i := range int(1600 / speed) {
		b = binary.LittleEndian.AppendUint16(b, uint16(1000+int(sum[i%32])*(1+i%7)))
	}
	return append(b, make([]byte, 2*3200)...)
}

func newSpeaker(t interface {
	Fatal(args ...any)
}, f voice.Renderer, dir string, most int64,
) (*voice.Speaker, *voice.Cache) {
	c, err := voice.OpenCache(dir, most)
	if err != nil {
		t.Fatal(err)
	}
	return voice.New(f, c), c
}

func TestSaidOnceIsKept(t *testing.T) {
	f, dir := &fake{}, t.TempDir()
	s, _ := newSpeaker(t, f, dir, 1<<20)
	first, err := s.Say(t.Context(), voice.Line{Text: "Collar nut 3, 48 N·m. In."})
	if err != nil {
		t.Fatal(err)
	}
	if f.asked[0] != "Collar nut three, forty-eight newton metres. In." {
		t.Errorf("rendered was %q", f.asked[0])
	}
	if want := 160 * time.Millisecond; first.Rate != 16000 || first.Length != want { // 100 ms of tone, 30 of silence at either end
		t.Errorf("%d samples a second for %v, want 16000 for %v", first.Rate, first.Length, want)
	}
	if size := binary.LittleEndian.Uint32(first.WAV[40:]); int(size) != len(first.WAV)-44 {
		t.Errorf("the header says %d bytes of %d", size, len(first.WAV)-44)
	}
	s, _ = newSpeaker(t, f, dir, 1<<20) // a restart
	for _, same := range []voice.Line{{Text: "Collar nut 3, 48 N·m. In."}, {Text: "Collar nut three, forty-eight newton metres. In.", Voice: "one", Speed: 1.01}} {
		again, err := s.Say(t.Context(), same)
		if err != nil || !bytes.Equal(again.WAV, first.WAV) {
			t.Errorf("%+v sounds otherwise (%v)", same, err)
		}
	}
	for _, other := range []voice.Line{{Text: "Collar nut 3, 48 N·m. Out."}, {Text: "Collar nut 3, 48 N·m. In.", Voice: "two"}, {Text: "Collar nut 3, 48 N·m. In.", Speed: 1.5}} {
		if again, err := s.Say(t.Context(), other); err != nil || bytes.Equal(again.WAV, first.WAV) {
			t.Errorf("%+v sounds the same (%v)", other, err)
		}
	}
	if f.count() != 4 {
		t.Errorf("rendered were %q", f.asked)
	}
}

func TestLinesThatCannotBeSpoken(t *testing.T) {
	s, _ := newSpeaker(t, &fake{}, t.TempDir(), 1<<20)
	none, _ := newSpeaker(t, nil, t.TempDir(), 1<<20)
	failing, _ := newSpeaker(t, &fake{err: voice.ErrFailed}, t.TempDir(), 1<<20)
	for _, tt := range []struct {
		name string
		s    *voice.Speaker
		line voice.Line
		want error
	}{
		{"nothing", s, voice.Line{}, voice.ErrEmpty},
		{"nothing to say", s, voice.Line{Text: "…!? 日本"}, voice.ErrEmpty},
		{"too long", s, voice.Line{Text: strings.Repeat("in ", 400)}, voice.ErrLong},
		{"no such voice", s, voice.Line{Text: "In.", Voice: "../one"}, voice.ErrVoice},
		{"too fast", s, voice.Line{Text: "In.", Speed: 2.1}, voice.ErrSpeed},
		{"backwards", s, voice.Line{Text: "In.", Speed: -1}, voice.ErrSpeed},
		{"no number", s, voice.Line{Text: "In.", Speed: math.NaN()}, voice.ErrSpeed},
		{"no renderer", none, voice.Line{Text: "In."}, voice.ErrMissing},
		{"a renderer that fails", failing, voice.Line{Text: "In."}, voice.ErrFailed},
	} {
		if _, err := tt.s.Say(t.Context(), tt.line); !errors.Is(err, tt.want) {
			t.Errorf("%s: %v, want %v", tt.name, err, tt.want)
		}
	}
	if err := none.Warm(t.Context(), voice.Common()); err != nil || len(none.Voices()) != 0 {
		t.Errorf("without a renderer: voices %v, warming gives %v", none.Voices(), err)
	}
}

// Whoever asks for a sentence that is being rendered waits for it, and one who leaves
// spoils it for nobody.
func TestManyAskAtOnce(t *testing.T) {
	f := &fake{hold: make(chan struct{}), began: make(chan struct{}, 1)}
	s, _ := newSpeaker(t, f, t.TempDir(), 1<<20)
	leaving, leave := context.WithCancel(t.Context())
	var left, work sync.WaitGroup
	left.Go(func() {
		if _, err := s.Say(leaving, voice.Line{Text: "In."}); !errors.Is(err, context.Canceled) {
			t.Errorf("who left got %v", err)
		}
	})
	<-f.began
	for i := range 40 {
		work.Go(func() {
			if _, err := s.Say(t.Context(), voice.Line{Text: []string{"In.", "Out.", "Noted.", "Close."}[i%4]}); err != nil {
				t.Error(err)
			}
		})
	}
	leave()
	left.Wait()
	close(f.hold)
	work.Wait()
	if f.most > 2 || f.count() > 5 {
		t.Errorf("%d ran at once, rendered were %q", f.most, f.asked)
	}
}

// The cache against a model: whatever is torn, changed, deleted or left over, every
// sentence sounds as it must, and no more bytes are kept than may be.
func TestCacheIsNeverWrong(t *testing.T) {
	texts := []string{"In.", "Out.", "Close.", "Noted.", "Say again.", "Forgotten.", "Stop."}
	clean, _ := newSpeaker(t, &fake{}, t.TempDir(), 1<<30)
	want := map[string][]byte{}
	for _, text := range texts {
		clip, err := clean.Say(t.Context(), voice.Line{Text: text})
		if err != nil {
			t.Fatal(err)
		}
		want[text] = clip.WAV
	}
	rapid.Check(t, func(rt *rapid.T) {
		dir, err := os.MkdirTemp(t.TempDir(), "") //nolint:usetesting // a folder for each draw
		if err != nil {
			rt.Fatal(err)
		}
		size := int64(32 + len(want["In."]))
		most := size*rapid.Int64Range(0, 5).Draw(rt, "room") + 7
		f := &fake{}
		s, c := newSpeaker(rt, f, dir, most)
		var known []string // that are kept, used last at the end
		use := func(text string, add bool) {
			for i, k := range known {
				if k == text {
					known = append(known[:i:i], known[i+1:]...)
					break
				}
			}
			if add {
				known = append(known, text)
			}
			known = known[max(0, len(known)-int(most/size)):]
		}
		has := func(text string) bool {
			return slices.Contains(known, text)
		}
		rt.Repeat(map[string]func(*rapid.T){
			"say": func(rt *rapid.T) {
				text := rapid.SampledFrom(texts).Draw(rt, "text")
				before := f.count()
				clip, err := s.Say(t.Context(), voice.Line{Text: text})
				if err != nil || !bytes.Equal(clip.WAV, want[text]) {
					rt.Fatalf("%q sounds otherwise (%v)", text, err)
				}
				if made := f.count() > before; made == has(text) {
					rt.Fatalf("%q: rendered %t, kept are %q", text, made, known)
				}
				use(text, true)
			},
			"spoil": func(rt *rapid.T) {
				files, _ := filepath.Glob(filepath.Join(dir, "*.clip"))
				if len(files) == 0 {
					return
				}
				text := rapid.SampledFrom(texts).Draw(rt, "text")
				key, err := s.Key(voice.Line{Text: text})
				if err != nil {
					rt.Fatal(err)
				}
				path := filepath.Join(dir, key+".clip")
				data, err := os.ReadFile(path)
				if err != nil {
					return
				}
				switch rapid.IntRange(0, 2).Draw(rt, "how") {
				case 0:
					data = data[:rapid.IntRange(0, len(data)-1).Draw(rt, "length")]
				case 1:
					data[rapid.IntRange(0, len(data)-1).Draw(rt, "byte")] ^= 0x40
				case 2:
					if err := os.Remove(path); err != nil {
						rt.Fatal(err)
					}
					data = nil
				}
				if data != nil {
					if err := os.WriteFile(path, data, 0o600); err != nil {
						rt.Fatal(err)
					}
				}
				clip, err := s.Say(t.Context(), voice.Line{Text: text})
				if err != nil || !bytes.Equal(clip.WAV, want[text]) {
					rt.Fatalf("%q was spoilt and sounds otherwise (%v)", text, err)
				}
				use(text, true)
			},
			"restart": func(rt *rapid.T) {
				if err := os.WriteFile(filepath.Join(dir, "x.part"), []byte("half a clip"), 0o600); err != nil {
					rt.Fatal(err)
				}
				// The order of use is that of the files' times, which a fast test does not part.
				for i, text := range known {
					key, err := s.Key(voice.Line{Text: text})
					if err != nil {
						rt.Fatal(err)
					}
					at := time.Unix(int64(1_000_000+i), 0)
					if err := os.Chtimes(filepath.Join(dir, key+".clip"), at, at); err != nil {
						rt.Fatal(err)
					}
				}
				s, c = newSpeaker(rt, f, dir, most)
			},
			"": func(rt *rapid.T) {
				files, err := os.ReadDir(dir)
				if err != nil {
					rt.Fatal(err)
				}
				total := int64(0)
				for _, file := range files {
					info, err := file.Info()
					if err != nil {
						rt.Fatal(err)
					}
					if !strings.HasSuffix(file.Name(), ".part") {
						total += info.Size()
					}
				}
				if total > most || c.Bytes() != total {
					rt.Fatalf("%d bytes lie there and %d are counted, %d may be", total, c.Bytes(), most)
				}
			},
		})
	})
}

func TestFolderThatCannotBeWritten(t *testing.T) {
	f, dir := &fake{}, t.TempDir()
	s, _ := newSpeaker(t, f, dir, 1<<20)
	if err := os.RemoveAll(dir); err != nil {
		t.Fatal(err)
	}
	for range 2 {
		if _, err := s.Say(t.Context(), voice.Line{Text: "In."}); err != nil {
			t.Errorf("without a folder: %v", err)
		}
	}
	if _, err := voice.OpenCache("/dev/null/x", 1<<20); err == nil {
		t.Error("a folder that cannot be made is opened")
	}
}
