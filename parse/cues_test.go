package parse

import (
	"strings"
	"testing"
)

// TestEachPhraseHasOneMeaning: of a phrase under two cues the second is never seen, and a small word
// of several words never matches. Every cue is explained.
func TestEachPhraseHasOneMeaning(t *testing.T) {
	seen := map[string]cue{}
	for _, p := range cuePhrases() {
		if meansOf[p.cue] == "" {
			t.Errorf("cue %d (%.20s...) has no explanation", p.cue, p.phrases)
		}
		for phrase := range strings.SplitSeq(p.phrases, "|") {
			if other, twice := seen[phrase]; twice {
				t.Errorf("%q stands under %q and %q", phrase, meansOf[other], meansOf[p.cue])
			}
			seen[phrase] = p.cue
		}
	}
	for _, w := range append(fillerWords(), strings.Split(inners, "|")...) {
		if strings.Contains(w, " ") {
			t.Errorf("%q is no single word", w)
		}
	}
}
