package trial_test

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/ebitengine/purego"

	"readback/capture/hear"
	"readback/capture/hear/judge"
	"readback/capture/hear/speechtest"
	"readback/capture/hear/trial"
	"readback/capture/hear/wav"
)

// Recordings of people. They are read where Debian's packages put them, and are no part of this
// repository.
const (
	// Numbers and letters read by a woman: asterisk-core-sounds-en-g722, CC-BY-SA-3.0.
	prompts = "/usr/share/asterisk/sounds/en_US*/digits"
	// A few notes of several people: pocketsphinx-testdata, BSD-2-Clause.
	samples = "/usr/share/pocketsphinx/test/data"
)

// needRecorded skips where the recordings, or what decodes them, are not installed. With CI=true it
// fails.
func needRecorded(t *testing.T) *wideband {
	t.Helper()
	need(t)
	w, err := newWideband()
	_, missing := os.Stat(samples + "/cards")
	err = errors.Join(err, missing)
	switch found, _ := filepath.Glob(prompts + "/0.g722"); { // the pattern is good
	case len(found) == 0:
		err = errors.Join(err, fmt.Errorf("there is no %s/0.g722", prompts))
	case err == nil:
		w.folder = filepath.Dir(found[0])
	}
	switch {
	case err == nil:
	case os.Getenv("CI") == "true":
		t.Fatalf("no recordings of people: %v: install Debian's packages asterisk-core-sounds-en-g722, libspandsp2 and pocketsphinx-testdata", err)
	default:
		t.Skipf("no recordings of people: %v", err)
	}
	return w
}

// wideband decodes G.722, which is sound at [hear.Rate], with Debian's libspandsp2.
type wideband struct {
	folder string // of the prompts

	begin  func(state uintptr, rate, options int32) uintptr
	decode func(state uintptr, pcm *int16, data *byte, n int32) int32
	free   func(state uintptr) int32
}

func newWideband() (*wideband, error) {
	lib, err := purego.Dlopen("libspandsp.so.2", purego.RTLD_NOW)
	if err != nil {
		return nil, fmt.Errorf("open the decoder of the recordings: %w", err)
	}
	var w wideband
	purego.RegisterLibFunc(&w.begin, lib, "g722_decode_init")
	purego.RegisterLibFunc(&w.decode, lib, "g722_decode")
	purego.RegisterLibFunc(&w.free, lib, "g722_decode_free")
	return &w, nil
}

// read returns the samples of a prompt.
func (w *wideband) read(t *testing.T, name string) []int16 {
	t.Helper()
	data := readFile(t, filepath.Join(w.folder, name+".g722"))
	state := w.begin(0, 64_000, 0)
	if state == 0 {
		t.Fatal("the decoder of the recordings did not start")
	}
	defer w.free(state)
	pcm := make([]int16, 2*len(data)) // a byte is two samples
	return pcm[:w.decode(state, &pcm[0], &data[0], int32(min(len(data), 1e6)))]
}

