package spec_test

import (
	"bytes"
	"encoding/json"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"readback/rules/spec"
	"readback/testdata"
)

// schema returns the schema, compiled, which checks that it is one, and as it is written.
func schema(t *testing.T) (*jsonschema.Schema, map[string]any) {
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
	c.DefaultDraft(jsonschema.Draft2020)
	if err := c.AddResource("spec.json", doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("spec.json")
	if err != nil {
		t.Fatal(err)
	}
	raw := map[string]any{}
	if err := json.Unmarshal(text, &raw); err != nil {
		t.Fatal(err)
	}
	return s, raw
}

// instance reads YAML as an editor does.
func instance(t *testing.T, src string) any {
	t.Helper()
	text, err := yaml.YAMLToJSON([]byte(src))
	if err != nil {
		t.Fatal(err)
	}
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func TestSpecsFitTheSchema(t *testing.T) {
	s, _ := schema(t)
	entries, err := testdata.Files.ReadDir("specs")
	if err != nil || len(entries) == 0 {
		t.Fatalf("%d specs, %v", len(entries), err)
	}
	for _, e := range entries {
		src, err := testdata.Files.ReadFile("specs/" + e.Name())
		if err != nil {
			t.Fatal(err)
		}
		if err := s.Validate(instance(t, string(src))); err != nil {
			t.Errorf("%s: %v", e.Name(), err)
		}
	}
}

// every holds a spec in which each mapping has one member to be replaced: KEY.
var every = map[string]string{
	"":          "spec: t\nrevision: \"1\"\ncallouts: [{id: a, unit: mm}]\nKEY\n",
	"option":    "spec: t\nrevision: \"1\"\noptions: {o: {values: [a, b], KEY}}\ncallouts: [{id: a, unit: mm}]\n",
	"axis":      "spec: t\nrevision: \"1\"\naxes: {x: {KEY}}\ncallouts: [{id: a, unit: mm}]\n",
	"callout":   "spec: t\nrevision: \"1\"\ncallouts: [{id: a, unit: mm, KEY}]\n",
	"limits":    "spec: t\nrevision: \"1\"\ncallouts: [{id: a, unit: mm, limits: {KEY}}]\n",
	"taken":     "spec: t\nrevision: \"1\"\ncallouts: [{id: a, \"unit\": mm, taken_at: {t: {unit: V, KEY}}}]\n",
	"corrected": "spec: t\nrevision: \"1\"\ncallouts: [{id: a, unit: mm, taken_at: {t: Cel}, corrected: {by: t, to: 40, halving: 10, KEY}}]\n",
	"decision":  "spec: t\nrevision: \"1\"\ndecision: {KEY}\ncallouts: [{id: a, unit: mm}]\n",
	"step":      "spec: t\nrevision: \"1\"\ncallouts: [{id: a, unit: mm}]\nwork: [{do: [a], KEY}]\n",
	"caution":   "spec: t\nrevision: \"1\"\ncallouts: [{id: a, unit: mm}]\ncautions: [{before: a, text: mind, KEY}]\n",
	"item":      "spec: t\nrevision: \"1\"\ncallouts: [{id: a, unit: mm}]\nkit: [{say: a, KEY}]\n",
}

// nonsense is nothing that may stand at any key.
const nonsense = "{zz: {zz: {zz: 1}}}"

// Each key of the schema is read by the loader: it complains about nonsense there, and so
// does the schema. Neither knows a key that the other does not.
func TestTheLoaderReadsEveryKeyOfTheSchema(t *testing.T) {
	s, raw := schema(t)
	try := func(t *testing.T, name, key, src string) {
		t.Helper()
		for _, k := range []string{key, "nosuchkey"} {
			file := strings.Replace(src, "KEY", k+": "+nonsense, 1)
			_, err := spec.Load("t.yaml", []byte(file))
			switch {
			case err == nil:
				t.Errorf("the loader takes nonsense at %s.%s", name, k)
			case strings.Contains(err.Error(), `has no key "`+k+`"`) != (k == "nosuchkey"):
				t.Errorf("%s.%s: %v", name, k, err)
			}
			if s.Validate(instance(t, file)) == nil {
				t.Errorf("the schema takes nonsense at %s.%s", name, k)
			}
		}
	}
	defs := raw["$defs"].(map[string]any)
	for name, src := range every {
		object := raw
		if name != "" {
			object = defs[name].(map[string]any)
		}
		for _, key := range slices.Sorted(maps.Keys(object["properties"].(map[string]any))) {
			try(t, name, key, without(src, key))
		}
	}
	kinds := defs["rule"].(map[string]any)["oneOf"].([]any)
	if len(kinds) != len(spec.Kinds()) {
		t.Errorf("the schema has %d kinds of rules, want %d", len(kinds), len(spec.Kinds()))
	}
	for i, kind := range spec.Kinds() {
		for key := range kinds[i].(map[string]any)["properties"].(map[string]any) {
			if key != "rule" {
				try(t, kind, key, "spec: t\nrevision: \"1\"\ncallouts: [{id: a, unit: mm}]\nrules: [{rule: "+kind+", KEY}]\n")
			}
		}
	}
	if len(defs) != len(every) {
		t.Errorf("the schema has %d definitions, the test knows %d and the rules", len(defs), len(every)-1)
	}
}

// without takes a key away that the sample has, so that it does not stand there twice.
func without(src, key string) string {
	for _, pair := range []string{"spec: t\n", "revision: \"1\"\n", "callouts: [{id: a, unit: mm}]\n", "values: [a, b], ", "id: a, ", "unit: mm, ", "unit: V, ", "by: t, ", "to: 40, ", "halving: 10, ", "do: [a], ", "before: a, ", "text: mind, ", "say: a, "} {
		if strings.HasPrefix(pair, key+":") && strings.Contains(src, pair) {
			return strings.Replace(src, pair, "", 1)
		}
	}
	return src
}

// What an author gets wrong in a shape, the editor tells as well.
func TestTheSchemaRefusesWhatTheLoaderRefuses(t *testing.T) {
	s, _ := schema(t)
	tests := []struct{ name, src string }{
		{"no revision", "spec: t\n" + callout},
		{"no callouts", "spec: t\nrevision: a\n"},
		{"a number in words", head + "callouts:\n  - {id: a, unit: mm, limits: {max: five}}\n"},
		{"a range with one dot", head + "callouts:\n  - {id: a, unit: mm, plausible: 1.5}\n"},
		{"a kind that is none", head + "callouts:\n  - {id: a, kind: thing}\n"},
		{"an id with capitals", head + "callouts:\n  - {id: Runout, unit: mm}\n"},
		{"a rule that is none", head + callout + "rules:\n  - {rule: magic}\n"},
		{"a rule that lacks a key", head + callout + "rules:\n  - {rule: missing}\n"},
		{"a limit by two things", head + "callouts:\n  - {id: a, unit: mm, limits: {max: {n: {\"1\": 1}, m: {\"1\": 1}}}}\n"},
		{"a decision that is none", head + callout + "decision: maybe\n"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if _, err := spec.Load("t.yaml", []byte(tt.src)); err == nil {
				t.Error("the loader takes it")
			}
			if err := s.Validate(instance(t, tt.src)); err == nil {
				t.Error("the schema takes it")
			}
		})
	}
}
