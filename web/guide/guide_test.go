package guide_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"html"
	"io/fs"
	"maps"
	"math"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
	"github.com/rs/zerolog"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"readback/capture/bench"
	"readback/capture/journal/memory"
	"readback/capture/query/querytest"
	"readback/parse"
	"readback/rules"
	"readback/rules/spec"
	"readback/testdata/golden"
	"readback/web/counts"
	"readback/web/guide"
	"readback/web/trend"
	"readback/web/ui"
)

// handler serves the guide and the assets that its pages use.
func handler(t *testing.T) http.Handler {
	t.Helper()
	g, err := guide.Handler()
	if err != nil {
		t.Fatal(err)
	}
	pages, err := ui.Handler(nil)
	if err != nil {
		t.Fatal(err)
	}
	questions := querytest.New(t, memory.New())
	charts, err := trend.Handler(questions, zerolog.Nop())
	if err != nil {
		t.Fatal(err)
	}
	common, err := counts.Handler(questions, func() []string { return nil }, zerolog.Nop())
	if err != nil {
		t.Fatal(err)
	}
	mux := http.NewServeMux()
	mux.Handle("GET /drift", charts)
	mux.Handle("GET /counts", common)
	mux.Handle("GET /guide", g)
	mux.Handle("GET /guide/", g)
	mux.Handle("/", pages)
	return mux
}

func get(t *testing.T, h http.Handler, path string) *httptest.ResponseRecorder {
	t.Helper()
	w := httptest.NewRecorder()
	h.ServeHTTP(w, httptest.NewRequestWithContext(t.Context(), http.MethodGet, path, http.NoBody))
	return w
}

