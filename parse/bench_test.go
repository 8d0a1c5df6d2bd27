package parse_test

import (
	"strings"
	"testing"

	"readback/parse"
	"readback/testdata"
)

// demoNotes returns the notes of the demo job.
func demoNotes(tb testing.TB) []string {
	tb.Helper()
	src, err := testdata.Files.ReadFile("notes/mr5-demo.txt")
	if err != nil {
		tb.Fatal(err)
	}
	var notes []string
	for line := range strings.Lines(string(src)) {
		if line = strings.TrimSpace(line); line != "" && line[0] != '#' {
			notes = append(notes, line)
		}
	}
	return notes
}

// BenchmarkText reads the notes of the demo job, one by one, on one core.
func BenchmarkText(b *testing.B) {
	notes, v := demoNotes(b), shop()
	b.ReportAllocs()
	i := 0
	for b.Loop() {
		parse.Text(notes[i%len(notes)], v, parse.Context{})
		i++
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "notes/s")
}

// BenchmarkQuantities reads the same notes without a vocabulary.
func BenchmarkQuantities(b *testing.B) {
	notes := demoNotes(b)
	parse.Quantities("")
	b.ReportAllocs()
	i := 0
	for b.Loop() {
		parse.Quantities(notes[i%len(notes)])
		i++
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "notes/s")
}

// BenchmarkNewVocabulary is what a job pays once.
func BenchmarkNewVocabulary(b *testing.B) {
	for b.Loop() {
		shop()
	}
}
