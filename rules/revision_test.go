package rules_test

import (
	"strings"
	"testing"

	"readback/rules"
	"readback/rules/spec"
)

func TestChangesBetweenRevisions(t *testing.T) {
	load := func(src string) *rules.Spec {
		t.Helper()
		s, err := spec.Load("small.yaml", []byte(src))
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	old := load(small)
	newer := strings.NewReplacer(
		`limits: {nominal: 40, within: 5 %}`, `limits: {nominal: 42, within: 5 %}`,
		`- {id: flow, say: [flow]`, `- {id: noise, kind: confirm, say: [quiet running]}
  - {id: flow, say: [flow]`,
		`limits: {max: 0.5}}`, `limits: {max: 0.4}, source: manual 2.2}`,
	).Replace(small)
	got := strings.Join(rules.Changes(old, load(newer), map[string]string{"stages": "2"}), "\n")
	want := strings.Join([]string{
		"ring clearance found: at most 0.4 mm instead of at most 0.5 mm",
		"ring clearance found: stands in manual 2.2 now",
		"stage nut: 39.9 to 44.1 N·m instead of 38 to 42 N·m",
		"quiet running: called for as well",
	}, "\n")
	if got != want {
		t.Errorf("changes:\n%s\nwant:\n%s", got, want)
	}
	if c := rules.Changes(old, load(small), nil); c != nil {
		t.Errorf("the same spec differs: %q", c)
	}
}
