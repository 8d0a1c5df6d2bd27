package endpoint_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"readback/capture/hear"
	"readback/capture/hear/endpoint"
)

var names = map[hear.State]string{hear.Waiting: "w", hear.Speaking: "S", hear.MayEnd: "m", hear.Ended: "E"}

// play feeds a stream written as "v5 s30": five frames of voice, thirty of silence. It returns
// the states in the same manner and the notes that ended.
func play(t *testing.T, c endpoint.Config, stream string) (states string, notes []endpoint.Note) {
	t.Helper()
	d, err := endpoint.New(c)
	if err != nil {
		t.Fatal(err)
	}
	var seen []hear.State
	for part := range strings.FieldsSeq(stream) {
		var n int
		if _, err := fmt.Sscanf(part[1:], "%d", &n); err != nil {
			t.Fatalf("%q: %v", part, err)
		}
		voice := map[byte]float64{'v': 0.95, 's': 0.1, 'n': math.NaN(), 'e': endpoint.Threshold}[part[0]]
		for range n {
			state := d.Frame(voice)
			seen = append(seen, state)
			if state == hear.Ended {
				notes = append(notes, d.Note())
			}
		}
	}
	var out []string
	for len(seen) > 0 {
		n := 1
		for n < len(seen) && seen[n] == seen[0] {
			n++
		}
		out = append(out, fmt.Sprintf("%s%d", names[seen[0]], n))
		seen = seen[n:]
	}
	return strings.Join(out, " "), notes
}

func TestDetector(t *testing.T) {
	const f = hear.Frame
	tests := []struct {
		name, stream, states string
		config               endpoint.Config
		notes                []endpoint.Note
	}{
		{
			name: "a note between silences keeps 400 ms before its voice", stream: "s100 v50 s70",
			states: "w104 S70 m35 E1 w10",
			notes:  []endpoint.Note{{From: 60 * f, To: 210 * f, Voice: 150 * f}},
		},
		{
			name: "the stream is younger than the lead-in", stream: "s10 v50 s60", states: "w14 S70 m35 E1",
			notes: []endpoint.Note{{From: 0, To: 120 * f, Voice: 60 * f}},
		},
		{name: "40 ms of voice is no note", stream: "s20 v4 s20 v4 s80", states: "w128"},
		{name: "the threshold itself is not over it", stream: "e60", states: "w60"},
		{name: "what is no number is silence", stream: "n30 v5 n60", states: "w34 S25 m35 E1", notes: []endpoint.Note{{To: 95 * f, Voice: 35 * f}}},
		{
			name: "an early end is taken back", stream: "v20 s40 v10 s60", states: "w4 S40 m16 S34 m35 E1",
			notes: []endpoint.Note{{To: 130 * f, Voice: 70 * f}},
		},
		{
			name: "a frame before the end is in time", stream: "v20 s59 v1 s60", states: "w4 S40 m35 S25 m35 E1",
			notes: []endpoint.Note{{To: 140 * f, Voice: 80 * f}},
		},
		{
			name: "the next note's lead-in stops at the note before", stream: "v20 s70 v20 s60", states: "w4 S40 m35 E1 w14 S40 m35 E1",
			notes: []endpoint.Note{{To: 80 * f, Voice: 20 * f}, {From: 80 * f, To: 170 * f, Voice: 110 * f}},
		},
		{
			name: "a note without an end is cut, and what goes on says so", stream: "s50 v150 s60", states: "w54 S95 E1 w4 S70 m36",
			config: endpoint.Config{Cap: time.Second, End: 800 * time.Millisecond},
			notes:  []endpoint.Note{{From: 10 * f, To: 150 * f, Voice: 150 * f, Cut: true}},
		},
		{
			name: "both parts of a cut note and a whole one after", stream: "v150 s60 v10 s60", states: "w4 S95 E1 w4 S70 m35 E1 w4 S30 m35 E1",
			config: endpoint.Config{Cap: time.Second},
			notes: []endpoint.Note{
				{To: 100 * f, Voice: 100 * f, Cut: true},
				{From: 100 * f, To: 210 * f, Voice: 150 * f, Torn: true},
				{From: 210 * f, To: 280 * f, Voice: 220 * f},
			},
		},
		{
			name: "a breath after the cut does not make the rest whole", stream: "v100 s30 v20 s70", states: "w4 S95 E1 w34 S40 m35 E1 w10",
			config: endpoint.Config{Cap: time.Second},
			notes: []endpoint.Note{
				{To: 100 * f, Voice: 100 * f, Cut: true},
				{From: 100 * f, To: 210 * f, Voice: 150 * f, Torn: true},
			},
		},
		{
			name: "an early end is not taken back past the cap", stream: "v90 s30 v5 s10", states: "w4 S110 m6 E1 w14",
			config: endpoint.Config{Cap: time.Second},
			notes:  []endpoint.Note{{To: 121 * f, Voice: 121 * f, Cut: true}},
		},
		{
			name: "a note that is over when the cap comes is whole", stream: "v70 s70", states: "w4 S90 m35 E1 w10",
			config: endpoint.Config{Cap: time.Second},
			notes:  []endpoint.Note{{To: 130 * f, Voice: 70 * f}},
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			states, notes := play(t, tt.config, tt.stream)
			if states != tt.states {
				t.Errorf("%s: states %s, want %s", tt.stream, states, tt.states)
			}
			if diff := cmp.Diff(tt.notes, notes); diff != "" {
				t.Errorf("%s: notes (-want +got):\n%s", tt.stream, diff)
			}
		})
	}
}

