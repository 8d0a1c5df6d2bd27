package search

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/blevesearch/bleve/v2"
	"github.com/blevesearch/bleve/v2/search/query"

	"readback/capture/facts"
	"readback/parse/symptom"
)

// Bounds of a search for jobs like one.
const (
	likeNotes  = 200 // notes of the job that are read, its newest
	likeGroups = 10  // what is said in the fewest other notes
)

// like finds jobs that had the same trouble: the conditions that the job's notes speak of are looked
// for in the others, the rarest first, and the jobs that share the most of them are the best.
func (x *Index) like(ctx context.Context, q Query) (Results, error) {
	if len(q.Like) > 100 {
		return Results{}, bad("give its id", "that is no job")
	}
	a := asked{}
	for _, f := range q.Filters {
		if err := x.take(&a, f); err != nil {
			return Results{}, err
		}
	}
	s := &searching{Index: x, ctx: ctx, asked: a, limit: limitOf(q.Limit), ranked: true, ended: q.Ended}
	if err := s.prepare(); err != nil {
		return Results{}, err
	}
	own, _, err := s.hits(term(byJob, strings.ToLower(q.Like)), likeNotes, 0)
	if err != nil {
		return Results{}, err
	}
	if len(own) == 0 {
		return Results{}, bad("look for it by a word that was said on it", "there is no job %s with notes", q.Like)
	}
	s.none = append(s.none, term(byJob, strings.ToLower(q.Like)))
	if s.must, err = s.troubles(own); err != nil {
		return Results{}, err
	}
	if len(s.must) == 0 {
		s.told = append(s.told, "the notes of "+own[0].Job+" speak of no trouble")
		return s.results(Results{}, nil)
	}
	var lists [][]Hit
	for i, g := range s.must {
		found, _, err := s.hits(s.both(s.of(g, true)), tier, 1<<i)
		if err != nil {
			return Results{}, err
		}
		lists = append(lists, found)
	}
	var shown []string
	for _, g := range s.must {
		shown = append(shown, g.shown)
	}
	s.told = append(s.told, fmt.Sprintf("%s had: %s", own[0].Job, strings.Join(shown, ", ")))
	hits := merge(lists...)
	return s.results(Results{Total: uint64(len(hits))}, hits)
}

// troubles returns what notes say is wrong, the rarest first.
func (s *searching) troubles(notes []Hit) ([]group, error) {
	w, m := s.words.Load(), &matcher{Index: s.Index}
	ids := map[int]string{}
	for i := range notes {
		tokens := m.tokens(notes[i].Text)
		stems := make([]string, len(tokens))
		for k, t := range tokens {
			if stems[k] = t.stem; t.denied {
				stems[k] = ""
			}
		}
		for k := 0; k < len(stems); k++ {
			n, groups := w.longest(stems[k:])
			for _, g := range groups {
				if w.groups[g].Sort == symptom.IsCondition {
					ids[g] = w.groups[g].ID
				}
			}
			k += max(n-1, 0)
		}
	}
	type counted struct {
		group
		n uint64
	}
	var all []counted
	for id, shown := range ids {
		stems := s.stems(shown)
		g := s.groupOf(w, []string{shown}, [][]string{stems}, []int{id})
		found, err := s.run(s.both(s.of(g, true)), 0, nil)
		if err != nil {
			return nil, err
		}
		if found.Total > 0 {
			all = append(all, counted{g, found.Total})
		}
	}
	slices.SortFunc(all, func(a, b counted) int {
		if a.n != b.n {
			return int(a.n) - int(b.n)
		}
		return strings.Compare(a.shown, b.shown)
	})
	all = all[:min(len(all), likeGroups)]
	var out []group
	for _, c := range all {
		out, s.counts = append(out, c.group), append(s.counts, c.n)
	}
	return out, nil
}

// Facet counts the matching notes by the values of a field.
type Facet struct {
	Field  Field   `json:"field"`
	Values []Count `json:"values"` // the most first
}

// Count is how many notes have a value.
type Count struct {
	Value string `json:"value"`
	Shown string `json:"shown"` // as people read it
	Notes int    `json:"notes"`
}

// facetValues is how many values of a field are listed.
const facetValues = 8

// Facets counts all notes that hold every word of the query, by what they may be filtered by.
func (x *Index) Facets(ctx context.Context, q Query) ([]Facet, error) {
	a, err := x.read(q)
	if err != nil {
		return nil, err
	}
	s := &searching{Index: x, ctx: ctx, asked: a}
	if err := s.prepare(); err != nil {
		return nil, err
	}
	request := bleve.FacetsRequest{}
	fields := []struct {
		on Field
		by string
	}{{OnCondition, byCondition}, {OnCallout, byCallout}, {OnVerdict, byVerdict}, {OnPerson, byPerson}, {OnSpec, bySpec}}
	for _, f := range fields {
		request[string(f.on)] = bleve.NewFacetRequest(f.by, facetValues)
	}
	parts := make([]query.Query, 0, len(s.must))
	for _, g := range s.must {
		parts = append(parts, s.of(g, true))
	}
	found, err := s.run(s.both(parts...), 0, request)
	if err != nil {
		return nil, err
	}
	out := []Facet{}
	for _, f := range fields {
		facet := Facet{Field: f.on, Values: []Count{}}
		if r := found.Facets[string(f.on)]; r != nil && r.Terms != nil {
			for _, t := range r.Terms.Terms() {
				facet.Values = append(facet.Values, Count{t.Term, x.named(f.on, t.Term), t.Count})
			}
		}
		if len(facet.Values) > 0 {
			out = append(out, facet)
		}
	}
	return out, nil
}

// named shows a value of a facet: persons as they write themselves.
func (x *Index) named(on Field, value string) string {
	switch on {
	case OnPerson:
		x.numbers.Load().Read(func(k facts.Known) {
			for p := range k.Persons {
				if strings.EqualFold(p, value) {
					value = p
				}
			}
		})
	case OnCallout:
		return words(value)
	case OnVerdict:
		if value == findingRaised {
			return "with a finding"
		}
	case OnJob, OnSpec, OnOption, OnCondition, From, To, OnValue:
	}
	return value
}
