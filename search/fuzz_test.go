package search_test

import (
	"errors"
	"strings"
	"testing"

	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/search"
)

// Whatever is typed is a search or a query that cannot be looked for, and a hit holds the
// phrase that was asked for.
func FuzzSearch(f *testing.F) {
	for _, query := range []string{`"collar nut"`, "stage 3", "the", `"`, `a"b"c"`, "\xff", "NOT (x", "_", "ſ K"} {
		f.Add(query)
	}
	x, err := search.OpenMemory()
	if err != nil {
		f.Fatal(err)
	}
	f.Cleanup(func() { _ = x.Close() })
	note := journaltest.Note("MW-1041", 1)
	note.Seq, note.Position = 1, 1
	if err := x.Put([]journal.Entry{note}); err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, query string) {
		r, err := x.Search(t.Context(), query, 1)
		if err != nil && !errors.Is(err, search.ErrQuery) {
			t.Fatalf("Search(%q): %v", query, err)
		}
		if err == nil && uint64(len(r.Hits)) != r.Total {
			t.Fatalf("Search(%q): %d hits of %d", query, len(r.Hits), r.Total)
		}
		whole := `"` + strings.ReplaceAll(note.Text, `"`, "") + `"`
		if r, err := x.Search(t.Context(), whole, 1); err != nil || r.Total != 1 {
			t.Fatalf("after Search(%q) the note is found %d times, error %v", query, r.Total, err)
		}
	})
}
