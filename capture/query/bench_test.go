package query_test

import (
	"testing"

	"readback/capture/journal/memory"
	"readback/capture/query"
)

// BenchmarkReadings asks for a callout over 300 jobs: after a start, when all are folded, and
// again, when they are held.
func BenchmarkReadings(b *testing.B) {
	s := newShop(b, memory.New())
	s.History(b, 300, 1)
	nuts := query.Filter{Spec: "mr5", Callout: "collar_nut_torque"}
	ask := func(b *testing.B, q *query.Journal) {
		b.Helper()
		if a, err := q.Readings(b.Context(), nuts); err != nil || len(a.Readings) != 900 {
			b.Fatalf("%d readings, error %v", len(a.Readings), err)
		}
	}
	b.Run("folded", func(b *testing.B) {
		for b.Loop() {
			ask(b, query.New(s.Store, s.Floor, nil))
		}
	})
	b.Run("held", func(b *testing.B) {
		q := query.New(s.Store, s.Floor, nil)
		ask(b, q)
		for b.Loop() {
			ask(b, q)
		}
	})
}
