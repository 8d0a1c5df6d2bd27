package search

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/blevesearch/bleve/v2"
	"github.com/blevesearch/bleve/v2/analysis/analyzer/custom"
	"github.com/blevesearch/bleve/v2/analysis/lang/en"
	"github.com/blevesearch/bleve/v2/analysis/token/lowercase"
	"github.com/blevesearch/bleve/v2/analysis/tokenizer/single"
	"github.com/blevesearch/bleve/v2/analysis/tokenizer/unicode"
	"github.com/blevesearch/bleve/v2/mapping"

	"readback/capture/facts"
	"readback/capture/journal"
	"readback/parse"
	"readback/rules"
)

// layout counts the changes of [documentOf] that the mapping itself does not show. An
// index that was made with another one is built again.
const layout = 2

const (
	stemmed = "stemmed" // "scored", "scoring" and "scores" are one word
	plain   = "plain"   // words as they were said
	whole   = "whole"   // values that are taken whole
)

// The fields that are looked in. A phrase is looked for in said alone: stems, or synonyms
// one day, would let a phrase match what nobody said, or miss it.
const (
	inText     = "text"
	inSaid     = "said"
	inCallouts = "callouts"
	inSymptoms = "symptoms"
	inJob      = "job"
	inPerson   = "person"
	inDenied   = "denied" // what a note says is not there
)

// The fields of whole values, for filters and facets.
const (
	byJob       = "by_job"
	byPerson    = "by_person"
	bySpec      = "by_spec"
	byCallout   = "by_callout"
	byVerdict   = "by_verdict"
	byOption    = "by_option"    // name=value
	byCondition = "by_condition" // as understood when the note was said
	byDay       = "by_day"       // "2031", "2031-03" and "2031-03-04" of one day: a range of dates is few terms
)

// document is a note as the index knows it. Numbers are asked for in SQL (capture/facts), where
// they cost less; a date is three words here.
type document struct {
	Text     string `json:"text"`  // stored as said
	Words    string `json:"words"` // without what is denied
	Denied   string `json:"denied"`
	Callouts string `json:"callouts"`
	Symptoms string `json:"symptoms"`
	Job      string `json:"job"`
	Person   string `json:"person"`
	Seq      string `json:"seq"`
	At       string `json:"at"` // microseconds since 1970, UTC
	Kind     string `json:"kind"`
	Sound    string `json:"sound"` // hash, "" for none
	Found    string `json:"found"` // readings and findings of its answer, JSON

	ByJob       string   `json:"by_job"`
	ByPerson    string   `json:"by_person"`
	BySpec      string   `json:"by_spec"`
	ByCallout   []string `json:"by_callout"`
	ByVerdict   []string `json:"by_verdict"`
	ByOption    []string `json:"by_option"`
	ByCondition []string `json:"by_condition"`
	ByDay       []string `json:"by_day"`
}

// newMapping lists every field; one that is not listed is neither indexed nor stored.
// Without stems, endings count.
func newMapping(stems bool) (*mapping.IndexMappingImpl, error) {
	m := bleve.NewIndexMapping()
	ending := []string{en.PossessiveName, lowercase.Name}
	if stems {
		ending = append(ending, en.SnowballStemmerName)
	}
	for name, filters := range map[string][]string{stemmed: ending, plain: {lowercase.Name}} {
		// No stop words: "not", "out" and "up" mean much on a bench.
		if err := m.AddCustomAnalyzer(name, map[string]any{
			"type": custom.Name, "tokenizer": unicode.Name, "token_filters": filters,
		}); err != nil {
			return nil, fmt.Errorf("analyzer %s: %w", name, err)
		}
	}
	if err := m.AddCustomAnalyzer(whole, map[string]any{"type": custom.Name, "tokenizer": single.Name}); err != nil {
		return nil, fmt.Errorf("analyzer %s: %w", whole, err)
	}
	note := bleve.NewDocumentStaticMapping()
	said := field(plain, true)
	said.Name = inSaid
	said.IncludeTermVectors = true // where the words are: phrases need it
	note.AddFieldMappingsAt("text", said)
	note.AddFieldMappingsAt("words", named(inText, field(stemmed, false)))
	note.AddFieldMappingsAt(inDenied, field(stemmed, false))
	note.AddFieldMappingsAt(inCallouts, field(stemmed, false))
	note.AddFieldMappingsAt(inSymptoms, field(stemmed, false))
	note.AddFieldMappingsAt(inJob, field(plain, true))
	note.AddFieldMappingsAt(inPerson, field(plain, true))
	for _, name := range []string{byJob, byPerson, bySpec, byCallout, byVerdict, byOption, byCondition, byDay} {
		f := field(whole, false)
		f.Store = name == byCondition
		f.DocValues = name != byJob && name != byOption && name != byDay // what is counted
		note.AddFieldMappingsAt(name, f)
	}
	for _, name := range []string{"seq", "at", "kind", "sound", "found"} {
		note.AddFieldMappingsAt(name, stored())
	}
	m.DefaultMapping, m.DefaultAnalyzer, m.DefaultField = note, plain, inText
	m.IndexDynamic, m.StoreDynamic, m.DocValuesDynamic = false, false, false
	return m, nil
}

func named(name string, f *mapping.FieldMapping) *mapping.FieldMapping {
	f.Name = name
	return f
}

func field(analyzer string, store bool) *mapping.FieldMapping {
	f := bleve.NewTextFieldMapping()
	f.Analyzer, f.Store = analyzer, store
	f.IncludeInAll, f.IncludeTermVectors, f.DocValues = false, false, false
	return f
}

