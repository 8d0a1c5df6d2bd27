package grammar_test

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"

	"pgregory.net/rapid"

	"readback/capture/hear"
	"readback/capture/hear/grammar"
	"readback/parse"
	"readback/rules"
	"readback/rules/spec"
	"readback/testdata"
)

// dictionary is read once for all tests.
var dictionary = sync.OnceValues(func() (*grammar.Dictionary, error) { return grammar.Load(grammar.Path) })

// words returns the dictionary of the recogniser. Without one a test skips, in CI it fails.
func words(t testing.TB) *grammar.Dictionary {
	t.Helper()
	d, err := dictionary()
	if err != nil {
		missing(t, err)
	}
	return d
}

func missing(t testing.TB, why any) {
	t.Helper()
	if os.Getenv("CI") == "true" {
		t.Fatal(why)
	}
	t.Skip(why)
}

// A register holds whatever counts as an instrument: each can be heard, in every job.
func TestInstrumentsAreHeard(t *testing.T) {
	var register strings.Builder
	register.WriteString("shop: Millrace Pump Works\ninstruments:\n")
	tools := strings.SplitSeq("wrench|torque wrench|gauge|depth gauge|gage|depth gage|micrometer|depth micrometer|mic|depth mic|indicator|dial indicator|dial gauge|clock gauge|"+
		"tester|insulation tester|meter|multimeter|caliper|calliper|calipers|vernier|feeler gauge|ohmmeter|torque tester|thermometer", "|")
	for tool := range tools {
		fmt.Fprintf(&register, "  - say: [%s one]\n    measures: mm\n    range: 0..5\n    accuracy: 0.004\n    step: 0.001\n", tool)
	}
	demo, err := testdata.Files.ReadFile("shop/register.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for file, src := range map[string][]byte{"register.yaml": demo, "all.yaml": []byte(register.String())} {
		shop, err := spec.LoadShop(file, src)
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range []string{"mr5", "bevel-head"} {
			if _, err := grammar.Of(job(t, name, nil), shop, words(t)); err != nil {
				t.Errorf("%s with %s: %v", name, file, err)
			}
		}
	}
}

func job(t testing.TB, name string, set map[string]string) *rules.Job {
	t.Helper()
	src, err := testdata.Files.ReadFile("specs/" + name + ".yaml")
	if err != nil {
		t.Fatal(err)
	}
	s, err := spec.Load(name, src)
	if err != nil {
		t.Fatal(err)
	}
	j, err := rules.NewJob(s, set)
	if err != nil {
		t.Fatal(err)
	}
	return j
}

// jobs are those that the tests listen to.
var jobs = []struct {
	name, spec string
	set        map[string]string
}{
	{"a new pump of 18 stages", "mr5", map[string]string{"base": "long", "stages": "18", "cut_impellers": "2"}},
	{"a rebuilt pump of 18 stages", "mr5", map[string]string{"base": "long", "stages": "18", "cut_impellers": "2", "rebuild": "yes"}},
	{"a rebuilt gear head", "bevel-head", map[string]string{"rebuild": "yes"}},
}

