package search

import (
	"slices"

	"github.com/blevesearch/bleve/v2"
	"github.com/blevesearch/bleve/v2/search/query"
)

func term(field, value string) query.Query {
	q := bleve.NewTermQuery(value)
	q.SetField(field)
	return q
}

func anyOf(field string, values []string) query.Query {
	var out []query.Query
	for _, v := range values {
		out = append(out, term(field, v))
	}
	return either(out)
}

func either(queries []query.Query) query.Query {
	switch len(queries) {
	case 0:
		return bleve.NewMatchNoneQuery()
	case 1:
		return queries[0]
	}
	return bleve.NewDisjunctionQuery(queries...)
}

// allStems is one query for stems that must all be in a field.
func allStems(field string, stems []string) query.Query {
	var all []query.Query
	for _, s := range stems {
		all = append(all, term(field, s))
	}
	return allOf(all)
}

func allOf(queries []query.Query) query.Query {
	if len(queries) == 1 {
		return queries[0]
	}
	return bleve.NewConjunctionQuery(queries...)
}

// allStemsAnyhow is one query for stems that must all be there, affirmed or not.
func allStemsAnyhow(stems []string) query.Query {
	var all []query.Query
	for _, s := range stems {
		all = append(all, either([]query.Query{term(inText, s), term(inDenied, s)}))
	}
	return allOf(all)
}

func phrase(words []string) query.Query {
	if len(words) == 1 {
		return term(inSaid, words[0])
	}
	return query.NewPhraseQuery(words, inSaid)
}

// literal finds the words as typed, whatever their ending, wherever they are.
func (s *searching) literal(g group) query.Query {
	if g.kind == isPhrase {
		return phrase(g.plain)
	}
	all := []query.Query{allStems(inText, g.stems), allStems(inCallouts, g.stems), allStems(inSymptoms, g.stems)}
	if !g.wrong { // a part that is denied something, or whose own name is no trouble: "wear ring"
		all[0] = allStemsAnyhow(g.stems)
	}
	if own, err := s.mapping.AnalyzeText(plain, []byte(g.shown)); err == nil && len(own) > 0 {
		all = append(all, allStems(inJob, terms(own)), allStems(inPerson, terms(own)))
	}
	return either(all)
}

// of finds a group: its words as typed, and all that means the same unless that is left out.
func (s *searching) of(g group, same bool) query.Query {
	switch g.kind {
	case isPhrase:
		return phrase(g.plain)
	case isDenied:
		all := []query.Query{allStems(inDenied, g.stems)}
		for _, stem := range g.same {
			all = append(all, term(inDenied, stem))
		}
		return either(all)
	case isWord, isNear:
	}
	all := []query.Query{s.literal(g)}
	if same {
		for _, stem := range g.same {
			all = append(all, term(inText, stem))
			if !g.wrong {
				all = append(all, term(inDenied, stem))
			}
		}
		for _, id := range g.ids {
			all = append(all, term(byCondition, id))
		}
		for _, words := range g.longer {
			all = append(all, phrase(words))
		}
	}
	return either(all)
}

// both joins queries with the filters.
func (s *searching) both(parts ...query.Query) query.Query {
	must := slices.Concat(parts, s.base)
	var q query.Query
	switch len(must) {
	case 0:
		q = bleve.NewMatchAllQuery()
	case 1:
		q = must[0]
	default:
		q = bleve.NewConjunctionQuery(must...)
	}
	if len(s.none) == 0 {
		return q
	}
	b := bleve.NewBooleanQuery()
	b.AddMust(q)
	b.AddMustNot(s.none...)
	return b
}
