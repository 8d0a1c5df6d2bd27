package facts_test

import (
	"encoding/json"
	"errors"
	"io/fs"
	"math/big"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"readback/capture/bench"
	"readback/capture/facts"
	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/parse"
	"readback/rules"
	"readback/rules/spec"
	"readback/testdata"
)

// teller says notes on jobs of the demo's pump, as a bench would, and numbers the entries through.
type teller struct {
	*testing.T
	text  []byte
	spec  *rules.Spec
	bench *bench.Bench
	job   string
	all   []journal.Entry
}

func newTeller(t *testing.T) *teller {
	t.Helper()
	text, err := fs.ReadFile(testdata.Files, "specs/mr5.yaml")
	if err != nil {
		t.Fatal(err)
	}
	s, err := spec.Load("mr5.yaml", text)
	if err != nil {
		t.Fatal(err)
	}
	return &teller{T: t, text: text, spec: s}
}

func (t *teller) keep(e journal.Entry) journal.Position {
	e.Position = journal.Position(len(t.all) + 1)
	t.all = append(t.all, e)
	return e.Position
}

// open begins a job; what is said after it is said there.
func (t *teller) open(id string, options map[string]string) {
	t.Helper()
	job, err := rules.NewJob(t.spec, options)
	if err != nil {
		t.Fatal(err)
	}
	t.job, t.bench = id, bench.New(job, parse.NewVocabulary(job.Words()))
	e := journaltest.Opening(id, len(t.all)+1)
	e.Spec, e.SpecText, e.Options = "mr5", string(t.text), options
	t.keep(e)
}

// say enters a note and returns its position.
func (t *teller) say(text string) journal.Position {
	t.Helper()
	u, answer := t.bench.Say(text)
	body, err := json.Marshal(answer)
	if err != nil {
		t.Fatal(err)
	}
	e := journaltest.Note(t.job, len(t.all)+1)
	e.Text, e.Utterance, e.Answer = text, &u, body
	return t.keep(e)
}

func open(t *testing.T, path string) *facts.Store {
	t.Helper()
	s, err := facts.Open(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.Close() })
	return s
}

func put(t *testing.T, s *facts.Store, entries []journal.Entry) {
	t.Helper()
	if err := s.Put(t.Context(), entries); err != nil {
		t.Fatal(err)
	}
}

// at makes a list of positions, the newest first.
func at(positions ...journal.Position) []journal.Position { return positions }

func rat(text string) *big.Rat {
	r, ok := new(big.Rat).SetString(text)
	if !ok {
		panic(text)
	}
	return r
}

// Values are compared in whatever unit they were said, and what the spec computes is there as well.
func TestMeasured(t *testing.T) {
	say := newTeller(t)
	say.open("MW-1", map[string]string{"stages": "3"})
	spacer := say.say("build spacer 64.00 millimetres")
	newton := say.say("collar nut stage one 48 newton metres")
	foot := say.say("collar nut stage two 35 foot pounds") // 47.45 N.m
	high := say.say("collar nut stage three 51 newton metres")
	down := say.say("end play down 90.10")
	up := say.say("end play up 88.20") // 1.9 mm
	say.open("MW-2", map[string]string{"stages": "3"})
	say.say("end play down 90.10")
	wide := say.say("end play up 87.10") // 3.0 mm, out
	say.say("no wear on the sleeve")
	s := open(t, "")
	put(t, s, say.all)

	nut, play := []string{"collar_nut_torque"}, []string{"end_play"}
	for _, tt := range []struct {
		name string
		ask  facts.Range
		want []journal.Position
	}{
		{"all of a callout", facts.Range{Callouts: nut}, at(high, foot, newton)},
		{"over, the bound itself is out", facts.Range{Callouts: nut, Low: rat("48"), Unit: "N.m"}, at(high)},
		{"at least, the bound itself is in", facts.Range{Callouts: nut, Low: rat("48"), LowIn: true, Unit: "N.m"}, at(high, newton)},
		{"under, said in another unit", facts.Range{Callouts: nut, High: rat("47.5"), Unit: "N.m"}, at(foot)},
		{"asked in another unit", facts.Range{Callouts: nut, Low: rat("36"), Unit: "[lbf_av].[ft_i]"}, at(high)},
		{"at most, without a unit: as each was said", facts.Range{Callouts: nut, High: rat("48"), HighIn: true}, at(foot, newton)},
		{"of another quantity there is none", facts.Range{Callouts: nut, Low: rat("1"), Unit: "mm"}, nil},
		{"by its verdict", facts.Range{Callouts: nut, Verdict: "out"}, at(high)},
		{"what was computed is at the note that completed it", facts.Range{Callouts: play, Low: rat("1.9"), LowIn: true, Unit: "mm"}, at(wide, up)},
		{"what was computed has a verdict", facts.Range{Callouts: play, Verdict: "out"}, at(wide)},
		{"in limits", facts.Range{Callouts: play, Verdict: "in"}, at(up)},
		{"in micrometres", facts.Range{Callouts: play, High: rat("2000"), Unit: "um"}, at(up)},
		{"of two callouts", facts.Range{Callouts: []string{"end_play", "build_spacer"}, High: rat("70"), Unit: "mm"}, at(wide, up, spacer)},
		{"of any callout, between", facts.Range{Low: rat("89"), High: rat("91"), Unit: "mm"}, at(wide-1, down)},
		{"of a callout that nobody reads", facts.Range{Callouts: []string{"x'; DROP TABLE readings; --"}}, nil},
	} {
		got, more, err := s.Measured(t.Context(), tt.ask, 100)
		if err != nil || more {
			t.Errorf("%s: more %t, error %v", tt.name, more, err)
		}
		if diff := cmp.Diff(tt.want, got); diff != "" {
			t.Errorf("%s (-want +got):\n%s", tt.name, diff)
		}
	}
	if got, more, err := s.Measured(t.Context(), facts.Range{Callouts: nut}, 2); err != nil || !more || !cmp.Equal(got, at(high, foot)) {
		t.Errorf("the newest two are %v, more %t, error %v", got, more, err)
	}
	if got, more, err := s.Measured(t.Context(), facts.Range{Callouts: nut}, 3); err != nil || more || len(got) != 3 {
		t.Errorf("all three are %v, more %t, error %v", got, more, err)
	}
}

