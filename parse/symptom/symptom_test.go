package symptom_test

import (
	"slices"
	"testing"

	"readback/parse/symptom"
)

func TestEveryFormHasOneMeaning(t *testing.T) {
	for name, list := range map[string][]symptom.Entry{"conditions": symptom.Conditions(), "parts": symptom.Parts()} {
		owner := map[string]string{}
		for _, e := range list {
			if !slices.Contains(e.Say, e.ID) && name == "parts" {
				t.Errorf("%s: %s is not among its own forms %q", name, e.ID, e.Say)
			}
			for _, s := range e.Say {
				if other, ok := owner[s]; ok {
					t.Errorf("%s: %q means both %s and %s", name, s, other, e.ID)
				}
				owner[s] = e.ID
			}
		}
	}
}
