package opening_test

import (
	"context"
	"errors"
	"io/fs"
	"maps"
	"slices"
	"strings"
	"testing"

	"readback/capture/floor"
	"readback/capture/journal"
	"readback/capture/opening"
	"readback/capture/wire"
	"readback/rules"
	"readback/rules/spec"
	"readback/testdata"
)

// desk is a floor that keeps what was opened in memory.
type desk struct {
	jobs   []string
	opened []wire.OpenJob
	err    error
}

func (d *desk) Jobs(context.Context) (wire.Jobs, error) {
	var out wire.Jobs
	for _, id := range d.jobs {
		out.Jobs = append(out.Jobs, wire.JobLine{ID: id})
	}
	return out, nil
}

func (d *desk) OpenJob(_ context.Context, open wire.OpenJob) (wire.State, bool, error) {
	if d.err != nil {
		return wire.State{}, false, d.err
	}
	d.opened = append(d.opened, open)
	d.jobs = append(d.jobs, open.ID)
	return wire.State{}, true, nil
}

func specs(t testing.TB) (out []*rules.Spec) {
	t.Helper()
	for _, name := range []string{"bevel-head", "mr5"} {
		src, err := fs.ReadFile(testdata.Files, "specs/"+name+".yaml")
		if err != nil {
			t.Fatal(err)
		}
		s, err := spec.Load(name, src)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, s)
	}
	return out
}

// line is what is said, and what must come of it: parts of the sentence, in order.
type line struct{ say, want string }

func TestOpening(t *testing.T) {
	for _, tt := range []struct {
		name  string
		talk  []line
		opens string // number, spec and options of the job that was opened; "" for none
		goes  string
	}{
		{"all in one breath", []line{
			{"open job m w one zero four two m r five long base eight stages two cut impellers", "Job Mike Whiskey one zero four two, M R five.|Base long, eight stages and two cut impellers.|Not said, so as usual: no rebuild.|Opened by Ines.|Say yes"},
			{"yes", "Job Mike Whiskey one zero four two is open."},
		}, "MW-1042 mr5 base=long cut_impellers=2 rebuild=no stages=8", "MW-1042"},
		{"piece by piece", []line{
			{"open job", "Which job number?|Which build spec: bevel head or M R five?"},
			{"mike whiskey one zero four two", "Job Mike Whiskey one zero four two.|Which build spec"},
			{"dewatering pump", "M R five.|as usual: base short, five stages, no cut impellers and no rebuild.|Say yes"},
			{"long base and nine stages", "Base long and nine stages.|Say yes"},
			{"affirmative", "is open"},
		}, "MW-1042 mr5 base=long cut_impellers=0 rebuild=no stages=9", "MW-1042"},
		{"mended before the yes", []line{
			{"open job m w one zero four two m r five", "Say yes"},
			{"no", "What is wrong?"},
			{"no job m w one zero four three", "Mike Whiskey one zero four three"},
			{"six stages", "Six stages"},
			{"seven stages", "Seven stages"},
			{"scratch that", "Six stages"},
			{"say again", "Six stages"},
			{"yes", "is open"},
		}, "MW-1043 mr5 base=short cut_impellers=0 rebuild=no stages=6", "MW-1043"},
		{"never without a yes", []line{
			{"yes", "Which job number?"},
			{"open job m w one zero four two", "Which build spec"},
			{"yes", "Which build spec"},
			{"m r five forty stages", "What is “forty”?"},
			{"yes", "What is “forty”?"},
			{"start over", "Nothing was opened."},
			{"yes", "Which job number?"},
		}, "", ""},
		{"a job that is there", []line{{"job m w one zero four one", "Job Mike Whiskey one zero four one."}}, "", "MW-1041"},
		{"a job that is there, by its figures", []line{{"one zero four one", "Job Mike Whiskey one zero four one."}}, "", "MW-1041"},
		{"open a job that is there", []line{
			{"open job one zero four one", "is there already. Say yes to go to it"},
			{"yes", "Job Mike Whiskey one zero four one."},
		}, "", "MW-1041"},
		{"typed", []line{
			{"Open job MW-1042, MR-5, long base, 8 stages.", "Job Mike Whiskey one zero four two, M R five. Base long and eight stages."},
			{"Yes.", "is open"},
		}, "MW-1042 mr5 base=long cut_impellers=0 rebuild=no stages=8", "MW-1042"},
		{"another spec forgets the options of the first", []line{
			{"job a two m r five nine stages", "Nine stages"},
			{"bevel head", "Job Alfa two, bevel head."},
			{"what a day", "Job Alfa two, bevel head."},
		}, "", ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			f := &desk{jobs: []string{"MW-1041", "MW-1077"}}
			talk := opening.New(f, specs(t), "Ines")
			var out wire.Opening
			var err error
			for _, l := range tt.talk {
				if out, err = talk.Say(t.Context(), l.say); err != nil {
					t.Fatal(err)
				}
				rest := out.Say
				for part := range strings.SplitSeq(l.want, "|") {
					_, behind, ok := strings.Cut(rest, part)
					if !ok {
						t.Errorf("to %q it says %q, want %q in it", l.say, out.Say, part)
					}
					rest = behind
				}
			}
			opened := ""
			for _, o := range f.opened {
				opened += o.ID + " " + o.Spec
				for _, name := range slices.Sorted(maps.Keys(o.Options)) {
					opened += " " + name + "=" + o.Options[name]
				}
				if o.Person != "Ines" {
					t.Errorf("opened by %q", o.Person)
				}
			}
			if opened != tt.opens || out.Go != tt.goes {
				t.Errorf("opened %q and goes to %q, want %q, %q", opened, out.Go, tt.opens, tt.goes)
			}
		})
	}
}

