package search_test

import (
	"errors"
	"testing"

	"readback/capture/journal/memory"
	"readback/search"
)

// What came after a position and holds every word is new, and no more is counted than is worth telling.
func TestNewer(t *testing.T) {
	s := newShop(t, memoryIndex(t), memory.New())
	s.say("washer scored")
	s.found("scored")
	before := s.index.Reached()
	if before != s.last {
		t.Fatalf("the index has reached %d, the last note is %d", before, s.last)
	}
	newer := func(q search.Query) int {
		t.Helper()
		n, err := s.index.Newer(t.Context(), q, before)
		if err != nil {
			t.Error(err)
		}
		return n
	}
	if n := newer(search.Query{Text: "scored"}); n != 0 {
		t.Errorf("%d are new before anything was said", n)
	}
	for _, text := range []string{"sleeve gouged", "no scratches on the sleeve", "lunch"} {
		s.say(text)
	}
	s.found("scored")
	if n := newer(search.Query{Text: "scored"}); n != 1 {
		t.Errorf("%d are new, want the one in another word", n)
	}
	if n := newer(search.Query{Filters: []search.Filter{{Field: search.OnPerson, Value: "Ines"}}}); n != 3 {
		t.Errorf("%d by Ines are new", n)
	}
	for range search.NewerMost + 5 {
		s.say("scored again")
	}
	s.found("scored")
	if n := newer(search.Query{Text: "scored"}); n != search.NewerMost {
		t.Errorf("%d are new, want at most %d", n, search.NewerMost)
	}
	for _, q := range []search.Query{{}, {Like: "MW-1041"}, {Text: "-scored"}} {
		if _, err := s.index.Newer(t.Context(), q, 0); !errors.Is(err, search.ErrQuery) {
			t.Errorf("Newer(%+v) gives %v", q, err)
		}
	}
}
