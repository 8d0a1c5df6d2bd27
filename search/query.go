package search

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"
	"unicode"

	"github.com/blevesearch/bleve/v2"
	"github.com/blevesearch/bleve/v2/search/query"

	"readback/parse"
)

const (
	maxQuery = 500  // characters of a query
	maxHits  = 1000 // hits of one search
	someHits = 50   // hits where no limit is given
)

// ErrQuery wraps what is wrong with a query, in words for the one who asks.
var ErrQuery = errors.New("search")

// Hit is a note that was found.
type Hit struct {
	Job    string     `json:"job"`
	Seq    int64      `json:"seq"`
	Text   string     `json:"text"` // as said
	At     time.Time  `json:"at"`   // the server's clock, UTC
	Person string     `json:"person"`
	Kind   parse.Kind `json:"kind"`
	Sound  string     `json:"sound,omitempty"` // hash of its sound; absent for what was typed
}

// Results are the newest hits, newest first.
type Results struct {
	Hits  []Hit  `json:"hits"`  // never nil
	Total uint64 `json:"total"` // how many notes match, beyond the limit too
}

// Search returns the newest notes in which every word of text is found: in what was said,
// whatever its ending, in the callouts and symptoms that were understood, in the job's id
// or the person's name. Words in double quotes must have been said so, one behind the
// other. At most limit hits come back: 50 for a limit below 1, and never over 1000. A
// query that cannot be looked for gives an error that wraps [ErrQuery].
func (x *Index) Search(ctx context.Context, text string, limit int) (Results, error) {
	q, err := x.query(text)
	if err != nil {
		return Results{}, err
	}
	if limit < 1 {
		limit = someHits
	}
	request := bleve.NewSearchRequestOptions(q, min(limit, maxHits), 0, false)
	request.Fields = []string{inJob, "seq", inText, "at", inPerson, "kind", "sound"}
	request.SortBy([]string{"-_id"}) // ids sort as the journal does: no date is needed
	var found *bleve.SearchResult
	err = x.use(func(index bleve.Index) (err error) {
		found, err = index.SearchInContext(ctx, request)
		return err
	})
	if err != nil {
		return Results{}, fmt.Errorf("search: %w", err)
	}
	return results(found)
}

func results(found *bleve.SearchResult) (Results, error) {
	out := Results{Hits: make([]Hit, len(found.Hits)), Total: found.Total}
	for i, match := range found.Hits {
		var err error
		if out.Hits[i], err = hitOf(match.Fields); err != nil {
			return Results{}, err
		}
	}
	return out, nil
}

// query reads what was typed: words and quoted phrases, and nothing else means anything.
func (x *Index) query(text string) (query.Query, error) {
	if len([]rune(text)) > maxQuery {
		return nil, fmt.Errorf("%w: more than %d characters; ask with fewer words", ErrQuery, maxQuery)
	}
	var must []query.Query
	for i, part := range strings.Split(text, `"`) {
		if i%2 == 1 && i < strings.Count(text, `"`) { // between two quotes
			if x.hasWords(part) {
				must = append(must, phrase(part))
			}
			continue
		}
		for _, word := range strings.FieldsFunc(part, gap) {
			if x.hasWords(word) && !article(word) {
				must = append(must, anywhere(word))
			}
		}
	}
	if len(must) == 0 {
		return nil, fmt.Errorf("%w: there is no word to look for; give one, such as scored", ErrQuery)
	}
	return bleve.NewConjunctionQuery(must...), nil
}

// gap parts words. The underscore of a callout's id parts them as well.
func gap(r rune) bool { return unicode.IsSpace(r) || r == '_' }

// article reports a word that notes leave out as often as not.
func article(word string) bool {
	switch strings.ToLower(word) {
	case "a", "an", "the":
		return true
	}
	return false
}

// hasWords reports whether anything of the text would be indexed.
func (x *Index) hasWords(text string) bool {
	tokens, err := x.mapping.AnalyzeText(plain, []byte(text))
	return err == nil && len(tokens) > 0
}

func phrase(text string) query.Query {
	q := bleve.NewMatchPhraseQuery(text)
	q.SetField(inSaid)
	return q
}

// anywhere looks for one word in every field. A word such as MW-1041 is two to the index,
// and both must be in the same field.
func anywhere(word string) query.Query {
	var fields []query.Query
	for _, name := range []string{inText, inCallouts, inSymptoms, inJob, inPerson} {
		q := bleve.NewMatchQuery(word)
		q.SetField(name)
		q.SetOperator(query.MatchQueryOperatorAnd)
		fields = append(fields, q)
	}
	return bleve.NewDisjunctionQuery(fields...)
}
