package search

import (
	"context"

	"github.com/blevesearch/bleve/v2/search/query"

	"readback/capture/journal"
)

// NewerMost is how many new notes are counted at most.
const NewerMost = 100

// Newer counts the notes that hold every word of a query and were kept after a position: at most
// [NewerMost]. An error wraps [ErrQuery] where the query cannot be looked for; jobs like one cannot be
// counted so.
func (x *Index) Newer(ctx context.Context, q Query, after journal.Position) (int, error) {
	if q.Like != "" {
		return 0, bad("look for words of it", "jobs like one change with every note, so that none are new")
	}
	a, err := x.read(q)
	if err != nil {
		return 0, err
	}
	s := &searching{Index: x, ctx: ctx, asked: a}
	if err := s.prepare(); err != nil {
		return 0, err
	}
	parts := make([]query.Query, 0, len(s.must))
	for _, g := range s.must {
		parts = append(parts, s.of(g, true))
	}
	found, err := s.newest(s.both(parts...), NewerMost)
	if err != nil {
		return 0, err
	}
	n := 0
	for n < len(found.Hits) && found.Hits[n].ID > documentID(after) {
		n++
	}
	return n, nil
}

// Reached returns the position that the index has reached.
func (x *Index) Reached() journal.Position {
	x.moved.Lock()
	defer x.moved.Unlock()
	return x.moved.last
}
