package offline

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"errors"
	"io"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"readback/capture/hear"
)

func TestFramesComeThrough(t *testing.T) {
	want := reply{
		Version: version, Worn: 7, Fits: []fit{{-3, "yes"}, {number(math.Inf(-1)), ""}},
		Live:  &live{Words: []string{"collar"}, Voice: 0.5, Level: -20.25, State: hear.MayEnd},
		Heard: &heard{Words: []hear.Word{{Text: "collar", From: 160, To: 3200}}, Plain: []hear.Word{}, Gate: number(math.Inf(-1)), Unvoiced: true},
		Fault: faultOf(hear.ErrGrammar),
	}
	var pipe bytes.Buffer
	sound := []int16{0, 1, -1, math.MaxInt16, math.MinInt16}
	for range 2 {
		if err := writeFrame(&pipe, want, sound); err != nil {
			t.Fatal(err)
		}
	}
	for range 2 {
		var got reply
		pcm, err := readFrame(&pipe, &got)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(want, got) + cmp.Diff(sound, pcm); diff != "" {
			t.Errorf("another frame came out:\n%s", diff)
		}
		if !errors.Is(got.Fault.err(), hear.ErrGrammar) {
			t.Errorf("the fault came out as %v", got.Fault.err())
		}
	}
	if _, err := readFrame(&pipe, new(reply)); !errors.Is(err, io.EOF) {
		t.Errorf("behind the last frame: %v", err)
	}
}

func TestNumberThatIsNone(t *testing.T) {
	text, err := json.Marshal(number(math.NaN()))
	if err != nil {
		t.Fatal(err)
	}
	var got number
	if err := json.Unmarshal(text, &got); err != nil || !math.IsNaN(float64(got)) {
		t.Errorf("%s came out as %v, %v", text, got, err)
	}
}

// framed is bytes with the lengths that a frame claims for them.
func framed(head, body uint32, rest string) string {
	b := binary.LittleEndian.AppendUint32([]byte(mark), head)
	return string(binary.LittleEndian.AppendUint32(b, body)) + rest
}

func TestBadFramesAreRefused(t *testing.T) {
	tests := []struct {
		name, bytes string
		want        error
	}{
		{"nothing", "", io.EOF},
		{"half a header", mark, io.ErrUnexpectedEOF},
		{"no mark", "INFO: something else", errFrame},
		{"large head", framed(mostHead+1, 0, "{}"), errFrame},
		{"large body", framed(2, mostBody+2, "{}"), errFrame},
		{"half a sample", framed(2, 3, "{}abc"), errFrame},
		{"no JSON", framed(2, 0, "{{"), errFrame},
		{"cut head", framed(1000, 0, "{"), io.ErrUnexpectedEOF},
		{"cut body", framed(2, 1000, "{}abc"), io.ErrUnexpectedEOF},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if _, err := readFrame(strings.NewReader(tt.bytes), new(request)); !errors.Is(err, tt.want) {
				t.Errorf("error %v, want %v", err, tt.want)
			}
		})
	}
	if err := writeFrame(io.Discard, request{}, make([]int16, mostBody)); err == nil {
		t.Error("too much sound is written")
	}
	if err := writeFrame(io.Discard, request{Grammar: strings.Repeat("x", mostHead)}, nil); err == nil {
		t.Error("too large a head is written")
	}
}

// FuzzFrames feeds both ends with what may come through a pipe.
func FuzzFrames(f *testing.F) {
	var good bytes.Buffer
	for _, r := range []request{{Do: doBegin}, {Do: doWrite}, {Do: doEnd}, {Do: doScore, Sentences: []string{"yes"}}, {Do: doListen, Grammar: "#JSGF"}} {
		if err := writeFrame(&good, r, []int16{1, 2, 3}); err != nil {
			f.Fatal(err)
		}
	}
	f.Add(good.Bytes())
	f.Add(good.Bytes()[:good.Len()/2])
	f.Add([]byte(framed(2, 0, "{}")))
	f.Add([]byte(framed(mostHead, mostBody, "{}")))
	f.Add([]byte(framed(21, 0, `{"live":{"voice":"x"}}`)))
	f.Fuzz(func(t *testing.T, b []byte) {
		server := bytes.NewReader(b)
		for {
			var r reply
			if _, err := readFrame(server, &r); err != nil {
				break
			}
			_ = r.Fault.err()
			_ = r.check()
		}
		var out bytes.Buffer
		front, err := newFront()
		if err != nil {
			t.Fatal(err)
		}
		requests, done := make(chan asked), make(chan error, 1)
		go func() { done <- serve(t.Context(), &hearing{front: front}, requests, &out) }()
		_ = read(t.Context(), bytes.NewReader(b), requests)
		close(requests)
		if failed := <-done; failed != nil {
			t.Errorf("the worker fails: %v", failed)
		}
		for {
			var r reply
			if _, err := readFrame(&out, &r); err != nil {
				if !errors.Is(err, io.EOF) {
					t.Errorf("the worker's answer: %v", err)
				}
				break
			}
		}
	})
}