func readFile(t *testing.T, path string) []byte {
	t.Helper()
	data, err := os.ReadFile(filepath.Clean(path))
	if err == nil && len(data) == 0 {
		err = fmt.Errorf("%s is empty", path)
	}
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// sample returns the samples of a file of pocketsphinx-testdata.
func sample(t *testing.T, name string) []int16 {
	t.Helper()
	data := readFile(t, filepath.Join(samples, name))
	if strings.HasSuffix(name, ".wav") {
		pcm, err := wav.Read(strings.NewReader(string(data)))
		if err != nil {
			t.Fatal(err)
		}
		return pcm
	}
	pcm := make([]int16, len(data)/2)
	if _, err := binary.Decode(data, binary.LittleEndian, pcm); err != nil {
		t.Fatal(err)
	}
	return pcm
}

// together are words that were said one by one, without the silence around each, as one note.
func together(words ...[]int16) []int16 {
	parts := [][]int16{make([]int16, hear.Rate*3/10)}
	for _, w := range words {
		peak := 0.0
		for _, x := range w {
			peak = max(peak, math.Abs(float64(x)))
		}
		loud := func(x int16) bool { return math.Abs(float64(x)) >= peak/50 }
		from, to := slices.IndexFunc(w, loud), len(w)
		for to > from && !loud(w[to-1]) {
			to--
		}
		parts = append(parts, w[max(from-hear.Rate/50, 0):min(to+hear.Rate/50, len(w))])
	}
	return slices.Concat(append(parts, make([]int16, hear.Rate*8/10))...)
}

var (
	digitWords = strings.Fields("one two three four five six seven eight nine")
	teenWords  = strings.Fields("ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen")
	tensWords  = strings.Fields("twenty thirty forty fifty sixty seventy eighty ninety")
)

// figures are the whole numbers to ninety nine: those of one word as say gives them, and the others
// put together of two.
func figures(say func(word string, n int) []int16) (single, double []spoken) {
	said := map[string][]int16{}
	add := func(n, step int, words ...string) {
		for _, w := range words {
			said[w] = say(w, n)
			single = append(single, spoken{w, together(said[w])})
			n += step
		}
	}
	add(0, 1, "zero")
	add(1, 1, digitWords...)
	add(10, 1, teenWords...)
	add(20, 10, tensWords...)
	for _, tens := range tensWords {
		for _, d := range digitWords {
			double = append(double, spoken{tens + " " + d, together(said[tens], said[d])})
		}
	}
	return single, double
}

// listenFor is what one rule holds, with others that it names. How each number sounds comes with it,
// since what was heard is tried against other numbers.
func listenFor(t *testing.T, rule string, named ...string) hear.Words {
	t.Helper()
	g := "#JSGF V1.0;\ngrammar note;\n" + strings.Join(named, "\n") + "\npublic <note> = " + rule + ";\n"
	words := strings.FieldsFunc(rule+" "+strings.Join(named, " "), func(r rune) bool { return (r < 'a' || r > 'z') && r != '<' && r != '>' })
	words = slices.DeleteFunc(words, func(w string) bool { return strings.HasPrefix(w, "<") })
	return hear.Words{Grammar: g, Sounds: speechtest.Sounds(t, slices.Concat(words, digitWords, teenWords, tensWords, []string{"zero", "oh", "hundred", "point"})...)}
}

// row is notes of one kind, and what they are heard by.
type row struct {
	name  string
	rig   rig
	notes []spoken
	least int  // so many are exact in silence, or hearing is broken
	made  bool // by flite, to compare with
}

// people are the notes of pocketsphinx-testdata, each by the words that it belongs to.
func people(t *testing.T, job *rig) []row {
	t.Helper()
	heardBy := func(w hear.Words) rig {
		r := *job
		r.words = w
		return r
	}
	cards := listenFor(t, "<card> [<card> [<card>]] | <rank> <card> | <rank> <rank>", "<card> = <rank> [of] (clubs | hearts | diamonds | spades);",
		"<rank> = ace | two | three | four | five | six | seven | eight | nine | ten | jack | queen | king;")
	digit := "(" + strings.Join(digitWords, " | ") + " | zero | oh)"
	strung := listenFor(t, digit+strings.Repeat(" ["+digit, 6)+strings.Repeat("]", 6))
	way := listenFor(t, "go (forward | backward) (<d> | ten) [meter | meters]", "<d> = "+strings.Join(digitWords, " | ")+";")
	return []row{
		{"people, cards", heardBy(cards), []spoken{
			{"ten of clubs", sample(t, "cards/001.wav")},
			{"four queen of clubs", sample(t, "cards/002.wav")},
			{"seven of clubs", sample(t, "cards/003.wav")},
			{"five five", sample(t, "cards/004.wav")},
			{"eight of spades four of clubs seven of hearts", sample(t, "cards/005.wav")},
		}, 3, false},
		{"people, digits in a row", heardBy(strung), []spoken{{"two nine three four zero", sample(t, "tidigits/dhd.2934z.raw")}}, 1, false},
		{"people, a command", heardBy(way), []spoken{{"go forward ten meters", sample(t, "goforward.raw")}}, 1, false},
	}
}

// TestRecorded hears recordings of people: notes of pocketsphinx-testdata, and numbers of one word,
// in silence, of which none may be taken for another. With -notes it says up to so many numbers a row,
// in noise too, by the person and by the voices that everything else is tried with, and prints what
// came of them. In a job a number alone means nothing until it is asked for: there, look at what was
// exact.
func TestRecorded(t *testing.T) {
	w := needRecorded(t)
	engine := patient(t)
	job := newRig(t, engine, "mr5", map[string]string{"base": "long", "stages": "8", "cut_impellers": "2", "rebuild": "yes"})
	alone := *job
	alone.words = listenFor(t, "zero | <d> | <teen> | <tens> [<d>]", "<d> = "+strings.Join(digitWords, " | ")+";",
		"<teen> = "+strings.Join(teenWords, " | ")+";", "<tens> = "+strings.Join(tensWords, " | ")+";")
	one, two := figures(func(_ string, n int) []int16 { return w.read(t, strconv.Itoa(n)) })
	rows := append(people(t, job), row{"person, one word", alone, one, 24, false})
	if *perCondition > 0 {
		dir, next := t.TempDir(), 0
		oneMade, twoMade := figures(func(word string, _ int) []int16 {
			next++
			pcm, err := trial.Speak(t.Context(), dir, word, trial.Voices[next%len(trial.Voices)])
			if err != nil {
				t.Fatal(err)
			}
			return pcm
		})
		rows = append(rows,
			row{"flite, one word", alone, oneMade, 0, true},
			row{"person, two words", alone, two, 0, false}, row{"flite, two words", alone, twoMade, 0, true},
			row{"person, one word, in a job", *job, one, 0, false}, row{"flite, one word, in a job", *job, oneMade, 0, true},
			row{"person, two words, in a job", *job, two, 0, false}, row{"flite, two words, in a job", *job, twoMade, 0, true})
	}
	t.Logf("%-28s %-18s %6s %8s %8s %8s %8s %8s %8s", "voice", "condition", "notes", "exact", "taken", "asked", "again", "silent", "misread")
	for _, c := range conditions[:3] {
		if *perCondition == 0 && c.name != "clean" || *only != "" && !slices.Contains(strings.Split(*only, ","), c.name) {
			continue
		}
		for i := range rows {
			rows[i].try(t, c)
		}
	}
}

// try hears the notes in a condition.
func (x *row) try(t *testing.T, c condition) {
	t.Helper()
	notes := x.notes
	if n := *perCondition; n > 0 && n < len(notes) {
		notes = nil
		for i := range n {
			notes = append(notes, x.notes[i*len(x.notes)/n])
		}
	}
	var got tally
	for _, o := range x.rig.all(c.name, notes, false, func(pcm []int16, k int) ([]int16, string) { return c.noisy(pcm, nil, k) }) {
		if o.Verdict == judge.Taken && !o.Exact { // a number alone records nothing: the words must be right
			o.Wrong = fmt.Sprintf("said %q, took %q", o.Said, o.Heard)
		}
		got.add(o)
		if !o.Exact && *misheard {
			t.Logf("    %s: said %q, heard %q, plain %q, gate %.1f, margin %.0f: %s", o.Noise, o.Said, o.Heard, o.Plain, o.Gate, o.Margin, o.Verdict)
		}
	}
	t.Logf("%-28s %s", x.name, got.row(c.name))
	for _, wrong := range got.wrong {
		if x.made { // a synthetic word that was cut out of its sentence may be another's
			t.Logf("%s, %s: %s", x.name, c.name, wrong)
			continue
		}
		t.Errorf("%s, %s: %s", x.name, c.name, wrong)
	}
	if c.name == "clean" && got.exact < x.least && len(notes) == len(x.notes) {
		t.Errorf("%s: %d of %d notes were heard exactly, of which %d have to be", x.name, got.exact, got.notes, x.least)
	}
}
