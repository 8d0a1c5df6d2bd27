package sphinx_test

import (
	"errors"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"

	"readback/capture/hear"
	"readback/capture/hear/speechtest"
	"readback/capture/hear/sphinx"
)

// writeDict writes the dictionary of all sentences.
func writeDict(t testing.TB) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "words.dict")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	if err := sphinx.WriteDict(f, speechtest.Words(t).Sounds); err != nil {
		t.Fatal(err)
	}
	return path
}

// newDecoder is a decoder of all sentences, or a loop of phones. Its dictionary is c's, or all
// sentences'.
func newDecoder(t testing.TB, c sphinx.Config) *sphinx.Decoder {
	t.Helper()
	sphinx.Quiet()
	if c.Dict == "" {
		c.Dict = writeDict(t)
	}
	d, err := sphinx.New(c)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = d.Close() })
	if c.Phones {
		return d
	}
	if err := d.SetGrammar(speechtest.Grammar(speechtest.Sentences...)); err != nil {
		t.Fatal(err)
	}
	return d
}

func TestSentencesAreHeard(t *testing.T) {
	speechtest.Need(t)
	dict := writeDict(t)
	var group sync.WaitGroup
	for _, voice := range speechtest.Voices {
		words, loop := newDecoder(t, sphinx.Config{Dict: dict}), newDecoder(t, sphinx.Config{Dict: dict, Phones: true})
		notes := make([][]int16, len(speechtest.Sentences))
		for i, sentence := range speechtest.Sentences {
			notes[i] = speechtest.Say(t, voice, sentence)
		}
		group.Go(func() {
			for i, sentence := range speechtest.Sentences {
				heard, err := words.Whole(notes[i])
				if err != nil || heard.Text() != sentence {
					t.Errorf("%s said %q, heard %q, %v", voice, sentence, heard.Text(), err)
				}
				free, err := loop.Whole(notes[i])
				if err != nil || free.Frames != heard.Frames || free.Acoustic <= heard.Acoustic {
					t.Errorf("%s said %q: the loop has %d over %d frames, the words %d over %d, %v", voice, sentence, free.Acoustic, free.Frames, heard.Acoustic, heard.Frames, err)
				}
			}
		})
	}
	group.Wait()
}

func TestWordsLieWhereTheyWereSaid(t *testing.T) {
	speechtest.Need(t)
	d := newDecoder(t, sphinx.Config{})
	pcm := speechtest.Say(t, "slt", "scratch that")
	early, err := d.Whole(pcm)
	if err != nil {
		t.Fatal(err)
	}
	const later = hear.Rate / 2
	late, err := d.Whole(append(speechtest.Hush(later), pcm...))
	if err != nil {
		t.Fatal(err)
	}
	if len(early.Words) != 2 || len(late.Words) != 2 {
		t.Fatalf("heard %v and %v", early.Words, late.Words)
	}
	for i, w := range early.Words {
		if w.From >= w.To || w.To > len(pcm) {
			t.Errorf("%q lies from %d to %d of %d samples", w.Text, w.From, w.To, len(pcm))
		}
		if off := late.Words[i].From - w.From - later; off < -2*hear.Frame || off > 2*hear.Frame {
			t.Errorf("%q, said %d samples later, lies at %d, not %d", w.Text, later, late.Words[i].From, w.From+later)
		}
	}
}

func TestSameSoundSameScores(t *testing.T) {
	speechtest.Need(t)
	d := newDecoder(t, sphinx.Config{})
	pcm := speechtest.Say(t, "rms", speechtest.Sentences[3])
	first, err := d.Whole(pcm)
	if err != nil {
		t.Fatal(err)
	}
	for _, between := range [][]int16{speechtest.Say(t, "slt", "yes"), noise(20000), speechtest.Hush(100)} {
		if _, err := d.Whole(between); err != nil {
			t.Fatal(err)
		}
		again, err := d.Whole(pcm)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(first, again); diff != "" {
			t.Errorf("the same sound was heard otherwise:\n%s", diff)
		}
	}
}

// stream feeds a note as it would come, 20 ms at a time, with its mean off, and tells what is shown
// meanwhile.
func stream(d *sphinx.Decoder, f *sphinx.Front, pcm []int16) (p sphinx.Path, shown map[string]bool, err error) {
	var rows [][]float32
	if err := f.Begin(); err != nil {
		return p, nil, err
	}
	for piece := range slices.Chunk(pcm, 333) {
		some, err := f.Add(piece)
		if err != nil {
			return p, nil, err
		}
		rows = append(rows, some...)
	}
	rows = append(rows, f.End()...)
	var sum [13]float32
	for _, r := range rows {
		for i, x := range r {
			sum[i] += x
		}
	}
	if err := d.Begin(); err != nil {
		return p, nil, err
	}
	shown = map[string]bool{}
	for some := range slices.Chunk(rows, 2) {
		for _, r := range some {
			for i := range r {
				r[i] -= sum[i] / float32(len(rows))
			}
		}
		if err := d.Feed(some); err != nil {
			return p, nil, err
		}
		shown[d.Partial()] = true
	}
	p, err = d.End()
	return p, shown, err
}

