package rules_test

import (
	"fmt"
	"testing"

	"readback/parse"
)

// BenchmarkFold folds one more note into jobs of 50 and of 5,000: what came before costs
// nothing.
func BenchmarkFold(b *testing.B) {
	s := demo(b)
	for _, before := range []int{50, 5000} {
		b.Run(fmt.Sprintf("after=%d", before), func(b *testing.B) {
			job := open(b, s, "stages=18")
			said := make([]parse.Utterance, 36)
			for i := range said {
				said[i] = parse.Text(fmt.Sprintf("collar nut stage %d forty %s newton metres", i%18+1, []string{"eight", "seven"}[i/18]), job.words, parse.Context{})
			}
			for i := range before {
				job.job.Fold(said[i%len(said)])
			}
			i := 0
			for b.Loop() {
				job.job.Fold(said[i%len(said)])
				i++
			}
			b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "notes/s")
		})
	}
}