// What is out stays out when it is read once more: the answer tells only what is new.
func TestAComputedValueStaysOut(t *testing.T) {
	say := newTeller(t)
	say.open("MW-1", map[string]string{"stages": "3"})
	say.say("end play down 90.10")
	wide := say.say("end play up 87.10") // 3.0 mm, out
	again := say.say("end play up 87.10")
	mended := say.say("end play up 88.20")
	s := open(t, "")
	put(t, s, say.all)
	for verdict, want := range map[string][]journal.Position{"out": at(again, wide), "in": at(mended)} {
		got, _, err := s.Measured(t.Context(), facts.Range{Callouts: []string{"end_play"}, Verdict: verdict}, 100)
		if diff := cmp.Diff(want, got); diff != "" || err != nil {
			t.Errorf("%s (-want +got):\n%s error %v", verdict, diff, err)
		}
	}
}

// A file goes on from where it was, and entries that come again change nothing.
func TestReopened(t *testing.T) {
	say := newTeller(t)
	say.open("MW-1", map[string]string{"base": "long", "stages": "4"})
	say.say("end play down 90.10")
	path := filepath.Join(t.TempDir(), "facts.db")
	s := open(t, path)
	put(t, s, say.all)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}

	s = open(t, path)
	if got, want := s.Last(), (facts.Mark{Position: 2, ID: say.all[1].ID}); got != want {
		t.Errorf("Last() = %v, want %v", got, want)
	}
	up := say.say("end play up 88.20") // is computed from what was put before
	put(t, s, say.all)
	put(t, s, say.all[:1])
	if got, want := s.Last(), (facts.Mark{Position: up, ID: say.all[2].ID}); got != want {
		t.Errorf("after entries of before Last() = %v, want %v", got, want)
	}
	got, _, err := s.Measured(t.Context(), facts.Range{Callouts: []string{"end_play", "end_play_down"}}, 100)
	if diff := cmp.Diff(at(up, 2), got); diff != "" || err != nil {
		t.Errorf("error %v, notes (-want +got):\n%s", err, diff)
	}
	j, ok := s.Job("MW-1")
	if !ok || j.Spec != "mr5" || j.Options["base"] != "long" {
		t.Errorf("Job = %+v, %t", j, ok)
	}
	if _, ok := s.Job("MW-2"); ok {
		t.Error("there is a job that nobody opened")
	}
	s.Read(func(k facts.Known) {
		if !k.Persons["Ines"] || !k.Specs["mr5"] || !k.Options["base"]["long"] || !k.Callouts["end_play"] {
			t.Errorf("known is %+v", k)
		}
	})
}

// A spec that cannot be read computes nothing, and its readings are there all the same.
func TestSpecOfAnotherTime(t *testing.T) {
	say := newTeller(t)
	say.open("MW-1", nil)
	say.all[0].SpecText = "spec: [of another time"
	say.say("end play down 90.10")
	up := say.say("end play up 88.20")
	s := open(t, "")
	put(t, s, say.all)
	got, _, err := s.Measured(t.Context(), facts.Range{Low: rat("1"), Unit: "mm"}, 100)
	if diff := cmp.Diff(at(up, up-1), got); diff != "" || err != nil {
		t.Errorf("error %v, notes (-want +got):\n%s", err, diff)
	}
	if got, _, err := s.Measured(t.Context(), facts.Range{Callouts: []string{"end_play"}}, 100); len(got) > 0 || err != nil {
		t.Errorf("computed by no spec: %v, error %v", got, err)
	}
}

// What is no file of facts is told apart, so that it can be made again.
func TestFileThatCannotBeUsed(t *testing.T) {
	path := filepath.Join(t.TempDir(), "facts.db")
	say := newTeller(t)
	say.open("MW-1", nil)
	for range 200 {
		say.say("collar nut stage one 48 newton metres")
	}
	s := open(t, path)
	put(t, s, say.all)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	noise := make([]byte, len(whole))
	for i := range noise {
		noise[i] = byte(i * 7)
	}
	for name, spoilt := range map[string][]byte{
		"of another program": noise, "cut short": whole[:100], "its first page overwritten": append(append([]byte{}, noise[:4096]...), whole[4096:]...),
	} {
		if err := os.WriteFile(path, spoilt, 0o600); err != nil {
			t.Fatal(err)
		}
		s, err := facts.Open(t.Context(), path)
		if !errors.Is(err, facts.ErrStale) {
			t.Errorf("%s: Open gives %v, want ErrStale", name, err)
			_ = s.Close()
		}
	}
}