func TestNewRefuses(t *testing.T) {
	ms := time.Millisecond
	tests := []struct {
		config endpoint.Config
		word   string
	}{
		{endpoint.Config{MayEnd: 150 * ms}, "early end"},
		{endpoint.Config{MayEnd: 310 * ms}, "early end"},
		{endpoint.Config{End: 810 * ms}, "end is"},
		{endpoint.Config{End: 605 * ms}, "steps of 10ms"},
		{endpoint.Config{Onset: -10 * ms}, "onset"},
		{endpoint.Config{LeadIn: 2 * time.Second}, "lead-in"},
		{endpoint.Config{Cap: time.Hour}, "longest note"},
	}
	for _, tt := range tests {
		if _, err := endpoint.New(tt.config); err == nil || !strings.Contains(err.Error(), tt.word) {
			t.Errorf("New(%+v): error %v, want one with %q", tt.config, err, tt.word)
		}
	}
}

// voices draws a stream in runs, so that notes, early ends and cuts all come about.
func voices(t *rapid.T) []float64 {
	var all []float64
	for range rapid.IntRange(1, 30).Draw(t, "runs") {
		n := rapid.IntRange(1, 120).Draw(t, "frames")
		value := rapid.OneOf(rapid.Float64Range(0, 0.7), rapid.Float64Range(0.71, 1), rapid.Float64()).Draw(t, "voice")
		if rapid.IntRange(0, 40).Draw(t, "odd") == 0 {
			value = math.NaN()
		}
		all = append(all, slices.Repeat([]float64{value}, n)...)
	}
	return all
}

func config(t *rapid.T) endpoint.Config {
	ms := func(name string, low, up int) time.Duration {
		return time.Duration(rapid.IntRange(low/10, up/10).Draw(t, name)) * 10 * time.Millisecond
	}
	return endpoint.Config{
		Onset: ms("onset", 10, 200), LeadIn: ms("lead-in", 10, 1000), MayEnd: ms("may end", 200, 300),
		End: ms("end", 400, 800), Cap: ms("cap", 1000, 4000),
	}
}

