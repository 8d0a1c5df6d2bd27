package search

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"math/bits"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/blevesearch/bleve/v2"
	"github.com/blevesearch/bleve/v2/search/query"

	"readback/capture/facts"
	"readback/parse"
	"readback/parse/symptom"
)

// Hit is a note that was found.
type Hit struct {
	Job    string       `json:"job"`
	Seq    int64        `json:"seq"`
	Text   string       `json:"text"` // as said
	At     time.Time    `json:"at"`   // the server's clock, UTC
	Person string       `json:"person"`
	Kind   parse.Kind   `json:"kind"`
	Sound  string       `json:"sound,omitempty"` // hash of its sound; absent for what was typed
	Lit    []Lit        `json:"lit,omitempty"`   // what of the text was looked for, in order, never overlapping
	Answer facts.Answer `json:"answer,omitzero"` // the readings and findings that came of it

	conditions []string // as understood when it was said
	covered    uint64   // the groups that it holds, as bits
	score      float64
}

// Lit is a stretch of a text that was looked for, in UTF-16 units, as pages count.
type Lit struct {
	From int `json:"from"`
	To   int `json:"to"` // exclusive
}

// Results are hits in their order.
type Results struct {
	Hits    []Hit    `json:"hits"`              // never nil
	Total   uint64   `json:"total"`             // how many notes match, beyond the limit too
	Jobs    []Job    `json:"jobs"`              // the jobs of the hits, in the order of their first; never nil
	Filters []Filter `json:"filters,omitempty"` // in force, those that were typed among them
	Wide    bool     `json:"wide,omitempty"`    // no note holds every word, or few: these hold some, or their job holds all
	Told    []string `json:"told,omitempty"`    // what the one who asks should know: a word that was taken for another
}

// Job is what a group of hits is shown under.
type Job struct {
	ID      string            `json:"id"`
	Spec    string            `json:"spec,omitempty"`
	Options map[string]string `json:"options,omitempty"`
	Notes   int               `json:"notes"`           // of the hits
	Ended   []Hit             `json:"ended,omitempty"` // what was done in the end: the newest notes that say so
}

// How far a search goes.
const (
	enoughJobs = 10     // jobs with every word in one note, under which jobs are looked for that hold them in several
	tier       = 300    // notes that are ranked by what they hold
	maxJobs    = 400    // jobs that are looked through for the other words
	maxValues  = 20_000 // readings in a range of values that are looked through, the newest first
	elsewhere  = 0.4    // what a word counts that another note of the job holds
	maxEnded   = 3      // notes of what was done, a job
)

// Search returns the notes in which every word of text is found, newest first: see [Index.Find].
func (x *Index) Search(ctx context.Context, text string, limit int) (Results, error) {
	return x.Find(ctx, Query{Text: text, Limit: limit})
}

// Find returns notes. Every word must be there: in what was said, whatever its ending or in a word
// that means the same, in the callouts and symptoms that were understood, in the job's id or the
// person's name. Words in double quotes must have been said so, one behind the other. A word with a
// minus before it must not be there. A condition that a note denies is not there. Where few notes
// hold every word, those come too whose job holds them, and of three words and more those that hold all but one; in the order Best that is
// so even where some do. A query that
// cannot be looked for gives an error that wraps [ErrQuery].
func (x *Index) Find(ctx context.Context, q Query) (Results, error) {
	if q.Like != "" {
		return x.like(ctx, q)
	}
	a, err := x.read(q)
	if err != nil {
		return Results{}, err
	}
	s := &searching{Index: x, ctx: ctx, asked: a, limit: limitOf(q.Limit), ranked: q.Order == Best, best: q.Order == Best, ended: q.Ended}
	if err := s.prepare(); err != nil {
		return Results{}, err
	}
	hits, total, err := s.strict(q.Order)
	if err != nil {
		return Results{}, err
	}
	out := Results{Total: total}
	if len(s.must) > 1 && (total == 0 || q.Order == Best && countJobs(hits) < enoughJobs) { // see [Index.Find]
		more, err := s.wider(hits)
		if err != nil {
			return Results{}, err
		}
		out.Wide = len(more) > len(hits)
		if total == 0 {
			out.Total = uint64(len(more))
		}
		hits = more
	}
	return s.results(out, hits)
}

func limitOf(limit int) int {
	if limit < 1 {
		return someHits
	}
	return min(limit, maxHits)
}

func countJobs(hits []Hit) int {
	jobs := map[string]bool{}
	for _, h := range hits {
		jobs[h.Job] = true
	}
	return len(jobs)
}

