package grammar_test

import (
	"math/rand/v2"
	"strings"
	"testing"

	"readback/capture/hear/grammar"
	"readback/capture/opening"
	"readback/rules"
)

func openingWords(t testing.TB) (*jsgf, []*rules.Spec) {
	t.Helper()
	specs := []*rules.Spec{job(t, "bevel-head", nil).Spec(), job(t, "mr5", nil).Spec()}
	w, unsaid := grammar.Opening(grammar.Desk{Specs: specs, Phrases: opening.Phrases(), Heads: []string{"MW", "B"}, Letters: opening.Letters}, words(t))
	if len(unsaid) > 0 {
		t.Errorf("cannot be heard: %v", unsaid)
	}
	for line := range strings.Lines(w.Grammar) {
		if strings.HasSuffix(line, "= <NULL>;\n") {
			t.Errorf("a rule says nothing: %s", line)
		}
	}
	return readJSGF(t, w.Grammar), specs
}

func TestWhatOpensAJobIsSayable(t *testing.T) {
	g, _ := openingWords(t)
	n := g.net()
	t.Logf("%d arcs", n.arcs)
	for _, s := range []string{
		"open job mike whiskey one zero four two", "open a new job number m w one zero four two", "new job", "open job",
		"job mike whiskey one zero four one", "one zero four one", "m r five", "dewatering pump long base eight stages",
		"open job mike whiskey one zero four two m r five long base and eight stages with two cut impellers rebuild",
		"no cut impellers", "no rebuild", "base is short", "no job mike whiskey one zero four three",
		"job b seven", "job bravo seven", "yes", "no", "scratch that", "start over", "say again", "bevel head",
	} {
		if ok, upTo := n.accepts(s); !ok {
			t.Errorf("%q cannot be heard: %d words can", s, upTo)
		}
	}
	for _, s := range []string{"collar nut stage one", "scratch that job", "stages", "job mike whiskey"} {
		if ok, _ := n.accepts(s); ok {
			t.Errorf("%q can be heard", s)
		}
	}
}

// Whatever can be heard at the desk means something there.
func TestWhatIsHeardAtTheDeskIsUnderstood(t *testing.T) {
	g, specs := openingWords(t)
	talk := opening.New(nobody{}, specs, "Ines")
	r := rand.New(rand.NewPCG(7, 1))
	for range 2000 {
		text := g.draw(r, g.public).String()
		if len(strings.Fields(text)) > 25 {
			continue
		}
		if talk.Means(text) == opening.Nothing {
			t.Errorf("%q means nothing", text)
		}
	}
}

// nobody is a floor that is not asked.
type nobody struct{ opening.Floor }

// A spec whose name no dictionary knows is spelt.
func TestASpecThatIsSpelt(t *testing.T) {
	s := &rules.Spec{ID: "wrmdrv", Options: []rules.Option{{Name: "quillet", Say: "quillets", Values: []string{"zorn", "short"}}}}
	w, unsaid := grammar.Opening(grammar.Desk{Specs: []*rules.Spec{s}, Phrases: []string{"yes"}, Letters: opening.Letters}, words(t))
	n := readJSGF(t, w.Grammar).net()
	if ok, _ := n.accepts("open job a one w r m d r v"); !ok || len(unsaid) == 0 {
		t.Errorf("it cannot be spelt; unsaid %v in\n%s", unsaid, w.Grammar)
	}
	s.Pronounce = []rules.Pronunciation{{Word: "quillets", Sounds: []string{"K W IH L AH T S"}}, {Word: "zorn", Sounds: []string{"Z AO R N"}}}
	if w, unsaid = grammar.Opening(grammar.Desk{Specs: []*rules.Spec{s}, Phrases: []string{"yes"}, Letters: opening.Letters}, words(t)); w.Sounds["zorn"] == "" {
		t.Errorf("how it sounds was given and is not taken; unsaid %v", unsaid)
	}
}