func stored() *mapping.FieldMapping {
	f := field("", true)
	f.Index = false
	return f
}

// fingerprint tells one mapping from another.
func fingerprint(m *mapping.IndexMappingImpl) (string, error) {
	text, err := json.Marshal(m) // sorts the keys of its maps
	if err != nil {
		return "", fmt.Errorf("fingerprint of the mapping: %w", err)
	}
	sum := sha256.Sum256(fmt.Appendf(text, " layout %d", layout))
	return hex.EncodeToString(sum[:]), nil
}

// documentOf returns e as it is indexed; ok is false for an entry that is no note. job is what it
// was opened with.
func documentOf(e journal.Entry, job facts.Job) (d document, ok bool) {
	switch e.Kind {
	case journal.Note:
	case journal.Opened, journal.Photo, journal.Purged, journal.Heeded, journal.Disposed, journal.Clock:
		return document{}, false
	}
	day := e.At.Time().Format(time.DateOnly)
	d = document{
		Text: e.Text, Job: e.Job, Person: e.Person, Sound: e.Sound,
		Seq: strconv.FormatInt(e.Seq, 10), At: strconv.FormatInt(int64(e.At), 10),
		ByJob: strings.ToLower(e.Job), ByPerson: strings.ToLower(e.Person), BySpec: job.Spec,
		ByDay: []string{day[:4], day[:7], day},
	}
	for _, name := range slices.Sorted(maps.Keys(job.Options)) {
		d.ByOption = append(d.ByOption, name+"="+job.Options[name])
	}
	var absent []parse.Condition
	if u := e.Utterance; u != nil {
		ids := calloutsOf(*u)
		d.Kind, d.Callouts, d.ByCallout, absent = string(u.Kind), words(strings.Join(ids, " ")), distinct(ids), u.Symptoms
	}
	d.Words, d.Denied = affirmed(e.Text, absent)
	var understood []string
	for _, c := range absent {
		if !c.Absent && stands(c, d.Words) {
			d.ByCondition = append(d.ByCondition, c.Condition)
			understood = append(understood, c.Degree, c.Part, c.Condition, c.Where)
		}
	}
	d.ByCondition, d.Symptoms = distinct(d.ByCondition), words(strings.Join(understood, " "))
	a := facts.AnswerOf(e)
	for _, r := range a.Readings {
		d.ByVerdict = append(d.ByVerdict, string(r.Verdict))
	}
	for _, f := range a.Findings {
		if f.Severity != rules.Note {
			d.ByVerdict = append(d.ByVerdict, findingRaised)
		}
	}
	d.ByVerdict = distinct(d.ByVerdict)
	if len(a.Readings) > 0 || len(a.Findings) > 0 {
		if text, err := json.Marshal(a); err == nil {
			d.Found = string(text)
		}
	}
	return d, true
}

// findingRaised is the verdict of a note that raised a finding of severity warn or stop.
const findingRaised = "finding"

func distinct(words []string) []string {
	slices.Sort(words)
	return slices.Compact(words)
}

// calloutsOf lists the callouts that a note speaks of.
func calloutsOf(u parse.Utterance) (ids []string) {
	for _, c := range u.Claims {
		ids = append(ids, c.Callout)
	}
	for _, m := range u.Marks {
		ids = append(ids, m.Callout)
	}
	for _, t := range u.Withdrawn {
		ids = append(ids, t.Callout)
	}
	if u.Question != nil {
		for _, t := range u.Question.Targets {
			ids = append(ids, t.Callout)
		}
	}
	return ids
}

// stands reports whether a condition is there in the words that are affirmed.
func stands(c parse.Condition, affirmed string) bool {
	if c.Span.Start < 0 || c.Span.Start >= c.Span.End || c.Span.End > len(affirmed) {
		return true // nothing says where it was said
	}
	return strings.TrimSpace(affirmed[c.Span.Start:c.Span.End]) != ""
}

// words takes an id such as collar_nut_torque apart.
func words(ids string) string { return strings.ReplaceAll(ids, "_", " ") }

// documentID sorts as text in the order of the journal.
func documentID(at journal.Position) string { return fmt.Sprintf("%019d", at) }

// hitOf reads the stored fields of a document.
func hitOf(fields map[string]any) (Hit, error) {
	text := func(name string) string {
		s, _ := fields[name].(string) // a field that was empty is not stored
		return s
	}
	seq, err := strconv.ParseInt(text("seq"), 10, 64)
	if err != nil {
		return Hit{}, fmt.Errorf("read a hit: seq: %w", err)
	}
	at, err := strconv.ParseInt(text("at"), 10, 64)
	if err != nil {
		return Hit{}, fmt.Errorf("read a hit: at: %w", err)
	}
	h := Hit{
		Job: text(inJob), Seq: seq, Text: text(inSaid), At: time.UnixMicro(at).UTC(),
		Person: text(inPerson), Kind: parse.Kind(text("kind")), Sound: text("sound"),
	}
	switch c := fields[byCondition].(type) {
	case string:
		h.conditions = []string{c}
	case []any:
		for _, v := range c {
			if id, ok := v.(string); ok {
				h.conditions = append(h.conditions, id)
			}
		}
	}
	if found := text("found"); found != "" {
		if err := json.Unmarshal([]byte(found), &h.Answer); err != nil {
			return Hit{}, fmt.Errorf("read a hit: %w", err)
		}
	}
	return h, nil
}