// searching is one search.
type searching struct {
	*Index
	ctx context.Context //nolint:containedctx // it lives as long as one call
	asked
	limit  int
	ranked bool // the best first
	best   bool // that was asked for
	ended  bool
	base   []query.Query // the filters
	none   []query.Query // what must not be there
	counts []uint64      // of a wider search: how many notes hold each group
}

// prepare makes the filters queries, and looks for words that nothing holds.
func (s *searching) prepare() error {
	for i := range s.must {
		if err := s.mend(&s.must[i]); err != nil {
			return err
		}
	}
	for _, g := range s.not {
		s.none = append(s.none, s.literal(g))
	}
	var callouts []string
	for _, f := range s.filters {
		switch f.Field {
		case OnJob:
			s.base = append(s.base, term(byJob, strings.ToLower(f.Value)))
		case OnPerson:
			s.base = append(s.base, term(byPerson, strings.ToLower(f.Value)))
		case OnSpec:
			s.base = append(s.base, term(bySpec, f.Value))
		case OnVerdict:
			s.base = append(s.base, term(byVerdict, f.Value))
		case OnOption:
			s.base = append(s.base, term(byOption, f.Value))
		case OnCondition:
			s.base = append(s.base, term(byCondition, f.Value))
		case OnCallout:
			ids := s.calloutsNamed(f.Value)
			if len(ids) == 0 {
				ids = []string{strings.Join(strings.FieldsFunc(strings.ToLower(f.Value), gap), "_")}
			}
			callouts = append(callouts, ids...)
		case From, To, OnValue:
		}
	}
	if s.days != [2]string{} {
		s.base = append(s.base, anyOf(byDay, daysWithin(s.days[0], s.days[1], time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC), time.Now().UTC().AddDate(10, 0, 0))))
	}
	if len(s.values) == 0 && len(callouts) > 0 {
		s.base = append(s.base, anyOf(byCallout, callouts))
	}
	verdict := ""
	for _, f := range s.filters {
		if f.Field == OnVerdict && f.Value != findingRaised {
			verdict = f.Value
		}
	}
	for _, v := range s.values {
		at, more, err := s.numbers.Load().Measured(s.ctx, facts.Range{
			Callouts: callouts, Low: v.low, High: v.high, LowIn: v.lowIn, HighIn: v.highIn, Unit: v.unit, Verdict: verdict,
		}, maxValues)
		if err != nil {
			return fmt.Errorf("search: %w", err)
		}
		if more {
			s.told = append(s.told, fmt.Sprintf("more than %d readings are in that range; the newest were looked through", maxValues))
		}
		ids := make([]string, len(at))
		for i, p := range at {
			ids[i] = documentID(p)
		}
		s.base = append(s.base, bleve.NewDocIDQuery(ids))
	}
	if len(s.values) > 0 { // a computed value is no verdict of the note's own
		s.base = slices.DeleteFunc(s.base, func(q query.Query) bool {
			t, ok := q.(*query.TermQuery)
			return ok && t.FieldVal == byVerdict && t.Term != findingRaised
		})
	}
	return nil
}

// mend puts a word right that nothing holds: the known word that it misspells, else what notes have
// that looks like it.
func (s *searching) mend(g *group) error {
	if g.kind != isWord || len(g.same) > 0 || len(g.stems) != 1 || slips(g.shown) == 0 {
		return nil
	}
	found, err := s.run(s.literal(*g), 0, nil)
	if err != nil || found.Total > 0 {
		return err
	}
	w := s.words.Load()
	if known := w.near(g.shown); known != "" {
		typed := g.shown
		_, groups := w.longest(w.stem(known))
		*g = s.groupOf(w, []string{known}, [][]string{w.stem(known)}, groups)
		s.told = append(s.told, fmt.Sprintf("no note has %q; %q was looked for", typed, known))
		return nil
	}
	q := bleve.NewFuzzyQuery(g.stems[0])
	q.SetField(inText)
	q.SetFuzziness(slips(g.shown))
	q.SetPrefix(1)
	near, err := s.run(q, 20, nil)
	if err != nil {
		return err
	}
	count := map[string]int{}
	for _, h := range near.Hits {
		hit, err := hitOf(h.Fields)
		if err != nil {
			return err
		}
		for _, stem := range s.stems(hit.Text) {
			if stem[0] == g.stems[0][0] && slip(stem, g.stems[0], slips(g.shown)) <= slips(g.shown) {
				count[stem]++
			}
		}
	}
	for stem := range count {
		g.same = append(g.same, stem)
	}
	if slices.Sort(g.same); len(g.same) > 0 {
		s.told = append(s.told, fmt.Sprintf("no note has %q; words that look like it were looked for", g.shown))
	}
	return nil
}

