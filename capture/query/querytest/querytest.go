// Package querytest is a shop for tests of what is asked over many jobs: a real floor on a
// real store, whose clock the test sets, and published series of readings as its notes.
package querytest

import (
	"context"
	"fmt"
	"math/rand/v2"
	"strconv"
	"testing"
	"testing/fstest"
	"time"

	"github.com/rs/zerolog"

	"readback/capture/floor"
	"readback/capture/floor/floortest"
	"readback/capture/journal"
	"readback/capture/query"
	"readback/capture/wire"
)

// Shop is a floor on a store, with the demo's register of instruments.
type Shop struct {
	Store journal.Store
	Floor *floor.Floor
	*query.Journal
	Now   time.Time // the server's clock; each note moves it by a minute
	notes int
}

// New returns a shop with the demo's specs, on 2 March 2026.
func New(t testing.TB, store journal.Store) *Shop {
	t.Helper()
	return With(t, store, floortest.Specs(t))
}

// With is [New] with other specs.
func With(t testing.TB, store journal.Store, specs floor.Specs) *Shop {
	t.Helper()
	s := &Shop{Store: store, Now: time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)}
	s.Floor = floor.New(floor.Config{
		Reader: store, Writer: s, Specs: specs, Shop: floortest.Register(t), Program: "test", Log: zerolog.Nop(), Now: func() time.Time { return s.Now },
	})
	s.Journal = query.New(store, s.Floor, nil)
	return s
}

// Append is the floor's writer.
func (s *Shop) Append(ctx context.Context, e journal.Entry) (journal.Result, error) {
	results, err := s.Store.Append(ctx, []journal.Entry{e})
	if err != nil {
		return journal.Result{}, err
	}
	return results[0], results[0].Err
}

// Open opens a job.
func (s *Shop) Open(t testing.TB, id, spec string, options map[string]string) {
	t.Helper()
	if _, _, err := s.Floor.OpenJob(t.Context(), wire.OpenJob{ID: id, Spec: spec, Options: options, Person: "Ines"}); err != nil {
		t.Fatal(err)
	}
}

// Say says notes on a job, a minute apart.
func (s *Shop) Say(t testing.TB, job, person string, notes ...string) {
	t.Helper()
	seat, _, err := s.Floor.Sit(t.Context(), job, floor.Speaker{Bench: "bench 1", Person: person}, func([]byte) {})
	if err != nil {
		t.Fatal(err)
	}
	defer seat.Leave()
	for _, text := range notes {
		s.notes++
		s.Now = s.Now.Add(time.Minute)
		if _, err := seat.Say(t.Context(), wire.Note{ID: fmt.Sprintf("01J0000001%016d", s.notes), Text: text}); err != nil {
			t.Fatalf("%q: %v", text, err)
		}
	}
}

// History does n jobs of an MR-5, one a day from 2 January 2026 on, each with three collar
// nuts, a spacer and an end play. Wrench seven reads two per cent low from 1 March on; wrenches
// two and nine do not. The seed decides the rest.
func (s *Shop) History(t testing.TB, n int, seed uint64) {
	t.Helper()
	r := rand.New(rand.NewPCG(seed, 1)) //nolint:gosec // repeatable is what it has to be
	people := []string{"Ines", "Tom"}
	for i := range n {
		s.Now = time.Date(2026, 1, 2+i, 9, 0, 0, 0, time.UTC)
		id, wrench := fmt.Sprintf("MW-%d", 2001+i), []string{"seven", "two", "nine"}[i%3]
		base, spacer := "short", 64.0
		if i%4 == 3 {
			base, spacer = "long", 88.5
		}
		low := 1.0
		if wrench == "seven" && !s.Now.Before(time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)) {
			low = 0.98
		}
		s.Open(t, id, "mr5", map[string]string{"base": base, "stages": "3"})
		notes := []string{fmt.Sprintf("build spacer %.2f mm", spacer+0.03*r.NormFloat64())}
		for _, stage := range []string{"one", "two", "three"} {
			notes = append(notes, fmt.Sprintf("collar nut stage %s %.1f newton metres on wrench %s", stage, low*(48+0.35*r.NormFloat64()), wrench))
		}
		down := 82 + 0.2*r.NormFloat64()
		notes = append(notes, fmt.Sprintf("end play down %.2f up %.2f mm", down, down-1.6+0.15*r.NormFloat64()))
		s.Say(t, id, people[i%2], notes...)
	}
}

// published is a spec for the published series: a flow without limits, and a length with
// those of the example of capability.
const published = `spec: published
revision: "A"
title: Published examples
source: NIST/SEMATECH e-Handbook of Statistical Methods
callouts:
  - id: flow
    say: [flow, flow rate]
    unit: L/min
    source: 6.3.2
  - id: length
    say: [length]
    unit: mm
    limits: {min: 8, max: 20}
    plausible: 0..100
    source: 6.1.6
`

// Published returns a shop with a spec for published series; see [Shop.Series].
func Published(t testing.TB, store journal.Store) *Shop {
	t.Helper()
	specs, err := floor.LoadSpecs(fstest.MapFS{"published.yaml": {Data: []byte(published)}})
	if err != nil {
		t.Fatal(err)
	}
	return With(t, store, specs)
}

// Series says one reading a job and day: name is "flow" with litres per minute, or "length"
// with millimetres.
func (s *Shop) Series(t testing.TB, name string, values []float64) {
	t.Helper()
	unit := map[string]string{"flow": "litres per minute", "length": "mm"}[name]
	for i, v := range values {
		s.Now = s.Now.AddDate(0, 0, 1)
		id := fmt.Sprintf("%s-%d", name, i+1)
		s.Open(t, id, "published", nil)
		s.Say(t, id, "Ines", fmt.Sprintf("%s %s %s", name, strconv.FormatFloat(v, 'f', -1, 64), unit))
	}
}
