package search_test

import (
	"fmt"
	"path/filepath"
	"testing"

	"readback/capture/journal"
	"readback/capture/journal/journaltest"
	"readback/parse"
	"readback/search"
)

// notesOf returns n entries of many jobs, as a journal gives them.
func notesOf(from, n int) []journal.Entry {
	said := []string{"thrust washer scored", "collar nut stage %d forty eight", "seat clean", "rod %d fourteen", "shaft runout oh point oh %d"}
	entries := make([]journal.Entry, n)
	for i := range entries {
		at := from + i
		e := journaltest.Note(fmt.Sprintf("MW-%d", 1041+at/200), at)
		e.Seq, e.Position, e.Text = int64(at%200+1), journal.Position(at), fmt.Sprintf(said[at%len(said)]+" %d", at%9, at)
		e.Utterance = &parse.Utterance{Text: e.Text, Kind: parse.Remark}
		entries[i] = e
	}
	return entries
}

// BenchmarkPut is what one batch of notes costs, until it is on the disk.
func BenchmarkPut(b *testing.B) {
	for _, size := range []int{1, 100, 1000} {
		b.Run(fmt.Sprintf("notes=%d", size), func(b *testing.B) {
			x, err := search.Open(filepath.Join(b.TempDir(), "search"))
			if err != nil {
				b.Fatal(err)
			}
			at := 1
			for b.Loop() {
				if err := x.Put(notesOf(at, size)); err != nil {
					b.Fatal(err)
				}
				at += size
			}
			b.ReportMetric(float64(at-1)/b.Elapsed().Seconds(), "notes/s")
			if err := x.Close(); err != nil {
				b.Fatal(err)
			}
		})
	}
}

// BenchmarkSearch is one search for the newest 50 of 20,000 notes.
func BenchmarkSearch(b *testing.B) {
	x, err := search.Open(filepath.Join(b.TempDir(), "search"))
	if err != nil {
		b.Fatal(err)
	}
	defer x.Close()
	for at := 1; at <= 20_000; at += 1000 {
		if err := x.Put(notesOf(at, 1000)); err != nil {
			b.Fatal(err)
		}
	}
	for _, query := range []string{"scored", "collar nut", `"washer scored"`, "MW-1050 seat"} {
		b.Run(query, func(b *testing.B) {
			for b.Loop() {
				if r, err := x.Search(b.Context(), query, 50); err != nil || r.Total == 0 {
					b.Fatalf("%d hits, error %v", r.Total, err)
				}
			}
		})
	}
}
