package search_test

import (
	"strings"
	"testing"
	"time"

	"readback/capture/journal/memory"
	"readback/search"
)

// Filters are recognised in what is typed, and what is left are words.
func TestTypedFilters(t *testing.T) {
	x := open300(t, search.OpenMemory)
	for _, tt := range []struct {
		query string
		want  []string // field and value
	}{
		{"end play over 2 mm in long base", []string{"callout end play", "value end play over 2 mm", "option base=long"}},
		{"scored mw-703", []string{"job MW-703"}},
		{"seized by Ines", []string{"person Ines"}},
		{"leaks before 2023-04", []string{"to 2023-03-31"}},
		{`"over 2 mm" scored`, nil},
	} {
		r, err := x.Find(t.Context(), search.Query{Text: tt.query, Typed: true, Order: search.Best})
		if err != nil {
			t.Errorf("Find(%q): %v", tt.query, err)
			continue
		}
		if len(r.Filters) != len(tt.want) {
			t.Errorf("%q: filters %+v, want %q", tt.query, r.Filters, tt.want)
			continue
		}
		for i, f := range r.Filters {
			if field, value, _ := strings.Cut(tt.want[i], " "); string(f.Field) != field || !strings.Contains(value, f.Value) || !f.Typed {
				t.Errorf("%q: filter %+v, want %q", tt.query, f, tt.want[i])
			}
		}
	}
	r, err := x.Find(t.Context(), search.Query{Text: "end play over 2 mm in long base", Typed: true})
	if err != nil || r.Total == 0 {
		t.Fatalf("%d notes, error %v", r.Total, err)
	}
	for _, j := range r.Jobs {
		if j.Options["base"] != "long" {
			t.Errorf("%s has base %s", j.ID, j.Options["base"])
		}
	}
	for _, h := range r.Hits {
		if !strings.HasPrefix(h.Text, "end play") {
			t.Errorf("found %q", h.Text)
		}
	}
	like, err := x.Find(t.Context(), search.Query{Like: r.Jobs[0].ID})
	if err != nil {
		t.Fatal(err)
	}
	for _, j := range like.Jobs {
		if j.ID == r.Jobs[0].ID {
			t.Error("a job is like itself")
		}
	}
}

// Whatever is typed is answered at once, and whatever a note holds is found as it was said.
func TestHarmless(t *testing.T) {
	s := newShop(t, memoryIndex(t), memory.New())
	long, script, turned := strings.Repeat("z", 2000), `<script>alert(1)</script> seized`, "shaft \u202edezies\u202c bent"
	for _, text := range []string{long, script, turned} {
		s.say(text)
	}
	if got := s.found("seized"); len(got) != 1 || got[0] != script {
		t.Errorf("found %q", got)
	}
	if got := s.found("bent"); len(got) != 1 || got[0] != turned {
		t.Errorf("found %q", got)
	}
	for _, q := range []string{strings.Repeat("z", 10_000), "(a+)+$", ".*", "*", "[[[[", "s* ?e", "\u202e\u202e", "-scored", strings.Repeat("ab ", 160), "NOT OR AND", `"""`, "over 1e99999 mm"} {
		start := time.Now()
		_, err := s.index.Find(t.Context(), search.Query{Text: q, Typed: true, Order: search.Best})
		if err != nil && !strings.Contains(err.Error(), ";") {
			t.Errorf("Find(%.20q): %v says not what to do", q, err)
		}
		if d := time.Since(start); d > time.Minute { // no measure: a hang should fail
			t.Errorf("Find(%.20q) took %s", q, d)
		}
	}
}
