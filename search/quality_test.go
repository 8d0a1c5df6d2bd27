package search_test

import (
	"slices"
	"strings"
	"sync"
	"testing"

	"readback/capture/journal"
	"readback/parse/symptom"
	"readback/search"
	"readback/search/history"
)

// judged are queries as people put them, and the cases of [history.Cases] that answer them. They were
// judged by the case alone and not by the words that it is told in.
var judged = []struct {
	query string
	cases string // parted by spaces
}{
	{"the unit that seized after sand", "seized-sand"},
	{"pump stuck solid, grit", "seized-sand"},
	{"jammed with silt", "seized-sand"},
	{"locked up after pumping mud", "seized-sand"},
	{"would not turn after standing all winter", "seized-rust"},
	{"rusted stuck", "seized-rust"},
	{"corroded shaft frozen", "seized-rust"},
	{"scored thrust washer", "washer-scored"},
	{"scratches on thrust washer", "washer-scored"},
	{"gouged thrust ring", "washer-scored"},
	{"thurst washer scord", "washer-scored"},
	{"grooved sleeve", "sleeve-groove"},
	{"seal has cut a ridge in the sleeve", "sleeve-groove"},
	{"noisy bearing", "bearing-noise"},
	{"bearing whine", "bearing-noise"},
	{"rough growling ball race", "bearing-noise"},
	{"rattling coupling", "coupling-rattle"},
	{"knocking at the coupling", "coupling-rattle"},
	{"vibration", "vibration"},
	{"pipework shaking", "vibration"},
	{"unbalanced impeller", "vibration"},
	{"leaking mechanical seal", "seal-leak repeat-seal"},
	{"shaft seal drips", "seal-leak"},
	{"cable gland leaks", "gland-leak"},
	{"damp in the plug", "gland-leak"},
	{"water in oil", "milky-oil"},
	{"cloudy oil", "milky-oil"},
	{"burnt winding", "winding-burnt"},
	{"smell of burning from the motor", "winding-burnt"},
	{"overheated stator", "winding-burnt"},
	{"earth fault", "earth-fault"},
	{"blows fuses", "earth-fault"},
	{"tripping breaker", "earth-fault"},
	{"frayed cable", "cable-chafed"},
	{"damaged power lead", "cable-chafed"},
	{"pitted impeller", "cavitation"},
	{"cavitation damage", "cavitation"},
	{"cracked impeller", "impeller-cracked"},
	{"broken vane", "impeller-cracked"},
	{"worn impellers", "impeller-worn"},
	{"worn wear ring", "ring-worn"},
	{"bent shaft", "shaft-bent"},
	{"shaft not straight", "shaft-bent"},
	{"blocked strainer", "strainer-blocked"},
	{"inlet full of rags", "strainer-blocked"},
	{"low flow", "low-flow"},
	{"does not pump much water", "low-flow"},
	{"loses suction", "no-prime"},
	{"run dry", "dry-run"},
	{"worn bush", "bush-worn"},
	{"broken bolt", "bolt-sheared"},
	{"damaged thread", "thread-stripped"},
	{"collar nut loose", "nut-loose"},
	{"rusty casing", "casing-corroded"},
	{"gasket damaged", "gasket-torn"},
	{"brittle o-rings", "oring-hard"},
	{"missing key", "key-missing"},
	{"high current", "amps-high"},
	{"wrong impeller fitted", "wrong-impeller"},
	{"returned with the same leak", "repeat-seal"},
	{"motor hot", "hot-running winding-burnt"},
	{"flooded motor", "flooded-motor"},
	{"hums and will not start", "hum-no-start"},
	{"screaming noise at speed", "whine"},
}

// The floors under which the quality may not fall.
const (
	recallFloor     = 0.76
	reciprocalFloor = 0.95
)

// TestQuality looks for what happened to units of the demo shop in words other than those used then.
// Run it with -v for the figures, and for the queries that miss.
func TestQuality(t *testing.T) {
	if len(judged) < 60 {
		t.Fatalf("%d queries are judged", len(judged))
	}
	with := open300(t, search.OpenMemory)
	whole := quality(t, with, true)
	with.Use(nil)
	noSynonyms := quality(t, with, false)
	endings := open300(t, search.OpenWithoutStems)
	noStems := quality(t, endings, false)
	endings.Use(nil)
	neither := quality(t, endings, false)
	t.Logf("%-28s recall@5 %.3f  MRR %.3f", "synonyms and stems", whole.recall, whole.reciprocal)
	t.Logf("%-28s recall@5 %.3f  MRR %.3f", "without synonyms", noSynonyms.recall, noSynonyms.reciprocal)
	t.Logf("%-28s recall@5 %.3f  MRR %.3f", "without stems", noStems.recall, noStems.reciprocal)
	t.Logf("%-28s recall@5 %.3f  MRR %.3f", "without either", neither.recall, neither.reciprocal)
	if whole.recall < recallFloor || whole.reciprocal < reciprocalFloor {
		t.Errorf("recall@5 %.3f and MRR %.3f, want %.2f and %.2f at least", whole.recall, whole.reciprocal, recallFloor, reciprocalFloor)
	}
	if whole.recall <= noSynonyms.recall {
		t.Error("the synonyms are worth nothing")
	}
}