// What cannot be opened is told, and what was said stays, to be tried again.
func TestAJournalThatTakesNothing(t *testing.T) {
	f := &desk{err: journal.ErrFull}
	talk := opening.New(f, specs(t), "")
	out, err := talk.Say(t.Context(), "open job m w one zero four two m r five")
	if err != nil || !out.Ready || !strings.Contains(out.Say, "Nobody's name stands with it.") {
		t.Fatalf("%+v, error %v", out, err)
	}
	out, err = talk.Say(t.Context(), "yes")
	if !errors.Is(err, journal.ErrFull) || !out.Ready || out.Go != "" || !strings.Contains(out.Say, "disk is full") {
		t.Errorf("%+v, error %v", out, err)
	}
	f.err = &floor.RefusalError{Wrong: "job MW-1042 is there already", Do: "go on with that one", Why: floor.ErrTaken}
	if out, err = talk.Say(t.Context(), "yes"); err != nil || out.Ready || !strings.HasPrefix(out.Say, "Job MW-1042 is there already. Go on") {
		t.Errorf("%+v, error %v", out, err)
	}
	f.err = nil
	if out, err = talk.Say(t.Context(), "read that back"); err != nil || len(f.opened) > 0 {
		t.Errorf("%+v, error %v; opened %v", out, err, f.opened)
	}
}

// Means tells what words would do, so that whoever hears knows how sure they have to be.
func TestMeans(t *testing.T) {
	talk := opening.New(&desk{jobs: []string{"MW-1041"}}, specs(t), "Ines")
	means := func(text string, want opening.Means) {
		t.Helper()
		if got := talk.Means(text); got != want {
			t.Errorf("%q means %d, want %d", text, got, want)
		}
	}
	means("yes", opening.Tells)
	means("good morning", opening.Nothing)
	means("job m w one zero four one", opening.Acts)
	means("open job m w one zero four two", opening.Tells)
	means("eight stages", opening.Tells)
	if _, err := talk.Say(t.Context(), "open job m w one zero four two m r five"); err != nil {
		t.Fatal(err)
	}
	means("yes", opening.Acts)
	means("no", opening.Tells)
	if !talk.Whole("yes") || talk.Whole("open job") || talk.Whole("job m w one") {
		t.Error("the middle of a number is taken for its end, or an end for the middle")
	}
}

// Two engines have heard the same where number, spec and options are the same, in whatever words.
func TestAlike(t *testing.T) {
	talk := opening.New(&desk{}, specs(t), "Ines")
	for _, tt := range []struct {
		a, b string
		want bool
	}{
		{"open job mike whiskey one zero four two", "Open job MW-1042.", true},
		{"open job mike whiskey one zero four two", "Open job MW-1043.", false},
		{"open job mike whiskey one zero four two", "job MW-1042", false}, // goes to it
		{"m r five long base", "MR-5, long base", true},
		{"m r five long base", "MR-5, short base", false},
		{"eight stages", "8 stages", true},
		{"eight stages", "18 stages", false},
		{"yes", "Yeah.", true},
		{"yes", "No.", false},
		{"yes", "MW-1042", false},
		{"a fine day", "the weather", false},
	} {
		if got := talk.Alike(tt.a, tt.b); got != tt.want {
			t.Errorf("%q and %q: %t", tt.a, tt.b, got)
		}
	}
}

// The work that a long note makes grows with its length, and not with the square of it.
func TestALongNote(t *testing.T) {
	talk := opening.New(&desk{}, specs(t), "Ines")
	work := func(text string) float64 {
		return testing.AllocsPerRun(1, func() {
			if got := talk.Means(text); got != opening.Nothing {
				t.Errorf("%d characters mean %d", len(text), got)
			}
		})
	}
	for _, word := range []string{",a", "-", "job ", "dewatering "} {
		short, long := work(strings.Repeat(word, 100)), work(strings.Repeat(word, 400))
		if long > 8*short {
			t.Fatalf("%q: %v allocations where it is said 100 times, %v for 400", word, short, long)
		}
	}
	out, err := talk.Say(t.Context(), strings.Repeat(",a", 1000))
	if err != nil || len(out.Missing) != 2 {
		t.Errorf("%+v, error %v", out, err)
	}
}
