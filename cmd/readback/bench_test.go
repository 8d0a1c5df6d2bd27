package main

import (
	"bytes"
	"io"
	"strings"
	"testing"

	"readback/testdata"
)

// demoNotes returns the demo's notes, n of them, over and over.
func demoNotes(tb testing.TB, n int) string {
	tb.Helper()
	src, err := testdata.Files.ReadFile("notes/mr5-demo.txt")
	if err != nil {
		tb.Fatal(err)
	}
	all, err := notes("demo", bytes.NewReader(src))
	if err != nil {
		tb.Fatal(err)
	}
	var out strings.Builder
	for i := range n {
		out.WriteString(all[i%len(all)])
		out.WriteByte('\n')
	}
	return out.String()
}

// BenchmarkCheck replays 10,000 notes of the demo job through the command, with all
// that comes before the first answer.
func BenchmarkCheck(b *testing.B) {
	in := demoNotes(b, 10_000)
	for b.Loop() {
		run(b.Context(), std{in: strings.NewReader(in), out: io.Discard, err: io.Discard},
			[]string{"check", "--json", "--spec", "mr5", "--set", "base=long", "--set", "rebuild=yes", "--set", "cut_impellers=1"})
	}
	b.ReportMetric(10_000*float64(b.N)/b.Elapsed().Seconds(), "notes/s")
}

// BenchmarkStart is the command from its first line to an answer to one note; the
// process itself comes on top.
func BenchmarkStart(b *testing.B) {
	for b.Loop() {
		run(b.Context(), std{in: strings.NewReader("seat clean\n"), out: io.Discard, err: io.Discard}, []string{"check", "--spec", "mr5"})
	}
}