// open300 returns an index of the history of 300 jobs.
func open300(t *testing.T, open func() (*search.Index, error)) *search.Index {
	t.Helper()
	x, err := open()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = x.Close() })
	all, err := told300()
	if err != nil {
		t.Fatal(err)
	}
	for batch := range slices.Chunk(all, 1000) {
		if err := x.Put(batch); err != nil {
			t.Fatal(err)
		}
	}
	return x
}

// told300 reads the notes of 300 jobs, once for all tests: reading costs more than indexing.
var told300 = sync.OnceValues(func() ([]journal.Entry, error) {
	teller, err := history.NewTeller()
	if err != nil {
		return nil, err
	}
	var all []journal.Entry
	for j := range history.Jobs(seed, 300, history.Until) {
		entries, err := teller.Entries(j)
		if err != nil {
			return nil, err
		}
		all = append(all, entries...)
	}
	return all, nil
})

const seed = 1

type score struct{ recall, reciprocal float64 }

// quality returns how many of the right jobs are among the first five (of at most five), and one over
// the place of the first that is right, over all queries.
func quality(t *testing.T, x *search.Index, tell bool) score {
	t.Helper()
	right := map[string][]string{}
	for j := range history.Jobs(seed, 300, history.Until) {
		for _, c := range j.Cases {
			right[c] = append(right[c], j.ID)
		}
	}
	var sum score
	for _, q := range judged {
		var want []string
		for c := range strings.FieldsSeq(q.cases) {
			if len(right[c]) == 0 {
				t.Fatalf("case %s of %q befell nobody", c, q.query)
			}
			want = append(want, right[c]...)
		}
		r, err := x.Find(t.Context(), search.Query{Text: q.query, Order: search.Best, Typed: true})
		if err != nil {
			t.Fatalf("Find(%q): %v", q.query, err)
		}
		found, place := 0, 0
		for i, j := range r.Jobs {
			if slices.Contains(want, j.ID) {
				if i < 5 {
					found++
				}
				if place == 0 {
					place = i + 1
				}
			}
		}
		recall := float64(found) / float64(min(5, len(want)))
		sum.recall += recall
		if place > 0 {
			sum.reciprocal += 1 / float64(place)
		}
		if tell && (recall < 1 || place != 1) {
			var got []string
			for _, h := range r.Hits[:min(4, len(r.Hits))] {
				got = append(got, h.Job+" "+h.Marked("[", "]"))
			}
			t.Logf("%q: recall %.1f, first right %d, wide %t; %s", q.query, recall, place, r.Wide, strings.Join(got, " | "))
		}
	}
	return score{sum.recall / float64(len(judged)), sum.reciprocal / float64(len(judged))}
}

// A shop's own word finds what was said in others, without the index being built again.
func TestShopsOwnWords(t *testing.T) {
	x := open300(t, search.OpenMemory)
	own, err := symptom.Extend("words.yaml", []byte("words:\n  - means: sponged\n    like: pitted\n    say: [like a sponge]\n  - means: pitted\n    say: [mothy]\n"))
	if err != nil {
		t.Fatal(err)
	}
	count := func(q string) uint64 {
		r, err := x.Search(t.Context(), q, 0)
		if err != nil {
			t.Fatal(err)
		}
		return r.Total
	}
	if n := count("mothy"); n != 0 {
		t.Errorf("mothy finds %d notes before it is a word", n)
	}
	x.Use(own.Groups)
	if mothy, pitted := count("mothy"), count("pitted"); mothy == 0 || mothy != pitted {
		t.Errorf("mothy finds %d notes, pitted %d", mothy, pitted)
	}
	if n := count("sponged"); n == 0 || n >= count("pitted") {
		t.Errorf("sponged, which is narrower than pitted, finds %d notes", n)
	}
}
