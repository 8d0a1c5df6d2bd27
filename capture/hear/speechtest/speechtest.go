// Package speechtest has what tests of hearing need: speech made by Debian's flite, the
// pronunciations of its words, and a grammar that is small enough to see through.
package speechtest

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"readback/capture/hear"
	"readback/capture/hear/sphinx"
)

// Voices are those of flite that have 16,000 samples a second.
var Voices = []string{"slt", "rms", "awb", "kal16"}

// Sentences are all that [Words] holds.
var Sentences = []string{
	"collar nut stage one forty eight newton metres",
	"collar nut stage thirteen fifty newton metres",
	"collar nut stage thirty fifty newton metres",
	"build spacer eighty eight point five millimetres",
	"end play up nought point eight five millimetres",
	"shaft runout two hundredths",
	"tie rod four twenty foot pounds",
	"insulation five hundred megs",
	"thrust washer scored",
	"read that back",
	"scratch that",
	"what is left",
	"yes",
	"no",
}

// ours are words that the dictionary lacks, or has as others say them.
var ours = map[string]string{
	"metres": "M IY T ER Z", "millimetres": "M IH L AH M IY T ER Z", "nought": "N AO T", "runout": "R AH N AW T",
	"hundredths": "HH AH N D R AH D TH S", "megs": "M EH G Z",
}

// Need skips the test where a recogniser or flite is not installed. With CI=true it fails.
func Need(t testing.TB) {
	t.Helper()
	err := sphinx.Installed("")
	if err == nil {
		_, err = exec.LookPath("flite")
	}
	switch {
	case err == nil:
	case os.Getenv("CI") == "true":
		t.Fatalf("speech cannot be tested: %v", err)
	default:
		t.Skipf("speech cannot be tested: %v", err)
	}
}

// Words is what holds [Sentences] and nothing else.
func Words(t testing.TB) hear.Words {
	t.Helper()
	return hear.Words{Grammar: Grammar(Sentences...), Sounds: Sounds(t, Sentences...)}
}

// Grammar is a grammar of whole sentences.
func Grammar(sentences ...string) string {
	return "#JSGF V1.0;\ngrammar note;\npublic <note> = " + strings.Join(sentences, "\n | ") + ";\n"
}

// Sounds takes the pronunciations of the sentences' words from the model's dictionary.
func Sounds(t testing.TB, sentences ...string) map[string]string {
	t.Helper()
	all := dictionary(t)
	out := map[string]string{}
	for word := range strings.FieldsSeq(strings.Join(sentences, " ")) {
		if sound := ours[word]; sound != "" {
			out[word] = sound
			continue
		}
		if all[word] == "" {
			t.Fatalf("the dictionary has no %q", word)
		}
		out[word] = all[word]
		for n := 2; all[fmt.Sprintf("%s(%d)", word, n)] != ""; n++ {
			variant := fmt.Sprintf("%s(%d)", word, n)
			out[variant] = all[variant]
		}
	}
	return out
}

var readDictionary = sync.OnceValues(func() (map[string]string, error) {
	f, err := os.Open(filepath.Join(sphinx.Model, "cmudict-en-us.dict"))
	if err != nil {
		return nil, err
	}
	defer func() { _ = f.Close() }()
	out := map[string]string{}
	lines := bufio.NewScanner(f)
	for lines.Scan() {
		word, sound, _ := strings.Cut(lines.Text(), " ")
		out[word] = sound
	}
	return out, lines.Err()
})

func dictionary(t testing.TB) map[string]string {
	t.Helper()
	d, err := readDictionary()
	if err != nil {
		t.Fatal(err)
	}
	return d
}

var spoken sync.Map // voice and text to sound

// Say returns a text as a voice of flite says it, with 0.3 s of near silence before and 0.6 s
// after. The same words give the same sound.
func Say(t testing.TB, voice, text string) []int16 {
	t.Helper()
	key := voice + " " + text
	if pcm, ok := spoken.Load(key); ok {
		return pcm.([]int16) //nolint:errcheck,forcetypeassert // only this function stores
	}
	file := filepath.Join(t.TempDir(), "said.wav")
	//nolint:gosec // the voice and the text are the test's
	if out, err := exec.CommandContext(t.Context(), "flite", "-voice", voice, "-t", text, "-o", file).CombinedOutput(); err != nil {
		t.Fatalf("flite: %v: %s", err, out)
	}
	wav, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	at := bytes.Index(wav, []byte("data"))
	if at < 0 || binary.LittleEndian.Uint32(wav[24:]) != hear.Rate {
		t.Fatalf("flite's %s does not speak at %d samples a second", voice, hear.Rate)
	}
	data := wav[at+8:]
	pcm := Hush(hear.Rate * 3 / 10)
	for i := 0; i+1 < len(data); i += 2 {
		pcm = append(pcm, int16(binary.LittleEndian.Uint16(data[i:])))
	}
	pcm = append(pcm, Hush(hear.Rate*6/10)...)
	spoken.Store(key, pcm)
	return pcm
}

// Hush is a room in which nobody speaks: a hiss of a few steps, always the same.
func Hush(n int) []int16 {
	pcm := make([]int16, n)
	seed := uint32(1)
	for i := range pcm {
		seed = seed*1664525 + 1013904223
		pcm[i] = int16(seed>>29) - 4
	}
	return pcm
}
