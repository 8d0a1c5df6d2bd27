package wire_test

import (
	"encoding/json"
	"testing"

	"github.com/google/go-cmp/cmp"

	"readback/capture/wire"
	"readback/parse"
	"readback/rules"
	"readback/rules/spec"
	"readback/testdata"
)

// stateAfter returns the JSON of a demo job's state after some notes, in a shop that shows
// torques in two units.
func stateAfter(t *testing.T, file string, notes ...string) map[string]any {
	t.Helper()
	src, err := testdata.Files.ReadFile("specs/" + file)
	if err != nil {
		t.Fatal(err)
	}
	s, err := spec.Load(file, src)
	if err != nil {
		t.Fatal(err)
	}
	job, err := rules.NewJob(s, nil)
	if err != nil {
		t.Fatal(err)
	}
	job.Equip(&rules.Shop{Show: []string{"N.m", "[ft_i].[lbf_av]"}})
	words, said := parse.NewVocabulary(job.Words()), parse.Context{}
	for _, text := range notes {
		u := parse.Text(text, words, said)
		said = said.After(u, job.Fold(u).Heard)
	}
	text, err := json.Marshal(wire.StateOf(wire.JobLine{ID: "MW-1041"}, job))
	if err != nil {
		t.Fatal(err)
	}
	var out map[string]any
	if err := json.Unmarshal(text, &out); err != nil {
		t.Fatal(err)
	}
	return out
}

func TestStateSaysHowTheUnitIsBuiltUp(t *testing.T) {
	want := map[string]any{
		"axis": "stage", "parts": []any{"impeller"}, "kinds": []any{"full", "cut"},
		"other": []any{"stage_seated", "collar_nut_torque"}, "cover": "cover_on",
		"base": []any{"build_spacer", "motor_adapter", "seat_clean", "o_rings_new", "plate_side", "shaft_held"},
	}
	if diff := cmp.Diff(want, stateAfter(t, "mr5.yaml")["stack"]); diff != "" {
		t.Errorf("the pump's stack (-want +got):\n%s", diff)
	}
	if stack, ok := stateAfter(t, "bevel-head.yaml")["stack"]; !ok || stack != nil {
		t.Errorf("a gear head has the stack %v, want null", stack)
	}
}

func TestStateGivesTheOtherUnitBesideAReading(t *testing.T) {
	state := stateAfter(t, "mr5.yaml", "collar nut stage one forty eight newton metres", "shaft runout 0.03 millimetres")
	got := map[string]any{}
	for _, c := range state["callouts"].([]any) {
		c := c.(map[string]any)
		if r := c["places"].([]any)[0].(map[string]any)["reading"]; r != nil {
			got[c["id"].(string)] = r
		}
	}
	want := map[string]any{
		"collar_nut_torque": map[string]any{"value": "48", "unit": "N.m", "shown": "48 N·m", "also": "35.4 lbf·ft", "verdict": "in"},
		"shaft_runout":      map[string]any{"value": "0.03", "unit": "mm", "shown": "0.03 mm", "verdict": "in"},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}
