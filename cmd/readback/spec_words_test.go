package main

import (
	"bytes"
	"path/filepath"
	"strings"
	"testing"

	"readback/rules/spec"
)

// TestEveryRuleHasWords explains the examples of the guide, which has one for each kind of
// a rule.
func TestEveryRuleHasWords(t *testing.T) {
	for _, kind := range spec.Kinds() {
		var out, errs bytes.Buffer
		file := filepath.Join("..", "..", "web", "guide", "examples", kind+".yaml")
		if status := run(t.Context(), std{in: strings.NewReader(""), out: &out, err: &errs}, []string{"spec", "explain", file}); status != clean {
			t.Errorf("%s: status %d: %s", file, status, &errs)
		}
		if strings.Contains(out.String(), "another check") || strings.Contains(out.String(), "Another check") {
			t.Errorf("%s: a rule has no words of its own:\n%s", file, &out)
		}
		if !strings.Contains(out.String(), "Rules beside the limits") {
			t.Errorf("%s: its rule is not told:\n%s", file, &out)
		}
	}
}