func newFront(t *testing.T, d *sphinx.Decoder) *sphinx.Front {
	t.Helper()
	f, err := d.NewFront()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(f.Close)
	return f
}

func TestStreamShowsWords(t *testing.T) {
	speechtest.Need(t)
	d := newDecoder(t, sphinx.Config{Stream: true})
	pcm := speechtest.Say(t, "slt", speechtest.Sentences[3])
	heard, shown, err := stream(d, newFront(t, d), pcm)
	if err != nil || heard.Text() != speechtest.Sentences[3] {
		t.Errorf("heard %q, %v", heard.Text(), err)
	}
	if !shown["build spacer"] || len(shown) < 4 {
		t.Errorf("in the middle of the note it showed %v", shown)
	}
	if after := d.Partial(); after != "" {
		t.Errorf("after the note it shows %q", after)
	}
	whole, err := newDecoder(t, sphinx.Config{}).Whole(pcm)
	if err != nil || whole.Frames != heard.Frames || whole.Text() != heard.Text() {
		t.Errorf("as a stream it heard %q in %d frames, as a whole %q in %d, %v", heard.Text(), heard.Frames, whole.Text(), whole.Frames, err)
	}
}

func TestOddSound(t *testing.T) {
	speechtest.Need(t)
	dict := writeDict(t)
	for _, phones := range []bool{false, true} {
		whole, streamed := newDecoder(t, sphinx.Config{Dict: dict, Phones: phones}), newDecoder(t, sphinx.Config{Dict: dict, Phones: phones, Stream: true})
		front := newFront(t, streamed)
		for name, pcm := range map[string][]int16{
			"none": nil, "one sample": {7}, "under a frame": speechtest.Hush(100), "a second of nothing": make([]int16, hear.Rate),
			"full scale": slices.Repeat([]int16{-32768, 32767}, hear.Rate), "noise": noise(13 * hear.Rate),
		} {
			if _, err := whole.Whole(pcm); err != nil {
				t.Errorf("%s: %v", name, err)
			}
			if _, _, err := stream(streamed, front, pcm); err != nil {
				t.Errorf("%s in pieces: %v", name, err)
			}
		}
	}
}

// noise is loud and means nothing, and is always the same.
func noise(n int) []int16 {
	random := rand.New(rand.NewPCG(1, 2))
	pcm := make([]int16, n)
	for i := range pcm {
		pcm[i] = int16(random.IntN(1 << 16))
	}
	return pcm
}

func TestOrderOfCalls(t *testing.T) {
	speechtest.Need(t)
	sphinx.Quiet()
	d, err := sphinx.New(sphinx.Config{Dict: writeDict(t), Stream: true})
	if err != nil {
		t.Fatal(err)
	}
	wants := func(err error, want string) {
		t.Helper()
		switch {
		case want == "" && err != nil:
			t.Errorf("refused: %v", err)
		case want != "" && (err == nil || !strings.Contains(err.Error(), want)):
			t.Errorf("error %v, want %q", err, want)
		}
	}
	ends := func() error { _, err := d.End(); return err }
	grammar := speechtest.Grammar("yes", "no")
	wants(d.Begin(), "set a grammar first")
	wants(d.SetGrammar(speechtest.Grammar("yes", "perhaps")), `"perhaps" has no pronunciation`)
	wants(d.Begin(), "set a grammar first")
	wants(d.SetGrammar(grammar), "")
	wants(d.Feed([][]float32{make([]float32, 13)}), "begin one first")
	wants(ends(), "begin one first")
	wants(d.Begin(), "")
	wants(d.Begin(), "end it first")
	wants(d.SetGrammar(grammar), "end it first")
	wants(ends(), "")
	wants(d.SetGrammar("nonsense"), "starts with")
	if heard, _, err := stream(d, newFront(t, d), speechtest.Say(t, "slt", "yes")); err != nil || heard.Text() != "yes" {
		t.Errorf("after a refused grammar it hears %q, %v", heard.Text(), err)
	}
	_, err = d.Whole([]int16{1})
	wants(err, "takes a stream")
	wants(newDecoder(t, sphinx.Config{}).Begin(), "whole notes only")
	wants(d.Close(), "")
	wants(d.Close(), "")
	wants(d.Begin(), "closed")
	wants(d.SetGrammar(grammar), "closed")
	wants(newDecoder(t, sphinx.Config{Phones: true}).SetGrammar(grammar), "takes no grammar")
}

func TestWhatIsMissingIsNamed(t *testing.T) {
	speechtest.Need(t)
	_, err := sphinx.New(sphinx.Config{Model: t.TempDir(), Dict: writeDict(t)})
	if !errors.Is(err, hear.ErrMissing) || !strings.Contains(err.Error(), "pocketsphinx-en-us") {
		t.Errorf("without a model: %v", err)
	}
	if err := sphinx.Installed(t.TempDir()); !errors.Is(err, hear.ErrMissing) {
		t.Errorf("without a model, Installed says %v", err)
	}
	for _, dict := range []string{"", t.TempDir(), filepath.Join(t.TempDir(), "none")} {
		if _, err := sphinx.New(sphinx.Config{Dict: dict}); err == nil || !strings.Contains(err.Error(), "dictionary") {
			t.Errorf("with %q as dictionary: %v", dict, err)
		}
	}
}
