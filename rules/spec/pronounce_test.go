package spec_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"readback/rules"
	"readback/rules/spec"
	"readback/testdata"
)

func TestPronunciationsAreRead(t *testing.T) {
	s, err := spec.Load("t.yaml", []byte(head+callout+"pronounce:\n  runout: R AH  N AW T\n  thou: [TH AW, DH AW]\n  o'ring: OW R IH NG\n"))
	if err != nil {
		t.Fatal(err)
	}
	want := []rules.Pronunciation{{Word: "runout", Sounds: []string{"R AH N AW T"}}, {Word: "thou", Sounds: []string{"TH AW", "DH AW"}}, {Word: "o'ring", Sounds: []string{"OW R IH NG"}}}
	if diff := cmp.Diff(want, s.Pronounce); diff != "" {
		t.Errorf("pronunciations (-want +got):\n%s", diff)
	}
}

// TestFormsStandWhereTheyAre cuts the text of the file at the place of every form of the demo specs.
func TestFormsStandWhereTheyAre(t *testing.T) {
	for _, name := range []string{"mr5", "bevel-head"} {
		src, err := testdata.Files.ReadFile("specs/" + name + ".yaml")
		if err != nil {
			t.Fatal(err)
		}
		lines := strings.Split(string(src), "\n")
		forms := spec.Forms(name, src)
		if len(forms) < 100 {
			t.Errorf("%s has only %d spoken forms", name, len(forms))
		}
		for _, f := range forms {
			if f.Line == 0 || f.Line > len(lines) {
				t.Errorf("%s: %+v has no place", name, f)
				continue
			}
			at := strings.TrimLeft(lines[f.Line-1][f.Column-1:], "\"")
			if !strings.HasPrefix(at, f.Form) && !strings.Contains(lines[f.Line-1], strings.ReplaceAll(f.Of, " ", "_")) {
				t.Errorf("%s: %q of %s is said to stand at %s", name, f.Form, f.Of, fmt.Sprintf("%d:%d: %.30s", f.Line, f.Column, at))
			}
		}
	}
}