// fieldsOfHit are the stored fields that a hit is made of.
var fieldsOfHit = []string{inJob, "seq", inSaid, "at", inPerson, "kind", "sound", "found", byCondition}

// run runs a query for its newest notes. Nothing is scored by the engine: a rare synonym would weigh
// more than the word itself, and postings alone are several times faster.
func (s *searching) run(q query.Query, limit int, facets bleve.FacetsRequest) (*bleve.SearchResult, error) {
	var fields []string
	if limit > 0 {
		fields = fieldsOfHit
	}
	return s.ask(q, limit, fields, facets)
}

// newest runs a query for the ids of its newest notes.
func (s *searching) newest(q query.Query, limit int) (*bleve.SearchResult, error) {
	return s.ask(q, limit, nil, nil)
}

func (s *searching) ask(q query.Query, limit int, fields []string, facets bleve.FacetsRequest) (*bleve.SearchResult, error) {
	request := bleve.NewSearchRequestOptions(q, limit, 0, false)
	request.Fields = fields
	request.Score = "none"
	request.SortBy([]string{"-_id"}) // ids sort as the journal does: no date is needed
	request.Facets = facets
	var found *bleve.SearchResult
	err := s.use(func(index bleve.Index) (err error) {
		found, err = index.SearchInContext(s.ctx, request)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("search: %w", err)
	}
	return found, nil
}

// hits runs a query; covered are the groups that its notes hold.
func (s *searching) hits(q query.Query, limit int, covered uint64) ([]Hit, uint64, error) {
	found, err := s.run(q, limit, nil)
	if err != nil {
		return nil, 0, err
	}
	out := make([]Hit, len(found.Hits))
	for i, match := range found.Hits {
		if out[i], err = hitOf(match.Fields); err != nil {
			return nil, 0, err
		}
		out[i].covered = covered
	}
	return out, found.Total, nil
}

// every is all groups as bits.
func (s *searching) every() uint64 { return 1<<len(s.must) - 1 }

// strict finds notes that hold every group. The best are those in the very words.
func (s *searching) strict(order Order) ([]Hit, uint64, error) {
	parts := func(same bool) (all []query.Query) {
		for _, g := range s.must {
			all = append(all, s.of(g, same))
		}
		return all
	}
	hits, total, err := s.hits(s.both(parts(true)...), s.limit, s.every())
	if err != nil || order != Best || uint64(len(hits)) == total {
		return hits, total, err
	}
	direct, _, err := s.hits(s.both(parts(false)...), max(s.limit, tier), s.every())
	return merge(direct, hits), total, err
}

// merge joins hits without repeating any; what is covered by either is.
func merge(lists ...[]Hit) (out []Hit) {
	type key struct {
		job string
		seq int64
	}
	at := map[key]int{}
	for _, h := range slices.Concat(lists...) {
		if i, ok := at[key{h.Job, h.Seq}]; ok {
			out[i].covered |= h.covered
			continue
		}
		at[key{h.Job, h.Seq}] = len(out)
		out = append(out, h)
	}
	return out
}

// wider adds notes that hold some of the groups, of jobs that hold all of them first.
func (s *searching) wider(hits []Hit) ([]Hit, error) {
	lists := [][]Hit{hits}
	add := func(q query.Query, limit int, covered uint64) ([]Hit, error) {
		more, _, err := s.hits(q, limit, covered)
		lists = append(lists, more)
		return more, err
	}
	s.ranked = true
	rarest, fewest := 0, uint64(math.MaxUint64)
	s.counts = make([]uint64, len(s.must))
	for i, g := range s.must {
		found, err := s.run(s.both(s.of(g, true)), 0, nil)
		if err != nil {
			return nil, err
		}
		if s.counts[i] = found.Total; found.Total > 0 && found.Total < fewest {
			rarest, fewest = i, found.Total
		}
	}
	first, err := add(s.both(s.of(s.must[rarest], true)), tier, 1<<rarest)
	if err != nil {
		return nil, err
	}
	var jobs []string
	for _, h := range first {
		if id := strings.ToLower(h.Job); !slices.Contains(jobs, id) && len(jobs) < maxJobs {
			jobs = append(jobs, id)
		}
	}
	for i, g := range s.must {
		if i != rarest {
			if _, err := add(s.both(s.of(g, true), anyOf(byJob, jobs)), tier, 1<<i); err != nil {
				return nil, err
			}
		}
		if len(s.must) < 3 {
			continue
		}
		var rest []query.Query
		for k, other := range s.must {
			if k != i {
				rest = append(rest, s.of(other, true))
			}
		}
		if _, err := add(s.both(rest...), s.limit, s.every()&^(1<<i)); err != nil {
			return nil, err
		}
	}
	return s.worthIt(merge(lists...)), nil
}

// worthIt keeps the notes of jobs that hold every group, or where there are more than two all but
// one.
func (s *searching) worthIt(hits []Hit) []Hit {
	m, jobs := s.matcher(), map[string]uint64{}
	for i := range hits {
		m.light(&hits[i])
		jobs[hits[i].Job] |= hits[i].covered
	}
	need := len(s.must)
	if need > 2 {
		need--
	}
	unknown := 0
	for i, g := range s.must {
		if s.counts[i] == 0 {
			unknown++
			s.told = append(s.told, "no note has "+strconv.Quote(g.shown))
		}
	}
	if s.best {
		need = max(1, min(need, len(s.must)-unknown))
	}
	return slices.DeleteFunc(hits, func(h Hit) bool { return bits.OnesCount64(jobs[h.Job]) < need })
}

// results lights the words, ranks where that was asked for, and groups by job.
func (s *searching) results(out Results, hits []Hit) (Results, error) {
	m := s.matcher()
	for i := range hits {
		m.light(&hits[i])
	}
	if s.ranked {
		rank(hits, m.weights)
	}
	if len(hits) > s.limit {
		hits = hits[:s.limit]
	}
	out.Hits, out.Filters, out.Told = append([]Hit{}, hits...), s.filters, s.told
	out.Jobs = []Job{}
	at := map[string]int{}
	for _, h := range out.Hits {
		i, ok := at[h.Job]
		if !ok {
			i = len(out.Jobs)
			at[h.Job] = i
			j, _ := s.numbers.Load().Job(h.Job)
			out.Jobs = append(out.Jobs, Job{ID: h.Job, Spec: j.Spec, Options: j.Options})
		}
		out.Jobs[i].Notes++
	}
	if !s.ended || len(out.Jobs) == 0 {
		return out, nil
	}
	return out, s.endings(out.Jobs, at)
}

// endings adds what was done about it.
func (s *searching) endings(jobs []Job, at map[string]int) error {
	w := s.words.Load()
	var deeds []int
	for i, g := range w.groups {
		if g.Sort == symptom.IsDeed && g.ID != "returned" {
			deeds = append(deeds, i)
		}
	}
	g := s.groupOf(w, nil, nil, deeds)
	var done, ids []query.Query
	for _, stem := range g.same {
		done = append(done, term(inText, stem))
	}
	for _, words := range g.longer {
		done = append(done, phrase(words))
	}
	for _, j := range jobs {
		ids = append(ids, term(byJob, strings.ToLower(j.ID)))
	}
	notes, _, err := s.hits(bleve.NewConjunctionQuery(either(done), either(ids)), maxHits, 0)
	if err != nil {
		return err
	}
	for _, h := range notes {
		if i, ok := at[h.Job]; ok && len(jobs[i].Ended) < maxEnded {
			jobs[i].Ended = append(jobs[i].Ended, h)
		}
	}
	return nil
}

// rank puts the best first: jobs by their best note and by what their other notes add to it, and
// the notes of a job together.
func rank(hits []Hit, weights []float64) {
	type sum struct {
		best    float64
		covered uint64
		of      uint64
		at      time.Time
	}
	jobs := map[string]*sum{}
	for i := range hits {
		h := &hits[i]
		j := jobs[h.Job]
		if j == nil {
			j = &sum{}
			jobs[h.Job] = j
		}
		j.covered |= h.covered
		if h.score > j.best {
			j.best, j.of = h.score, h.covered
		}
		if h.At.After(j.at) {
			j.at = h.At
		}
	}
	score := func(j *sum) float64 {
		s := j.best
		for g, w := range weights {
			if j.covered&^j.of&(1<<g) != 0 {
				s += elsewhere * w
			}
		}
		return s
	}
	slices.SortStableFunc(hits, func(a, b Hit) int {
		if a.Job != b.Job {
			j, k := jobs[a.Job], jobs[b.Job]
			return cmp.Or(cmp.Compare(score(k), score(j)), k.at.Compare(j.at), strings.Compare(b.Job, a.Job))
		}
		return cmp.Or(cmp.Compare(b.score, a.score), cmp.Compare(b.Seq, a.Seq))
	})
}
