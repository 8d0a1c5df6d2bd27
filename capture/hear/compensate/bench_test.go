package compensate_test

import (
	"math/rand/v2"
	"testing"

	"readback/capture/hear/compensate"
)

// BenchmarkNote is what the first 0.8 s of a note take, and each of its cepstra.
func BenchmarkNote(b *testing.B) {
	p := prior(b)
	r := rand.New(rand.NewPCG(1, 1))
	rows := make([][]float32, 120)
	for i := range rows {
		rows[i] = make([]float32, 13)
		for j := range rows[i] {
			rows[i][j] = float32(r.NormFloat64())
		}
		if i < 40 {
			rows[i][0] -= 10
		}
	}
	b.Run("new", func(b *testing.B) {
		for b.Loop() {
			if _, err := compensate.New(p, rows[:40], rows[40:]); err != nil {
				b.Fatal(err)
			}
		}
	})
	c, err := compensate.New(p, rows[:40], rows[40:])
	if err != nil {
		b.Fatal(err)
	}
	b.Run("clean", func(b *testing.B) {
		row := make([]float32, 13)
		for b.Loop() {
			copy(row, rows[60])
			c.Clean(row)
		}
	})
}