// TestStatesMoveLegally feeds any voice values and holds every step against what may follow what.
func TestStatesMoveLegally(t *testing.T) {
	legal := map[hear.State][]hear.State{
		hear.Waiting:  {hear.Waiting, hear.Speaking},
		hear.Speaking: {hear.Speaking, hear.MayEnd, hear.Ended}, // Ended by the cap alone
		hear.MayEnd:   {hear.MayEnd, hear.Speaking, hear.Ended},
		hear.Ended:    {hear.Waiting, hear.Speaking}, // Speaking where one frame is onset enough
	}
	rapid.Check(t, func(t *rapid.T) {
		c := config(t)
		d, err := endpoint.New(c)
		if err != nil {
			t.Fatal(err)
		}
		before := hear.Waiting
		for i, v := range voices(t) {
			now := d.Frame(v)
			if !slices.Contains(legal[before], now) {
				t.Fatalf("frame %d: %s after %s", i, names[now], names[before])
			}
			if before == hear.Speaking && now == hear.Ended && !d.Note().Cut {
				t.Fatalf("frame %d: a note ended in mid-speech and was not cut", i)
			}
			if now == hear.MayEnd && v > endpoint.Threshold {
				t.Fatalf("frame %d: a voice, and the note may end", i)
			}
			before = now
		}
	})
}

// TestNoSoundIsLost holds that notes follow one another without overlap, that every run of voice
// that is long enough lies in a note with its lead-in, and that Keep lets nothing go that a note
// then asks for.
func TestNoSoundIsLost(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := config(t)
		d, err := endpoint.New(c)
		if err != nil {
			t.Fatal(err)
		}
		stream := voices(t)
		var notes []endpoint.Note
		kept := 0
		for i, v := range stream {
			state := d.Frame(v)
			n := d.Note()
			if state != hear.Waiting && n.From < kept {
				t.Fatalf("frame %d: the note begins at %d, and sound before %d was let go", i, n.From, kept)
			}
			if d.At() != (i+1)*hear.Frame || d.Keep() < kept || d.Keep() > d.At() {
				t.Fatalf("frame %d: at %d, keep %d after %d", i, d.At(), d.Keep(), kept)
			}
			kept = d.Keep()
			if state == hear.Ended {
				notes = append(notes, n)
			}
		}
		if n, ok := d.Close(); ok {
			notes = append(notes, n)
		}
		end := 0
		for _, n := range notes {
			longest := int((c.Cap+c.End+c.LeadIn)/(10*time.Millisecond)) * hear.Frame
			if n.From < end || n.Voice <= n.From || n.To < n.Voice || n.To-n.From > longest {
				t.Fatalf("note %+v after one that ended at %d", n, end)
			}
			end = n.To
		}
		covered(t, stream, notes, int(c.Onset/(10*time.Millisecond)))
	})
}

// covered fails where a run of voice of at least onset frames is outside all notes. What a cut
// leaves of a run may be too short to count.
func covered(t *rapid.T, stream []float64, notes []endpoint.Note, onset int) {
	inside := func(frame int) bool {
		return slices.ContainsFunc(notes, func(n endpoint.Note) bool {
			return n.From <= frame*hear.Frame && frame*hear.Frame < n.To
		})
	}
	run := 0
	for i := 0; i <= len(stream); i++ {
		if i < len(stream) && stream[i] > endpoint.Threshold && !inside(i) {
			run++
			continue
		}
		if run >= onset {
			t.Fatalf("%d frames of voice before frame %d are in no note: %+v", run, i, notes)
		}
		run = 0
	}
}

func TestCloseEndsWhatIsSpoken(t *testing.T) {
	d, err := endpoint.New(endpoint.Config{})
	if err != nil {
		t.Fatal(err)
	}
	if n, ok := d.Close(); ok {
		t.Fatalf("Close with nobody speaking gives the note %+v", n)
	}
	for range 30 {
		d.Frame(1)
	}
	n, ok := d.Close()
	if want := (endpoint.Note{To: 30 * hear.Frame, Voice: 30 * hear.Frame}); !ok || n != want {
		t.Fatalf("Close = %+v, %v, want %+v", n, ok, want)
	}
	if state := d.Frame(0); state != hear.Waiting {
		t.Fatalf("after Close the state is %s", names[state])
	}
}
