package guide_test

import (
	"encoding/json"
	"errors"
	"html"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"readback/rules"
)

// reader is somebody who has the first page before them and a folder to work in. What they
// do comes from the page as it is served, and the program is the one that people run.
type reader struct {
	t      *testing.T
	folder string
	binary string
	page   string
}

func newReader(t *testing.T) *reader {
	t.Helper()
	r := &reader{t: t, folder: t.TempDir(), binary: filepath.Join(t.TempDir(), "readback"), page: get(t, handler(t), "/guide").Body.String()}
	if out, err := exec.CommandContext(t.Context(), "go", "build", "-o", r.binary, "readback/cmd/readback").CombinedOutput(); err != nil {
		t.Fatalf("build the program: %v\n%s", err, out)
	}
	return r
}

// shown returns what the page shows at each match of a pattern.
func (r *reader) shown(pattern string) (texts []string) {
	r.t.Helper()
	for _, m := range regexp.MustCompile(pattern).FindAllStringSubmatch(r.page, -1) {
		texts = append(texts, html.UnescapeString(m[1]))
	}
	if len(texts) == 0 {
		r.t.Fatalf("the page shows nothing like %s", pattern)
	}
	return texts
}

func (r *reader) save(name, text string) {
	r.t.Helper()
	if err := os.WriteFile(filepath.Join(r.folder, name), []byte(text), 0o600); err != nil {
		r.t.Fatal(err)
	}
}

// run types a line of the page, with more arguments where they are given, and returns the
// exit status and all that was printed.
func (r *reader) run(typed string, more ...string) (status int, printed string) {
	r.t.Helper()
	words := append(strings.Fields(typed), more...)
	if words[0] != "readback" {
		r.t.Fatalf("the page says to run %q", typed)
	}
	c := exec.CommandContext(r.t.Context(), r.binary, words[1:]...)
	c.Dir = r.folder
	out, err := c.CombinedOutput()
	if exit, ok := errors.AsType[*exec.ExitError](err); ok {
		return exit.ExitCode(), string(out)
	}
	if err != nil {
		r.t.Fatalf("%s: %v", typed, err)
	}
	return 0, string(out)
}

// command returns the line of the page that begins so.
func (r *reader) command(begins string) string {
	r.t.Helper()
	for _, block := range r.shown(`(?s)<pre class="cmd"><code>(.*?)</code></pre>`) {
		for line := range strings.Lines(block) {
			if strings.HasPrefix(line, begins) {
				return strings.TrimSpace(line)
			}
		}
	}
	r.t.Fatalf("the page shows no command %s", begins)
	return ""
}

// TestAReaderCanFollowTheFirstPage does what the page says, from top to bottom.
func TestAReaderCanFollowTheFirstPage(t *testing.T) {
	r := newReader(t)
	specs := r.shown(`(?s)aria-label="A spec file"><pre><code>(.*?)</code></pre>`)
	if len(specs) != 5 {
		t.Fatalf("the page shows %d steps of the spec, want 5", len(specs))
	}
	lint := r.command("readback spec lint")
	for i, text := range specs {
		r.save("strainer.yaml", text)
		if status, printed := r.run(lint); status != 0 || !strings.Contains(printed, "clean") {
			t.Errorf("step %d does not lint (status %d): %s", i+1, status, printed)
		}
		if i > 0 {
			if gone := lost(specs[i-1], text); gone != "" {
				t.Errorf("step %d no longer has %q: the reader would have to find out", i+1, gone)
			}
		}
	}
	r.save("strainer.yaml", strings.Replace(specs[0], "unit: mm", "unit: mmm", 1))
	if status, printed := r.run(lint); status == 0 || !strings.Contains(printed, "strainer.yaml:10:") || !strings.Contains(printed, "^") || !strings.Contains(printed, "; use a UCUM code") {
		t.Errorf("a fault has no line, caret or mend (status %d): %s", status, printed)
	}
	r.save("strainer.yaml", specs[4])
	if status, printed := r.run(r.command("readback spec explain")); status != 0 || !strings.Contains(printed, "CAUTION") {
		t.Errorf("the sheet (status %d): %s", status, printed)
	}
	r.checks()
	r.revises(specs[4])
}

// lost returns the first line of a step that the next one has not in its place, "" for none.
func lost(before, after string) string {
	rest := strings.Split(after, "\n")
	for line := range strings.SplitSeq(before, "\n") {
		at := 0
		for at < len(rest) && rest[at] != line {
			at++
		}
		if at == len(rest) {
			return line
		}
		rest = rest[at+1:]
	}
	return ""
}

// checks says the notes of the page, and compares what comes of them with what is printed
// there.
func (r *reader) checks() {
	t := r.t
	t.Helper()
	r.save("notes.txt", strings.Join(r.shown(`<span class="tag">Said</span>(.*?)</p>`), "\n")+"\n")
	check := r.command("readback check")
	if status, printed := r.run(check); status != 0 || !strings.Contains(printed, "No finding is open.") {
		t.Errorf("the notes (status %d): %s", status, printed)
	}
	_, printed := r.run(check, "--json")
	var answers, findings []string
	for line := range strings.Lines(printed) {
		var a rules.Answer
		if err := json.Unmarshal([]byte(line), &a); err != nil {
			t.Fatalf("%q: %v", line, err)
		}
		if a.Say != "" { // the last object is the summary
			answers = append(answers, a.Say)
		}
		for _, f := range a.Findings {
			findings = append(findings, string(f.Severity)+" "+f.Rule+" "+f.Text)
		}
	}
	if diff := cmp.Diff(r.shown(`<span class="tag">Answered</span>(.*?)</p>`), answers); diff != "" {
		t.Errorf("answers (-page +program):\n%s", diff)
	}
	raised := r.shown(`(<b>[a-z]+</b> <code>[a-z_]+</code> .*?)</p>`)
	for i := range raised {
		raised[i] = strings.NewReplacer("<b>", "", "</b>", "", "<code>", "", "</code>", "").Replace(raised[i])
	}
	if diff := cmp.Diff(raised, findings); diff != "" {
		t.Errorf("findings (-page +program):\n%s", diff)
	}
}

// revises tries a next revision with a tighter limit, and asks for the schema.
func (r *reader) revises(text string) {
	t := r.t
	t.Helper()
	r.save("strainer-b.yaml", strings.NewReplacer(`revision: "A"`, `revision: "B"`, "max: 0.05", "max: 0.02").Replace(text))
	try := r.command("readback spec try strainer-b.yaml --against")
	if status, printed := r.run(try); status != 1 || !strings.Contains(printed, "strainer A against strainer B") || !strings.Contains(printed, "in, now out") {
		t.Errorf("the next revision (status %d): %s", status, printed)
	}
	schema, _, _ := strings.Cut(r.command("readback spec schema"), " > ")
	if status, printed := r.run(schema); status != 0 || !json.Valid([]byte(printed)) {
		t.Errorf("the schema has status %d", status)
	}
}