func listen(t testing.TB, j *rules.Job, next ...string) hear.Words {
	t.Helper()
	w, err := grammar.Of(j, nil, words(t), next...)
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// notes reads a notes file: its options, and the notes as they are heard.
func notes(t testing.TB, src []byte) (set map[string]string, said []string) {
	t.Helper()
	set = map[string]string{}
	in := bufio.NewScanner(bytes.NewReader(src))
	for in.Scan() {
		if options, ok := strings.CutPrefix(in.Text(), "# options "); ok {
			for o := range strings.FieldsSeq(options) {
				k, v, _ := strings.Cut(o, "=")
				set[k] = v
			}
		}
		if note, ok := strings.CutPrefix(in.Text(), "> "); ok {
			said = append(said, note)
		}
	}
	return set, said
}

// sameSound holds what is heard as other words that sound the same.
var sameSound = strings.NewReplacer("run out", "runout", "naught", "nought", "thermometer", "thermometer", "micrometer", "micrometer", "multimeter", "multimeter", "meter", "metre", "liter", "litre", "retorqued", "re torqued")

func TestNotesThatAreSpokenAreHeld(t *testing.T) {
	src, err := os.ReadFile(filepath.Join("testdata", "utterances.txt"))
	if err != nil {
		t.Fatal(err)
	}
	set, said := notes(t, src)
	n := readJSGF(t, listen(t, job(t, "mr5", set)).Grammar).net()
	if len(said) < 120 {
		t.Fatalf("only %d notes", len(said))
	}
	for _, note := range said {
		if ok, upTo := n.accepts(sameSound.Replace(note)); !ok {
			t.Errorf("the grammar does not hold %q, from its word %d on", note, upTo+1)
		}
	}
}

func TestTalkIsNotHeld(t *testing.T) {
	src, err := os.ReadFile(filepath.Join("testdata", "offtopic.txt"))
	if err != nil {
		t.Fatal(err)
	}
	set, said := notes(t, src)
	n := readJSGF(t, listen(t, job(t, "mr5", set)).Grammar).net()
	for _, note := range said {
		if ok, _ := n.accepts(note); ok {
			t.Errorf("the grammar holds %q", note)
		}
	}
	if ok, _ := n.accepts(""); ok {
		t.Error("the grammar holds silence")
	}
}

func TestWhatMustBeSayable(t *testing.T) {
	tests := []struct{ what, spec, note string }{
		{"a stage that there is none of", "mr5", "collar nut stage twenty two forty eight newton metres"},
		{"a rod that there is none of", "mr5", "tie rod five pass one eight newton metres"},
		{"a hedge", "mr5", "collar nut stage six about forty eight newton metres"},
		{"a denial", "mr5", "tie rod two not torqued yet"},
		{"a correction", "mr5", "correction forty seven point five"},
		{"a correction in the note", "mr5", "collar nut stage one forty seven newton metres no forty eight"},
		{"a correction by place", "mr5", "stage three should be forty seven"},
		{"the value first", "mr5", "forty eight newton metres on the stage six collar nut"},
		{"two readings", "mr5", "end play down eighty three point one up eighty one point four"},
		{"readings of four rods", "mr5", "pass one rod one eight rod three eight point one rod two eight rod four seven point nine newton metres"},
		{"readings of three phases", "mr5", "winding resistance u v one point eight four v w one point eight six w u one point eight five ohms"},
		{"all rods", "mr5", "all four rods pass three twenty newton metres"},
		{"a range of places", "mr5", "tie rods one to four pass one all at eight newton metres"},
		{"same again", "mr5", "same again on stage four"},
		{"the next one", "mr5", "next one forty eight"},
		{"an answer: a unit", "mr5", "foot pounds"},
		{"an answer: a place", "mr5", "stage seven"},
		{"an answer: a number", "mr5", "forty eight point five"},
		{"an answer: a kind", "mr5", "full"},
		{"an answer: yes", "mr5", "that's right"},
		{"an answer to twins", "mr5", "three zero"},
		{"taken at a temperature", "mr5", "insulation five hundred megs at forty degrees"},
		{"taken at a voltage, alone", "mr5", "at five hundred volts"},
		{"an instrument alone", "mr5", "on wrench seven"},
		{"a photo", "mr5", "take a picture"},
		{"an instrument with a reading", "mr5", "collar nut stage one forty eight newton metres on torque wrench seven"},
		{"thousandths", "mr5", "shaft runout one and a half thou"},
		{"hundredths", "mr5", "runout two hundredths of a millimetre"},
		{"a negative temperature", "mr5", "winding temperature minus five degrees"},
		{"double digits", "mr5", "insulation double five megohms"},
		{"a large value", "mr5", "insulation two thousand megohms"},
		{"a flow", "mr5", "tank flow duty one three point two cubic metres an hour"},
		{"a head", "mr5", "tank head duty two one hundred and fifty metres"},
		{"a pressure", "mr5", "seal chamber start one point five bar"},
		{"a time", "mr5", "seal chamber held ten minutes"},
		{"a part at a place", "mr5", "cut impeller on stage eighteen"},
		{"a part denied", "mr5", "inlet is not free"},
		{"turned round", "mr5", "oiled the threads"},
		{"what is spelt", "mr5", "serial number m r dash four seven one"},
		{"a gauge down a list", "mr5", "gauge on collar nuts from stage one"},
		{"a gauge on one place", "mr5", "gauge on end play down"},
		{"a gauge on what is computed", "mr5", "gauge on end play"},
		{"a gauge by place", "mr5", "put the gauge on rod three pass two"},
		{"a gauge left", "mr5", "gauge off"},
		{"a gauge skipped", "mr5", "gauge next"},
		{"a symptom", "mr5", "thrust washer badly scored on the inlet side"},
		{"a symptom without its part", "mr5", "slightly worn"},
		{"no symptom", "mr5", "bearing not worn"},
		{"a question: next", "mr5", "what's next"},
		{"a question: why", "mr5", "why"},
		{"a question: where", "mr5", "where are we"},
		{"a question: a limit", "mr5", "what's the torque for the tie rod"},
		{"a question: an instrument", "mr5", "which wrench do i need for the collar nut"},
		{"a question: how many", "mr5", "how many collar nuts do i need"},
		{"a question: read back", "mr5", "read back collar nut stage six"},
		{"a command", "mr5", "stand by"},
		{"another command", "mr5", "resume"},
		{"an angle", "bevel-head", "screw three turned through sixty degrees"},
		{"a volume", "bevel-head", "oil filled one point eight litres"},
		{"a unit of the spec alone", "bevel-head", "rolling torque one hundred and fifty newton centimetres"},
	}
	nets := map[string]*net{}
	for _, x := range jobs[1:] {
		nets[x.spec] = readJSGF(t, listen(t, job(t, x.spec, x.set)).Grammar).net()
	}
	for _, tt := range tests {
		if ok, upTo := nets[tt.spec].accepts(tt.note); !ok {
			t.Errorf("%s: the grammar does not hold %q, from its word %d on", tt.what, tt.note, upTo+1)
		}
	}
}

// TestShareOfTypedNotesThatIsHeld prints how many of the notes that people typed could be spoken.
func TestShareOfTypedNotesThatIsHeld(t *testing.T) {
	files, err := testdata.Files.ReadDir("notes")
	if err != nil {
		t.Fatal(err)
	}
	all, held := 0, 0
	for _, f := range files {
		if !strings.HasSuffix(f.Name(), ".txt") {
			continue
		}
		src, err := testdata.Files.ReadFile("notes/" + f.Name())
		if err != nil {
			t.Fatal(err)
		}
		name := "mr5"
		if strings.Contains(f.Name(), "bevel") {
			name = "bevel-head"
		}
		set, said := notes(t, src)
		if len(said) == 0 {
			continue
		}
		n := readJSGF(t, listen(t, job(t, name, set)).Grammar).net()
		k := 0
		for _, note := range said {
			if ok, _ := n.accepts(spoken(note)); ok {
				k++
			}
		}
		all, held = all+len(said), held+k
		t.Logf("%s: %d of %d", f.Name(), k, len(said))
	}
	t.Logf("%d of %d typed notes could be heard", held, all)
	if held*100 < 22*all {
		t.Errorf("%d of %d typed notes could be heard, want 22 %%", held, all)
	}
}

var signs = regexp.MustCompile(`[-,.?!;:"]+`)

// spoken is a typed note as it would be heard, as far as it is in words.
func spoken(note string) string {
	return sameSound.Replace(strings.Join(strings.Fields(signs.ReplaceAllString(strings.ToLower(note), " ")), " "))
}

func TestTheSameWordsGiveTheSameBytes(t *testing.T) {
	for _, x := range jobs {
		a, b := listen(t, job(t, x.spec, x.set)), listen(t, job(t, x.spec, x.set))
		if a.Grammar != b.Grammar || grammar.File(a.Sounds) != grammar.File(b.Sounds) {
			t.Errorf("%s gives two grammars", x.name)
		}
	}
}

func TestWhatComesNextIsNudgedAndNoMore(t *testing.T) {
	j := job(t, "mr5", jobs[0].set)
	plain := readJSGF(t, listen(t, j).Grammar)
	nudged := readJSGF(t, listen(t, j, "tie_rod_torque").Grammar)
	weight := func(g *jsgf, rule, ref string) (w float64) {
		for i, k := range g.rules[rule].choice {
			if len(k.row) == 1 && k.row[0].ref == ref {
				w = g.rules[rule].weights[i]
			}
		}
		return w
	}
	of := func(g *jsgf) float64 {
		return weight(g, "names_torque", "c_tie_rod_torque") / weight(g, "names_torque", "c_collar_nut_torque")
	}
	if a, b := of(plain), of(nudged); b < 10*a || b > 100*a {
		t.Errorf("what comes next weighs %v times as much as before: what else is said is forced onto it, or nothing comes of it", b/a)
	}
	for _, rule := range plain.names {
		if strings.HasPrefix(rule, "num_") || strings.HasPrefix(rule, "i_") || rule == "int" {
			if a, b := plain.rules[rule], nudged.rules[rule]; !slices.Equal(a.weights, b.weights) {
				t.Errorf("rule %s favours a number", rule)
			}
		}
	}
}

func TestEveryWordHasItsSound(t *testing.T) {
	for _, x := range jobs {
		w := listen(t, job(t, x.spec, x.set))
		readJSGF(t, w.Grammar).each(func(word string) {
			if w.Sounds[word] == "" {
				t.Errorf("%s: %q has no sound", x.name, word)
			}
			if word != strings.ToLower(word) || strings.Contains(word, "-") {
				t.Errorf("%s: %q cannot be a word of the grammar", x.name, word)
			}
		})
	}
}

func (g *jsgf) each(f func(word string)) {
	for _, name := range g.names {
		g.rules[name].each(func(e *expr) {
			if e.word != "" {
				f(e.word)
			}
		})
	}
}

func TestWordsWithoutASoundAreNamed(t *testing.T) {
	d := words(t)
	w := parse.Words{
		Names: []parse.Name{
			{Callout: "gap", Kind: parse.Reading, Unit: "mm", Say: []string{"trunnyon gap", "xyzzy"}},
			{Callout: "side", Kind: parse.Confirm, Say: []string{"left side blorked"}},
		},
		Axes: []parse.Axis{{ID: "stage", Say: []string{"stage", "stg"}, Values: []parse.AxisValue{{Value: "1"}}}, {ID: "phase", Say: []string{"phase"}, Values: []parse.AxisValue{{Value: "uv", Say: []string{"u v", "uv"}}}}},
	}
	_, err := grammar.Make(w, grammar.Options{}, d)
	e, ok := errors.AsType[*grammar.MissingError](err)
	if !ok || !errors.Is(err, hear.ErrGrammar) {
		t.Fatalf("Make: %v", err)
	}
	want := []grammar.Missing{
		{Word: "blorked", Form: "left side blorked", Of: "side", Callout: true},
		{Word: "trunnyon", Form: "trunnyon gap", Of: "gap", Callout: true},
		{Word: "xyzzy", Form: "xyzzy", Of: "gap", Callout: true},
	}
	if !slices.Equal(e.Words, want) {
		t.Errorf("missing are %+v, want %+v", e.Words, want)
	}
	with := d.With(map[string][]string{"trunnyon": {"T R AH N Y AH N"}, "xyzzy": {"Z IH Z IY"}, "blorked": {"B L AO R K T"}})
	made, err := grammar.Make(w, grammar.Options{}, with)
	if err != nil {
		t.Fatal(err)
	}
	if made.Sounds["trunnyon"] != "T R AH N Y AH N" || made.Sounds["uv"] != "" || made.Sounds["stg"] != "" {
		t.Errorf("sounds: %q", made.Sounds)
	}
}

func TestVariantsStandBehindTheirWord(t *testing.T) {
	got := grammar.File(map[string]string{"a(2)": "EY", "a": "AH", "a's": "EY Z", "a(10)": "AE", "ab": "AE B"})
	if want := "a AH\na(2) EY\na(10) AE\na's EY Z\nab AE B\n"; got != want {
		t.Errorf("File = %q, want %q", got, want)
	}
}

func TestDictionary(t *testing.T) {
	d := grammar.Parse("lead L EH D\nlead(2) L IY D\nleaden L EH D AH N\nthou DH AW\nx EH K S # letter\n")
	for word, want := range map[string][]string{"lead": {"L EH D", "L IY D"}, "leaden": {"L EH D AH N"}, "thou": {"TH AW", "DH AW"}, "x": {"EH K S"}, "lea": nil} {
		if got := d.Sounds(word); !slices.Equal(got, want) {
			t.Errorf("Sounds(%q) = %q, want %q", word, got, want)
		}
	}
	if _, err := grammar.Load(filepath.Join(t.TempDir(), "none")); !errors.Is(err, hear.ErrMissing) {
		t.Errorf("a missing file gives %v", err)
	}
}

// TestOddNamesMakeAGrammar gives every name letters that a spec's author may write.
func TestOddNamesMakeAGrammar(t *testing.T) {
	letter := rapid.SampledFrom([]rune("abmz09 -'\"’/.()[]<>|*;#=µΩé°ßK\t\n\\{}&"))
	name := rapid.Custom(func(t *rapid.T) string { return string(rapid.SliceOfN(letter, 1, 12).Draw(t, "name")) })
	rapid.Check(t, func(rt *rapid.T) {
		say := rapid.SliceOfN(name, 1, 4).Draw(rt, "say")
		kind := rapid.SampledFrom([]parse.Kind{parse.Reading, parse.Confirm, parse.Part, parse.Event, parse.Detail}).Draw(rt, "kind")
		w := parse.Words{
			Names: []parse.Name{{Callout: say[0], Kind: kind, Unit: "mm", Say: say, Short: say[:1], Axes: []string{"é"}, Choices: []parse.Choice{{Is: say[0], Say: say}}}},
			Axes:  []parse.Axis{{ID: "é", Say: say, Values: []parse.AxisValue{{Value: "1"}, {Value: say[0], Say: say}}}},
		}
		made, err := grammar.Make(w, grammar.Options{Kit: say}, everything())
		if e, ok := errors.AsType[*grammar.MissingError](err); ok {
			for _, m := range e.Words {
				if m.Word == "" {
					rt.Fatalf("nothing is missing: %+v", m)
				}
			}
			return
		}
		if err != nil {
			rt.Fatal(err)
		}
		readJSGF(t, made.Grammar).each(func(word string) {
			if made.Sounds[word] == "" {
				rt.Errorf("%q has no sound", word)
			}
		})
	})
}

// everything is a dictionary that knows the words of any grammar, and letters.
var everything = sync.OnceValue(func() *grammar.Dictionary {
	var text strings.Builder
	d := grammar.Parse("")
	for range 3 { // what is missing is told piece by piece
		_, err := grammar.Make(parse.Words{Names: []parse.Name{{Callout: "a", Kind: parse.Reading, Unit: "mm", Say: []string{"a"}}, {Callout: "b", Kind: parse.Detail, Say: []string{"number"}}}}, grammar.Options{}, d)
		if e, ok := errors.AsType[*grammar.MissingError](err); ok {
			for _, m := range e.Words {
				text.WriteString(m.Word + " AH " + strings.ToUpper(m.Word[:1]) + "\n")
			}
		}
		for w := range strings.FieldsSeq("a b m z ab ba zam mm zz twelve twenty ninety zero nine ten is on at the for or and not free to an a's") {
			text.WriteString(w + " AH " + strings.ToUpper(w) + "\n")
		}
		d = grammar.Parse(text.String())
	}
	return d
})

// TestTheRecogniserTakesTheGrammar sets the grammars in the recogniser's own program, with the
// dictionary of their words alone.
func TestTheRecogniserTakesTheGrammar(t *testing.T) {
	program, err := exec.LookPath("pocketsphinx_continuous")
	if err != nil {
		missing(t, err)
	}
	for _, x := range jobs {
		t.Run(x.name, func(t *testing.T) {
			w, dir := listen(t, job(t, x.spec, x.set)), t.TempDir()
			wav := append([]byte("RIFF\x24\x7d\x00\x00WAVEfmt \x10\x00\x00\x00\x01\x00\x01\x00\x80\x3e\x00\x00\x00\x7d\x00\x00\x02\x00\x10\x00data\x00\x7d\x00\x00"), make([]byte, 32000)...)
			for name, data := range map[string][]byte{"g.jsgf": []byte(w.Grammar), "g.dict": []byte(grammar.File(w.Sounds)), "s.wav": wav} {
				if err := os.WriteFile(filepath.Join(dir, name), data, 0o600); err != nil {
					t.Fatal(err)
				}
			}
			c := exec.CommandContext(t.Context(), program, "-hmm", filepath.Join(filepath.Dir(grammar.Path), "en-us"), "-dict", "g.dict", "-jsgf", "g.jsgf", "-infile", "s.wav")
			c.Dir = dir
			out, err := c.CombinedOutput()
			if err != nil {
				t.Fatalf("%v\n%s", err, tail(out))
			}
			for line := range strings.Lines(string(out)) {
				if strings.HasPrefix(line, "ERROR") && !strings.Contains(line, "Final result does not match") || strings.HasPrefix(line, "FATAL") {
					t.Error(line)
				}
				if strings.Contains(line, "HMM nodes") || strings.Contains(line, "null transitions added") {
					t.Log(strings.TrimSpace(line))
				}
			}
		})
	}
}

func tail(b []byte) []byte { return b[max(0, len(b)-1000):] }

func TestSizes(t *testing.T) {
	for _, x := range jobs {
		w := listen(t, job(t, x.spec, x.set))
		g := readJSGF(t, w.Grammar)
		n := g.net()
		seen := map[string]bool{}
		g.each(func(word string) { seen[word] = true })
		t.Logf("%s: %d rules, %d words, %d bytes; unfolded %d words in %d states", x.name, len(g.names), len(seen), len(w.Grammar), n.arcs, len(n.words))
		if n.arcs > 20_000 {
			t.Errorf("%s: the net has %d words: a rule is copied too often", x.name, n.arcs)
		}
	}
}

func BenchmarkOf(b *testing.B) {
	d := words(b)
	for _, x := range jobs {
		j := job(b, x.spec, x.set)
		b.Run(strings.ReplaceAll(x.name, " ", "-"), func(b *testing.B) {
			size := 0
			for b.Loop() {
				w, err := grammar.Of(j, nil, d)
				if err != nil {
					b.Fatal(err)
				}
				size = len(w.Grammar)
			}
			b.ReportMetric(float64(size), "bytes")
		})
	}
}

func BenchmarkLoad(b *testing.B) {
	words(b)
	for b.Loop() {
		if _, err := grammar.Load(grammar.Path); err != nil {
			b.Fatal(err)
		}
	}
}
