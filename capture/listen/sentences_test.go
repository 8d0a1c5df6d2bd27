package listen_test

import (
	"io/fs"
	"testing"

	"github.com/google/go-cmp/cmp"

	"readback/capture/floor"
	"readback/capture/listen"
	"readback/rules"
	"readback/testdata"
)

func demoSpecs(t *testing.T) map[string]*rules.Spec {
	t.Helper()
	files, err := fs.Sub(testdata.Files, "specs")
	if err != nil {
		t.Fatal(err)
	}
	specs, err := floor.LoadSpecs(files)
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]*rules.Spec{}
	for _, s := range specs.All() {
		out[s.ID] = s
	}
	return out
}

// TestSentencesOfAJob: each job has three of its own.
func TestSentencesOfAJob(t *testing.T) {
	specs := demoSpecs(t)
	for _, tt := range []struct {
		name, spec string
		options    map[string]string
		want       []string
	}{
		{"a pump", "mr5", nil, nil},
		{"another base", "mr5", map[string]string{"base": "long", "rebuild": "yes"}, nil},
		{"a gear", "bevel-head", nil, nil},
	} {
		t.Run(tt.name, func(t *testing.T) {
			j, err := rules.NewJob(specs[tt.spec], tt.options)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(tt.want, listen.Sentences(j)); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}
