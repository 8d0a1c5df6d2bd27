package grammar_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"readback/capture/hear/grammar"
	"readback/parse"
)

func TestNames(t *testing.T) {
	d := grammar.Parse(`ines IH N IH S
ines(2) IH N EH S
innes IH N AH S
varga V AA R G AH
varda V AA R D AH
martin M AA R T AH N
hale HH EY L
hales HH EY L Z
jon JH AA N
john JH AA N
joan JH OW N
reed R IY D
reid R EH D
reid(2) R IY D
ann AE N
dan D AE N
ruth R UW TH
`)
	for _, tt := range []struct {
		name   string
		people []string
		said   []string
		unsaid []grammar.Unsaid
	}{
		{"apart", []string{"Ines Varga", "Martin Hale", "Ruth"}, []string{"Ines Varga", "Martin Hale", "Ruth"}, nil},
		{"nobody", nil, nil, nil},
		{"a word that nobody knows", []string{"Martin Okafor", "Ruth"}, []string{"Ruth"}, []grammar.Unsaid{{"Martin Okafor", "no sound is known for “okafor”"}}},
		{"the same sound", []string{"Jon Reed", "Ruth", "John Reed"}, []string{"Ruth"}, []grammar.Unsaid{{"Jon Reed", "it sounds like John Reed"}, {"John Reed", "it sounds like Jon Reed"}}},
		{"the same in one of the ways to say it", []string{"Jon Reid", "Jon Reed"}, nil, []grammar.Unsaid{{"Jon Reid", "it sounds like Jon Reed"}, {"Jon Reed", "it sounds like Jon Reid"}}},
		{"but for a phone within", []string{"Ines Varga", "Ines Varda"}, nil, []grammar.Unsaid{{"Ines Varga", "it sounds like Ines Varda"}, {"Ines Varda", "it sounds like Ines Varga"}}},
		{"but for a phone at the end", []string{"Martin Hale", "Martin Hales"}, nil, []grammar.Unsaid{{"Martin Hale", "it sounds like Martin Hales"}, {"Martin Hales", "it sounds like Martin Hale"}}},
		{"but for a phone before it", []string{"Ann", "Dan", "Ruth"}, []string{"Ruth"}, []grammar.Unsaid{{"Ann", "it sounds like Dan"}, {"Dan", "it sounds like Ann"}}},
		{"one short of another", []string{"Martin", "Martin Hale"}, []string{"Martin", "Martin Hale"}, nil},
		{"two phones", []string{"Ruth Reed", "Joan Reed"}, []string{"Ruth Reed", "Joan Reed"}, nil},
		{"three alike", []string{"Jon Reed", "John Reed", "Joan Reed"}, nil, []grammar.Unsaid{{"Jon Reed", "it sounds like John Reed"}, {"John Reed", "it sounds like Jon Reed"}, {"Joan Reed", "it sounds like Jon Reed"}}},
		{"signs alone", []string{"--", "Ruth"}, []string{"Ruth"}, []grammar.Unsaid{{"--", "it has no word that can be said"}}},
		{"signs in it", []string{"Ruth “Ann” O. Hale-Reed; |<x>"}, nil, []grammar.Unsaid{{"Ruth “Ann” O. Hale-Reed; |<x>", "no sound is known for “o”"}}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			said, unsaid := grammar.Names(tt.people, d)
			if diff := cmp.Diff(tt.said, said); diff != "" {
				t.Errorf("can be said (-want +got):\n%s", diff)
			}
			if diff := cmp.Diff(tt.unsaid, unsaid); diff != "" {
				t.Errorf("cannot (-want +got):\n%s", diff)
			}
		})
	}
}

// TestTheBenchIsHandedToWhomIsKnown: the grammar holds the names that can be told by ear, and no other; without
// any it is what it was.
func TestTheBenchIsHandedToWhomIsKnown(t *testing.T) {
	j := job(t, "mr5", map[string]string{"stages": "8"})
	w, err := grammar.OfBench(j, nil, nil, []string{"Ruth Carter", "Martin Hale", "Jon Reed", "John Reed", "Tomas Okafor", "Ana-Lena Ruiz", "J. Stone"}, words(t))
	if err != nil {
		t.Fatal(err)
	}
	n := readJSGF(t, w.Grammar).net()
	for note, want := range map[string]bool{
		"hand the bench to ruth carter":     true,
		"hand the bench to martin hale":     true,
		"hand the bench to j stone":         true,
		"hand the bench to jon reed":        false,
		"hand the bench to john reed":       false,
		"hand the bench to tomas okafor":    false,
		"hand the bench to ruth hale":       false,
		"hand the bench to":                 false,
		"ruth carter":                       false,
		"hand the bench to ruth carter six": false,
	} {
		if holds, _ := n.accepts(note); holds != want {
			t.Errorf("the grammar holds %q: %t", note, holds)
		}
	}
	for _, word := range []string{"ruth", "carter", "martin", "hale", "bench"} {
		if w.Sounds[word] == "" {
			t.Errorf("%q has no sound", word)
		}
	}
	if none, err := grammar.OfBench(j, nil, nil, []string{"Tomas Okafor"}, words(t)); err != nil || none.Grammar != listen(t, j).Grammar || strings.Contains(none.Grammar, "<hand>") {
		t.Errorf("with nobody to name the grammar is another, error %v", err)
	}
}

func TestNamed(t *testing.T) {
	for said, name := range map[string]string{"martin hale": "Martin Hale", "t o'brien": "T. O’Brien", "ana lena": "Ana-Lena", "Ines": "ines"} {
		if !grammar.Named(said, name) {
			t.Errorf("%q is not heard as %q", said, name)
		}
	}
	if grammar.Named("martin", "Martin Hale") || grammar.Named("martin hale hale", "Martin Hale") {
		t.Error("a part of a name is one")
	}
}

// A disposition can be heard while something is out, and at no other time: what cannot be said is not misheard.
func TestADispositionIsHeardWhileSomethingIsOut(t *testing.T) {
	j := job(t, "mr5", map[string]string{"stages": "8"})
	in := listen(t, j)
	j.Fold(parse.Text("collar nut stage one fifty one newton metres", parse.NewVocabulary(j.Words()), parse.Context{}))
	w := listen(t, j)
	n := readJSGF(t, w.Grammar).net()
	for note, want := range map[string]bool{"use the part as is": true, "use it as is": true, "rework the part": true, "scrap that part": false, "scrap the part": true, "use": false, "scrap": false} {
		if holds, _ := n.accepts(note); holds != want {
			t.Errorf("the grammar holds %q: %t", note, holds)
		}
	}
	if strings.Contains(in.Grammar, "rework") {
		t.Error("it can be heard while nothing is out")
	}
	if diff := cmp.Diff(in.Sounds, w.Sounds); diff != "" || w.Sounds["rework"] == "" { // else the recogniser is made anew
		t.Errorf("the sounds (-in +out):\n%s", diff)
	}
	j.Fold(parse.Text("collar nut stage one forty eight newton metres", parse.NewVocabulary(j.Words()), parse.Context{}))
	if listen(t, j).Grammar != in.Grammar {
		t.Error("once it is in, the grammar is another than before")
	}
}
