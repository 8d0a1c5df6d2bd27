package bench_test

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"readback/parse"
	"readback/parse/number"
	"readback/parse/unit"
	"readback/rules"
	"readback/rules/say"
)

// own lists the callouts that take a reading with all their places.
func own(j *rules.Job) (names []parse.Name, places map[string][]parse.Place) {
	words := j.Words()
	places = map[string][]parse.Place{}
	for _, n := range words.Names {
		if n.Kind != parse.Reading || n.Derived {
			continue
		}
		at := []parse.Place{""}
		for _, id := range n.Axes {
			axis := words.Axes[slices.IndexFunc(words.Axes, func(a parse.Axis) bool { return a.ID == id })]
			var next []parse.Place
			for _, p := range at {
				for _, v := range axis.Values {
					next = append(next, p.With(id, v.Value))
				}
			}
			at = next
		}
		names, places[n.Callout] = append(names, n), at
	}
	return names, places
}

// codesOf lists the units of a quantity whose own names leave no doubt about them.
func codesOf(code string) (codes []string) {
	want, _ := unit.Lookup(code)
	for _, u := range unit.All() {
		if u.Dimension == want.Dimension && !slices.ContainsFunc(u.Forms, func(f unit.Form) bool { return f.Slang && f.Rank > 0 && (f.Say == u.One || f.Say == u.Many) }) {
			codes = append(codes, u.Code)
		}
	}
	return codes
}

// TestTheToolUnderstandsItsOwnVoice reads back what it says of a reading: any value that a job
// takes, in any unit, for any callout of three specs, at one place or several. Heard as a
// note, the sentence is the same reading.
func TestTheToolUnderstandsItsOwnVoice(t *testing.T) {
	for name, options := range map[string]map[string]string{
		"mr5":        {"base": "long", "stages": "12", "cut_impellers": "2", "rebuild": "yes"},
		"bevel-head": {"rebuild": "yes"},
		"winch":      {"rebuild": "yes"},
	} {
		shop := shopOf(t, name, options)
		job, err := rules.NewJob(shop.spec, options)
		if err != nil {
			t.Fatal(err)
		}
		names, places := own(job)
		heard := map[string]int{}
		rapid.Check(t, func(rt *rapid.T) {
			n := rapid.SampledFrom(names).Draw(rt, "callout")
			code := rapid.SampledFrom(codesOf(n.Unit)).Draw(rt, "unit")
			value, ok := number.Decimal(rapid.Int64Range(1, 99_999).Draw(rt, "digits"), rapid.IntRange(0, 4).Draw(rt, "scale"))
			at := places[n.Callout]
			first := rapid.IntRange(0, len(at)-1).Draw(rt, "place")
			u := parse.Utterance{Kind: parse.Reading}
			for _, p := range at[first : first+rapid.IntRange(1, min(3, len(at)-first)).Draw(rt, "places")] {
				u.Claims = append(u.Claims, parse.Claim{Target: parse.Target{Callout: n.Callout, At: p}, Value: value, Unit: code})
			}
			answer := shop.open(t).Fold(u)
			want := recorded(t, answer)
			if !ok || len(want) != len(u.Claims) {
				return // asked about: it is outside what is plausible
			}
			said := readBack(answer.Say, say.Quantity(value, code))
			heard[n.Callout]++
			if _, again := shop.open(t).Say(said); !slices.Equal(recorded(t, again), want) {
				rt.Fatalf("%q of %v is heard as %v: %s", said, want, recorded(t, again), again.Say)
			}
		})
		t.Logf("%s: %v", name, slices.Sorted(maps.Keys(heard)))
	}
}

// readBack cuts the sentences that hold the value out of an answer, without verdicts and findings.
func readBack(answer, value string) string {
	var out []string
	for sentence := range strings.SplitSeq(answer, ". ") {
		if strings.HasSuffix(strings.TrimRight(sentence, "."), ", "+value) {
			out = append(out, sentence)
		}
	}
	return strings.Join(out, ". ")
}
