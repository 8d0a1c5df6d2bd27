package guide_test

import (
	"bytes"
	"fmt"
	"io/fs"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"readback/capture/bench"
	"readback/parse"
	"readback/rules"
	"readback/rules/spec"
	"readback/testdata/golden"
	"readback/web/guide"
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
	mux := http.NewServeMux()
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

// play replays an example and returns what each note raised.
func play(t *testing.T, name string) (answers []rules.Answer, notes []string, open []rules.Finding) {
	t.Helper()
	src, err := os.ReadFile("examples/" + name + ".yaml")
	if err != nil {
		t.Fatal(err)
	}
	s, err := spec.Load(name+".yaml", src)
	if err != nil {
		t.Fatal(err)
	}
	job, err := rules.NewJob(s, nil)
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile("examples/" + name + ".txt")
	if err != nil {
		t.Fatal(err)
	}
	b := bench.New(job, parse.NewVocabulary(job.Words()))
	for note := range strings.Lines(string(text)) {
		if note = strings.TrimSpace(note); note != "" && note[0] != '#' {
			_, a := b.Say(note)
			answers, notes = append(answers, a), append(notes, note)
		}
	}
	return answers, notes, job.Open()
}

// TestEachRuleSpeaksAndIsClosed replays the notes of every kind: the rule raises what its
// page says, and the last note closes it.
func TestEachRuleSpeaksAndIsClosed(t *testing.T) {
	raises := map[string]rules.Severity{
		"limit": rules.Warn, "derived": rules.Warn, "part_choice": rules.Stop, "stack_order": rules.Stop, "step_order": rules.Warn, "hold_point": rules.Stop,
		"pass_order": rules.Warn, "spread": rules.Warn, "void": rules.Warn, "missing": rules.Warn, "wear": rules.Warn, "curve": rules.Warn,
	}
	as := map[string]string{"wear": rules.RuleLimit, "curve": rules.RuleDerived}
	h := handler(t)
	for _, kind := range append([]string{"limit", "derived"}, spec.Kinds()...) {
		t.Run(kind, func(t *testing.T) {
			want, ok := raises[kind]
			if !ok {
				t.Fatal("the guide has no page of this kind: add one in topics.go, with an example")
			}
			rule := kind
			if as[kind] != "" {
				rule = as[kind]
			}
			answers, _, open := play(t, kind)
			raised := slices.ContainsFunc(answers, func(a rules.Answer) bool {
				return slices.ContainsFunc(a.Findings, func(f rules.Finding) bool { return f.Rule == rule && f.Severity == want })
			})
			if !raised {
				t.Errorf("its notes raise no %s of the rule %s", want, rule)
			}
			if len(open) > 0 {
				t.Errorf("at the end this is open: %v", open)
			}
			page := get(t, h, "/guide/rules/"+kind)
			if body := page.Body.String(); page.Code != http.StatusOK || !strings.Contains(body, "<b>"+string(want)+"</b> <code>"+rule+"</code>") {
				t.Errorf("its page (status %d) does not show what is raised", page.Code)
			}
		})
	}
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
	if len(seen) < len(spec.Kinds())+6 {
		t.Errorf("only %d addresses are linked", len(seen))
	}
}

func TestWhatIsNotThere(t *testing.T) {
	h := handler(t)
	for path, want := range map[string]int{"/guide/rules/magic": http.StatusNotFound, "/guide/other": http.StatusNotFound, "/guide/": http.StatusMovedPermanently} {
		if got := get(t, h, path).Code; got != want {
			t.Errorf("%s has status %d, want %d", path, got, want)
		}
	}
}

// TestEveryExampleIsShown keeps files that no page uses out of the program.
func TestEveryExampleIsShown(t *testing.T) {
	var shown strings.Builder
	h := handler(t)
	shown.WriteString(get(t, h, "/guide").Body.String())
	for _, kind := range append([]string{"limit", "derived"}, spec.Kinds()...) {
		shown.WriteString(get(t, h, "/guide/rules/"+kind).Body.String())
	}
	examples, err := fs.Glob(os.DirFS("examples"), "*.txt")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range examples {
		_, notes, _ := play(t, strings.TrimSuffix(name, ".txt"))
		if !strings.Contains(shown.String(), notes[0]) {
			t.Errorf("no page shows %s", name)
		}
	}
}