// TestExamplesAreCleanSpecs lints every spec of the guide, and holds it to the schema that
// the guide recommends.
func TestExamplesAreCleanSpecs(t *testing.T) {
	names, err := filepath.Glob("examples/*.yaml")
	if err != nil || len(names) < 10 {
		t.Fatalf("%d examples, %v", len(names), err)
	}
	schema := compiled(t)
	for _, name := range names {
		src, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if strings.HasSuffix(name, ".shop.yaml") {
			if _, err := spec.LoadShop(filepath.Base(name), src); err != nil {
				t.Error(err)
			}
			continue
		}
		if faults := spec.Lint(filepath.Base(name), src); faults != nil {
			t.Error(faults)
		}
		if err := schema.Validate(jsonOf(t, src)); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func compiled(t *testing.T) *jsonschema.Schema {
	t.Helper()
	text, err := spec.Schema()
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("spec.json", doc); err != nil {
		t.Fatal(err)
	}
	return c.MustCompile("spec.json")
}

// jsonOf reads YAML as an editor does.
func jsonOf(t *testing.T, src []byte) any {
	t.Helper()
	text, err := yaml.YAMLToJSON(src)
	if err != nil {
		t.Fatal(err)
	}
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// opening is how a line of notes begins that is said when the job is opened.
const opening = "# open "

// play replays an example and returns what each note raised.
func play(t *testing.T, name string) (answers []rules.Answer, notes []string, open []rules.Finding) {
	t.Helper()
	s, err := spec.Load(name+".yaml", read(t, name+".yaml"))
	if err != nil {
		t.Fatal(err)
	}
	text := string(read(t, name+".txt"))
	options := map[string]string{}
	for note := range strings.Lines(text) {
		if said, ok := strings.CutPrefix(strings.TrimSpace(note), opening); ok {
			maps.Copy(options, s.ReadOptions(said).Options)
		}
	}
	job, err := rules.NewJob(s, options)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat("examples/" + name + ".shop.yaml"); err == nil {
		shop, err := spec.LoadShop(name, read(t, name+".shop.yaml"))
		if err != nil {
			t.Fatal(err)
		}
		job.Equip(shop)
		job.Today("2027-02-10")
	}
	b := bench.New(job, parse.NewVocabulary(job.Words()))
	for note := range strings.Lines(text) {
		if note = strings.TrimSpace(note); note != "" && note[0] != '#' {
			_, a := b.Say(note)
			answers, notes = append(answers, a), append(notes, note)
		}
	}
	return answers, notes, job.Open()
}

func read(t *testing.T, example string) []byte {
	t.Helper()
	src, err := os.ReadFile("examples/" + example)
	if err != nil {
		t.Fatal(err)
	}
	return src
}

// speaks is what a page promises of its notes.
type speaks struct {
	rule     string // the rule that raises something; "" for none
	severity rules.Severity
	says     []string // what must be answered, or be given as a caution
}

var ruleSpeaks = map[string]speaks{
	"limit": {rules.RuleLimit, rules.Warn, nil}, "derived": {rules.RuleDerived, rules.Warn, nil}, "part_choice": {rules.RulePartChoice, rules.Stop, nil},
	"stack_order": {rules.RuleStackOrder, rules.Stop, nil}, "step_order": {rules.RuleStepOrder, rules.Warn, nil}, "hold_point": {rules.RuleHoldPoint, rules.Stop, nil},
	"pass_order": {rules.RulePassOrder, rules.Warn, nil}, "spread": {rules.RuleSpread, rules.Warn, nil}, "void": {rules.RuleVoid, rules.Warn, nil},
	"missing": {rules.RuleMissing, rules.Warn, nil}, "wear": {rules.RuleLimit, rules.Warn, nil}, "curve": {rules.RuleDerived, rules.Warn, nil},
}

var moreSpeaks = map[string]speaks{
	"options":  {rules.RuleAsk, rules.Note, []string{"This job has four stages.", "eighty-eight point five", "stage four cut", "no stage five"}},
	"confirm":  {rules.RuleMissing, rules.Warn, []string{"Inlet free: not done.", "Cover on: no longer.", "Nothing is left to do."}},
	"detail":   {rules.RuleAsk, rules.Note, []string{"Serial number, 4471. Liquid pumped, silty river water.", "Serial number is 4471 already", "Serial number, 4472.", "Complaint: say it in one note with its name.", "something else was said in the same breath", "Nothing is left to do."}},
	"taken_at": {rules.RuleLimit, rules.Warn, []string{"taken at 250 V, out: 450 to 550 V", "its time was not said", "taken at 0.5 min, out: at least 1 min"}},
	"kit":      {"", "", []string{"one long build spacer, three full impellers, one cut impeller and four collar nuts", "Stage two impeller, full.", "Nothing is left to do."}},
	"cautions": {rules.RuleLimit, rules.Warn, []string{"local electrical codes and licensed practice"}},
	"ask": {rules.RuleAsk, rules.Note, []string{
		"hardly possible", "what is it for", "What does it read exactly?", "which stage?", "newton metres or foot pounds?", "or forty-eight", "measured here, now?",
	}},
	"instrument": {rules.RuleInstrument, rules.Warn, []string{"was calibrated until", "too coarse", "not in the shop's register", "is outside"}},
	"decision":   {rules.RuleLimit, rules.Warn, []string{"Close: inside with seventy-seven per cent likelihood"}},
	"pronounce":  {"", "", []string{"Trunnion gap", "Spigot seated", "Nothing is left to do."}},
	"corrected":  {rules.RuleLimit, rules.Warn, []string{"What is the temperature?", "at least 100 MΩ at 40 °C, read at 20 °C"}},
}

// TestEachRuleSpeaksAndIsClosed replays the notes of every kind: the rule raises what its
// page says, and the last note closes it.
func TestEachRuleSpeaksAndIsClosed(t *testing.T) {
	for _, kind := range append([]string{"limit", "derived"}, spec.Kinds()...) {
		want, ok := ruleSpeaks[kind]
		if !ok {
			t.Errorf("the guide has no page of the kind %s: add one in topics.go, with an example", kind)
			continue
		}
		t.Run(kind, func(t *testing.T) { pageSpeaks(t, "/guide/rules/", kind, want) })
	}
}

// TestAllElseSpeaksAndIsClosed does the same for what a spec holds beside its rules.
func TestAllElseSpeaksAndIsClosed(t *testing.T) {
	led := 0
	for _, page := range everyPage(t, handler(t)) {
		name, ok := strings.CutPrefix(page, "/guide/spec/")
		if !ok {
			continue
		}
		led++
		t.Run(name, func(t *testing.T) {
			want, ok := moreSpeaks[name]
			if !ok {
				t.Fatal("nothing says what its notes must raise or answer: add it in moreSpeaks")
			}
			pageSpeaks(t, "/guide/spec/", name, want)
		})
	}
	if led != len(moreSpeaks) {
		t.Errorf("the front leads to %d pages, want %d", led, len(moreSpeaks))
	}
}

// pageSpeaks fails unless the notes of an example raise and answer what is wanted, its page
// shows it, and nothing is open at the end.
func pageSpeaks(t *testing.T, path, name string, want speaks) {
	t.Helper()
	answers, _, open := play(t, name)
	raised := slices.ContainsFunc(answers, func(a rules.Answer) bool {
		return slices.ContainsFunc(a.Findings, func(f rules.Finding) bool { return f.Rule == want.rule && f.Severity == want.severity })
	})
	if want.rule != "" && !raised {
		t.Errorf("its notes raise no %s of the rule %s", want.severity, want.rule)
	}
	if len(open) > 0 {
		t.Errorf("at the end this is open: %v", open)
	}
	page := get(t, handler(t), path+name)
	body := html.UnescapeString(page.Body.String())
	if page.Code != http.StatusOK || want.rule != "" && !strings.Contains(body, "<b>"+string(want.severity)+"</b> <code>"+want.rule+"</code>") {
		t.Errorf("its page (status %d) does not show what is raised", page.Code)
	}
	_, talk, _ := strings.Cut(body, `<ol class="talk">`)
	for _, text := range want.says {
		said := slices.ContainsFunc(answers, func(a rules.Answer) bool {
			return strings.Contains(a.Say, text) || strings.Contains(a.Caution, text) || slices.ContainsFunc(a.Findings, func(f rules.Finding) bool { return strings.Contains(f.Text, text) })
		})
		if !said || !strings.Contains(talk, text) {
			t.Errorf("%q: said %t, shown %t", text, said, strings.Contains(talk, text))
		}
	}
}

// TestOptionsAreAskedAtTheOpening: what is missing and what is not understood is asked, and
// the next time all is there.
func TestOptionsAreAskedAtTheOpening(t *testing.T) {
	_, talk, _ := strings.Cut(html.UnescapeString(get(t, handler(t), "/guide/spec/options").Body.String()), `<ol class="talk">`)
	for _, text := range []string{"At opening</span>rebuild, long base and seven", `What is "seven"?`, "Which stages: a whole number from 3 to 18?", "Base long, four stages, one cut impeller and rebuild."} {
		if !strings.Contains(talk, text) {
			t.Errorf("the page does not show %q", text)
		}
	}
}

// TestACautionIsGivenBeforeItsStep: the first at the opening, the other after the note that
// brings its step, and each once.
func TestACautionIsGivenBeforeItsStep(t *testing.T) {
	body := get(t, handler(t), "/guide/spec/cautions").Body.String()
	_, talk, _ := strings.Cut(body, `<ol class="talk">`)
	order := []string{"The job is opened", "Lift the cover", "cover fitted", "cable clear", "dangerous voltage", "insulation eighty"}
	at := -1
	for _, text := range order {
		i := strings.Index(talk, text)
		if i <= at || i != strings.LastIndex(talk, text) {
			t.Errorf("%q stands at %d, last at %d, after %d", text, i, strings.LastIndex(talk, text), at)
		}
		at = i
	}
}

// TestTheFiguresOfClose works out what the page tells of a reading of 49.5 N·m: accuracy
// and step as rectangular distributions, a/√3 and d/√12, combined by the root of the sum
// of their squares (JCGM 100, 4.3.7, F.2.2.1 and 5.1.2; the first and last clause numbers
// from memory), conformity by the normal distribution (JCGM 106, 7).
func TestTheFiguresOfClose(t *testing.T) {
	y, low, high := 49.5, 48-48*0.04, 48+48*0.04
	a := y * 0.02
	u := math.Sqrt(a*a/3 + 0.1*0.1/12)
	normal := func(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }
	p := normal((high-y)/u) - normal((low-y)/u)
	body := get(t, handler(t), "/guide/spec/decision").Body.String()
	for _, text := range []string{
		fmt.Sprintf("a is %.2f N·m, u is %.3f N·m and U is %.2f N·m", a, u, 2*u), fmt.Sprintf("The limit, %.2f N·m, is %.2f N·m away", high, high-y),
		fmt.Sprintf("is in limits is %.3f.", p), fmt.Sprintf("Probability of being in limits: %.3f<", p),
	} {
		if !strings.Contains(body, text) {
			t.Errorf("the page does not say %q", text)
		}
	}
}

// TestTheFiguresOfCorrected works out the two conversions that the page tells.
func TestTheFiguresOfCorrected(t *testing.T) {
	body := get(t, handler(t), "/guide/spec/corrected").Body.String()
	insulation, winding := 300*math.Pow(2, (20.0-40)/10), 2*(234.5+20)/(234.5+50)
	for _, text := range []string{fmt.Sprintf("are %.0f MΩ at 40", insulation), fmt.Sprintf("2 × 254.5 / 284.5 = %.2f Ω at 20", winding)} {
		if !strings.Contains(body, text) {
			t.Errorf("the page does not say %q", text)
		}
	}
}

// TestEveryKeyOfASpecIsTold walks the schema: a key that the loader takes stands in a text
// or an example of the guide.
func TestEveryKeyOfASpecIsTold(t *testing.T) {
	var told strings.Builder
	h := handler(t)
	for _, path := range everyPage(t, h) {
		told.WriteString(html.UnescapeString(get(t, h, path).Body.String()))
	}
	text, err := spec.Schema()
	if err != nil {
		t.Fatal(err)
	}
	var schema any
	if err := json.Unmarshal(text, &schema); err != nil {
		t.Fatal(err)
	}
	keys := map[string]bool{}
	keysOf(schema, keys)
	if len(keys) < 60 {
		t.Errorf("the schema has only %d keys", len(keys))
	}
	for key := range keys {
		if !regexp.MustCompile(`\b` + key + `(:|</code>)`).MatchString(told.String()) {
			t.Errorf("the guide does not tell of the key %s", key)
		}
	}
}

// keysOf collects the names of properties of a schema.
func keysOf(schema any, keys map[string]bool) {
	switch v := schema.(type) {
	case map[string]any:
		properties, _ := v["properties"].(map[string]any)
		for name := range properties {
			keys[name] = true
		}
		for _, inner := range v {
			keysOf(inner, keys)
		}
	case []any:
		for _, inner := range v {
			keysOf(inner, keys)
		}
	}
}

// everyPage lists the first page and those that it leads to.
func everyPage(t *testing.T, h http.Handler) []string {
	t.Helper()
	paths := []string{"/guide"}
	for _, m := range regexp.MustCompile(`href="(/guide/[a-z]+/[a-z_]+)"`).FindAllStringSubmatch(get(t, h, "/guide").Body.String(), -1) {
		if !slices.Contains(paths, m[1]) {
			paths = append(paths, m[1])
		}
	}
	return paths
}

// TestTheFirstSpecAnswersAsTheGuideSays compares what comes of the notes of the first spec
// with what was approved.
func TestTheFirstSpecAnswersAsTheGuideSays(t *testing.T) {
	answers, notes, open := play(t, "first")
	var b bytes.Buffer
	for i, a := range answers {
		fmt.Fprintf(&b, "%s\n    %s\n", notes[i], a.Say)
		for _, f := range a.Findings {
			fmt.Fprintf(&b, "    %s %s: %s\n", f.Severity, f.Rule, f.Text)
		}
	}
	golden.Equal(t, filepath.Join("testdata", "first.golden"), b.Bytes())
	if len(open) > 0 {
		t.Errorf("at the end this is open: %v", open)
	}
}

// linked finds what a page refers to on this server.
var linked = regexp.MustCompile(`(?:href|src)="(/[^"#]*|#[^"]+)"`)

// TestEveryLinkLeadsSomewhere follows all links from the first page on.
func TestEveryLinkLeadsSomewhere(t *testing.T) {
	h := handler(t)
	seen := map[string]bool{"/guide": true}
	for queue := []string{"/guide"}; len(queue) > 0; queue = queue[1:] {
		page := get(t, h, queue[0])
		if page.Code != http.StatusOK {
			t.Errorf("%s has status %d", queue[0], page.Code)
		}
		if !strings.HasPrefix(queue[0], "/guide") || strings.HasSuffix(queue[0], ".css") {
			continue
		}
		if page.Header().Get("Content-Security-Policy") != ui.Policy {
			t.Errorf("%s has another policy than the pages", queue[0])
		}
		body := page.Body.String()
		if strings.Contains(body, "style=") || strings.Contains(body, "<style") {
			t.Errorf("%s holds styles that its policy forbids", queue[0])
		}
		for _, m := range linked.FindAllStringSubmatch(body, -1) {
			if id, inside := strings.CutPrefix(m[1], "#"); inside {
				if !strings.Contains(body, `id="`+id+`"`) {
					t.Errorf("%s links to #%s, which is not there", queue[0], id)
				}
				continue
			}
			if !seen[m[1]] {
				seen[m[1]] = true
				queue = append(queue, m[1])
			}
		}
	}
	if len(seen) < len(spec.Kinds())+len(moreSpeaks)+6 {
		t.Errorf("only %d addresses are linked", len(seen))
	}
}

func TestWhatIsNotThere(t *testing.T) {
	h := handler(t)
	for path, want := range map[string]int{"/guide/rules/magic": http.StatusNotFound, "/guide/spec/limit": http.StatusNotFound, "/guide/other": http.StatusNotFound, "/guide/": http.StatusMovedPermanently} {
		if got := get(t, h, path).Code; got != want {
			t.Errorf("%s has status %d, want %d", path, got, want)
		}
	}
}

// TestEveryExampleIsShown keeps files that no page uses out of the program.
func TestEveryExampleIsShown(t *testing.T) {
	var shown strings.Builder
	h := handler(t)
	for _, path := range everyPage(t, h) {
		shown.WriteString(html.UnescapeString(get(t, h, path).Body.String()))
	}
	examples, err := fs.Glob(os.DirFS("examples"), "*")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range examples {
		what := strings.TrimSpace(string(read(t, name)))
		if example, ok := strings.CutSuffix(name, ".txt"); ok {
			_, notes, _ := play(t, example)
			what = notes[0]
		}
		if !strings.Contains(shown.String(), what) {
			t.Errorf("no page shows %s", name)
		}
	}
}
