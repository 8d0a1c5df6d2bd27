package floor_test

import (
	"errors"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"

	"readback/capture/floor"
	"readback/capture/journal"
	"readback/capture/wire"
)

func TestOpenJob(t *testing.T) {
	d := newDisk()
	f := floorOn(t, d)
	for _, tt := range []struct {
		name   string
		open   wire.OpenJob
		opened bool
		cause  error
		say    string
	}{
		{"a new job, with defaults", wire.OpenJob{ID: "MW-1041", Spec: "mr5", Options: wire.Options{"stages": "8"}, Person: "Ines"}, true, nil, ""},
		{"the same again", wire.OpenJob{ID: "MW-1041", Spec: "mr5", Options: wire.Options{"stages": "8"}, Person: "Ines"}, false, nil, ""},
		{"the same by another person, defaults said", wire.OpenJob{ID: "MW-1041", Spec: "mr5", Options: wire.Options{"stages": "8", "base": "short"}, Person: "Tom"}, false, nil, ""},
		{"the same id with other options", wire.OpenJob{ID: "MW-1041", Spec: "mr5", Options: wire.Options{"stages": "9"}}, false, floor.ErrTaken, "spec mr5 and options base short, stages 8"},
		{"a value that an option cannot have", wire.OpenJob{ID: "MW-1042", Spec: "mr5", Options: wire.Options{"stages": "19"}}, false, floor.ErrOption, "3 to 18"},
		{"an option that the spec does not have", wire.OpenJob{ID: "MW-1042", Spec: "mr5", Options: wire.Options{"colour": "red"}}, false, floor.ErrOption, "colour"},
		{"a spec that is not there", wire.OpenJob{ID: "MW-1042", Spec: "mr9"}, false, floor.ErrSpec, `"mr9"`},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s, opened, err := f.OpenJob(t.Context(), tt.open)
			if opened != tt.opened || !errors.Is(err, tt.cause) || (err != nil) != (tt.cause != nil) {
				t.Fatalf("opened %t, error %v; want %t, %v", opened, err, tt.opened, tt.cause)
			}
			if err == nil {
				if s.ID != tt.open.ID || s.Options["stages"] != "8" || s.Options["base"] != "short" || s.Opened.Person != "Ines" {
					t.Errorf("the state is of %s, options %v, opened by %s", s.ID, s.Options, s.Opened.Person)
				}
				return
			}
			if wrong, do := floor.Explain(err); !strings.Contains(wrong, tt.say) || do == "" {
				t.Errorf("explained as %q, %q; want %q", wrong, do, tt.say)
			}
		})
	}
	jobs, err := d.Jobs(t.Context())
	if err != nil || len(jobs) != 1 || jobs[0].Entries != 1 {
		t.Errorf("the journal has %+v, error %v; want one job of one entry", jobs, err)
	}
}

func TestJobThatIsNotKeptIsNotOpen(t *testing.T) {
	d := newDisk()
	f := floorOn(t, d)
	d.failWith(journal.ErrFull)
	_, opened, err := f.OpenJob(t.Context(), wire.OpenJob{ID: "MW-1041", Spec: "mr5"})
	if opened || !errors.Is(err, journal.ErrFull) {
		t.Errorf("opened %t, error %v; want ErrFull", opened, err)
	}
	if _, err := f.State(t.Context(), "MW-1041"); !errors.Is(err, journal.ErrNotFound) {
		t.Errorf("its state: %v, want ErrNotFound", err)
	}
	d.failWith(nil)
	openDemo(t, f, "MW-1041")
}

func TestLoadSpecsTellsEveryFault(t *testing.T) {
	good := "spec: a\nrevision: \"1\"\ntitle: A\ncallouts:\n  - {id: gap, say: [gap], unit: mm, limits: {max: 1}}\n"
	for _, tt := range []struct {
		name  string
		files fstest.MapFS
		want  []string
	}{
		{"no file", fstest.MapFS{"readme.txt": {}}, []string{"no .yaml file"}},
		{"two torn files", fstest.MapFS{"a.yaml": {Data: []byte("spec: [")}, "b.yml": {Data: []byte("callouts: 3")}}, []string{"a.yaml:1", "b.yml:1"}},
		{"one name twice", fstest.MapFS{"a.yaml": {Data: []byte(good)}, "b.yaml": {Data: []byte(good)}}, []string{"b.yaml: spec a is in a.yaml already"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := floor.LoadSpecs(tt.files)
			for _, want := range tt.want {
				if err == nil || !strings.Contains(err.Error(), want) {
					t.Errorf("error %v does not say %q", err, want)
				}
			}
		})
	}
}

func TestSpecsAreListed(t *testing.T) {
	f := floorOn(t, newDisk())
	for _, s := range f.Specs.List() {
		if s.Name != "mr5" {
			continue
		}
		var options []string
		for _, o := range s.Options {
			options = append(options, o.Name+"="+o.Default)
		}
		want := []string{"base=short", "stages=5", "cut_impellers=0", "rebuild=no"}
		if diff := cmp.Diff(want, options); diff != "" || !s.Invented {
			t.Errorf("mr5, invented %t, has options (-want +got):\n%s", s.Invented, diff)
		}
		return
	}
	t.Error("mr5 is not listed")
}

// The warning before the first step is shown when the job is opened: the record says so.
func TestTheOpeningKeepsItsCaution(t *testing.T) {
	d := newDisk()
	f := floorOn(t, d)
	open := wire.OpenJob{ID: "MW-1077", Spec: "bevel-head", Options: wire.Options{"rebuild": "yes"}, Person: "Ines"}
	if _, _, err := f.OpenJob(t.Context(), open); err != nil {
		t.Fatal(err)
	}
	entries, err := d.Entries(t.Context(), "MW-1077", 0, 2)
	if err != nil || len(entries) != 1 || !strings.Contains(entries[0].Caution, "Lock the drive out") {
		t.Errorf("the journal has %+v, error %v; want one entry with the caution", entries, err)
	}
}
