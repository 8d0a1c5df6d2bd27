package offline

import (
	"slices"
	"testing"

	"readback/capture/hear"
	"readback/capture/hear/clean"
	"readback/capture/hear/speechtest"
)

// late is a cleaner whose sound comes two and a half frames late.
type late struct {
	plain
	line []int16
}

func (l *late) Frame(in, out []int16) (float64, error) {
	l.line = append(l.line, in...)
	copy(out, l.line)
	l.line = l.line[hear.Frame:]
	return l.plain.Frame(in, nil)
}

func (l *late) Reset() error {
	l.line = make([]int16, l.Delay())
	return nil
}

func (l *late) Delay() int { return 5 * hear.Frame / 2 }

// tone stands for speech of so many frames; each sample tells its place.
func tone(frames int) []int16 {
	pcm := make([]int16, frames*hear.Frame)
	for i := range pcm {
		pcm[i] = int16(1000 + i%20000)
	}
	return pcm
}

func hush(frames int) []int16 { return speechtest.Hush(frames * hear.Frame) }

func TestNoteKeepsWhatWasSaid(t *testing.T) {
	tests := []struct {
		name  string
		pcm   []int16
		state hear.State
		from  int // frame
		to    int
	}{
		{"nothing", nil, hear.Waiting, 0, 0},
		{"one sample", []int16{1}, hear.Waiting, 0, 1},
		{"hush", hush(100), hear.Waiting, 0, 100},
		{"a long hush", hush(5000), hear.Waiting, 5000 - longest - leadIn, 5000},
		{"a switch", tone(100), hear.Speaking, 0, 100},
		{"a lead-in", slices.Concat(hush(100), tone(50)), hear.Speaking, 100 + onset - leadIn, 150},
		{"a click", slices.Concat(hush(100), tone(2), hush(100)), hear.Waiting, 0, 202},
		{"may end", slices.Concat(hush(100), tone(50), hush(30)), hear.MayEnd, 100 + onset - leadIn, 150 + tail},
		{"short of a cut", slices.Concat(hush(100), tone(50), hush(tail-1)), hear.Speaking, 100 + onset - leadIn, 150 + tail - 1},
		{"spoken on", slices.Concat(hush(100), tone(50), hush(30), tone(50)), hear.Speaking, 100 + onset - leadIn, 230},
		{"a click behind", slices.Concat(hush(100), tone(50), hush(30), tone(2), hush(10)), hear.Speaking, 100 + onset - leadIn, 150 + tail},
		{"a long pause, of who holds the key down", slices.Concat(hush(100), tone(50), hush(200), tone(50)), hear.Ended, 100 + onset - leadIn, 400},
		{"too long", tone(2000), hear.Ended, 0, longest + onset - 1},
	}
	for _, f := range []front{{clean: plain{}}, {clean: new(late)}} {
		f.detect = func() (detector, error) { return new(pauses), nil }
		for _, tt := range tests {
			t.Run(tt.name, func(t *testing.T) {
				n, err := newNote(f)
				if err != nil {
					t.Fatal(err)
				}
				for piece := range slices.Chunk(tt.pcm, 333) {
					if err := n.add(piece); err != nil {
						t.Fatal(err)
					}
				}
				if n.state != tt.state {
					t.Errorf("state %v, want %v", n.state, tt.state)
				}
				end, err := n.close()
				if err != nil {
					t.Fatal(err)
				}
				// Where the cleaner is late the sound up to a cut ends so much earlier.
				if early := tt.to*hear.Frame - end; n.first != tt.from*hear.Frame || early != 0 && (n.cut == 0 || early != f.clean.Delay()) {
					t.Errorf("kept %d to %d, want %d to %d", n.first, end, tt.from*hear.Frame, tt.to*hear.Frame)
				}
				if !slices.Equal(n.raw[:end-n.first], n.clean[:end-n.first]) {
					t.Error("cleaned and raw sound are not in line")
				}
			})
		}
	}
}

// TestWaitingTakesBoundedMemory has an hour of silence; the denoiser's own memory is told of by its
// tests, and would make a quarter of an hour of this one.
func TestWaitingTakesBoundedMemory(t *testing.T) {
	n, err := newNote(front{clean: new(late), detect: func() (detector, error) { return new(pauses), nil }})
	if err != nil {
		t.Fatal(err)
	}
	second := hush(100)
	for range 3600 {
		if err := n.add(second); err != nil {
			t.Fatal(err)
		}
	}
	if kept := cap(n.raw) + cap(n.clean) + cap(n.rest); n.state != hear.Waiting || kept > 10*longest*hear.Frame {
		t.Errorf("after an hour it is %v and keeps %d samples", n.state, kept)
	}
}

func TestLevels(t *testing.T) {
	var l levels
	if l.level() != clean.Silence || l.floor() != clean.Silence {
		t.Errorf("of no sound: %v over %v", l.level(), l.floor())
	}
	half := slices.Repeat([]int16{16384, -16384}, hear.Frame/2)
	small := slices.Repeat([]int16{33, -33}, hear.Frame/2)
	for range 10 {
		l.add(half, 1)
		l.add(small, 0)
		l.add(small, 0)
		l.add(half, 0) // the voice value is late
	}
	if l.level() < -6.1 || l.level() > -6 || l.floor() != -59 {
		t.Errorf("%v dB over %v, want -6.02 over -59", l.level(), l.floor())
	}
}
