package search

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/blevesearch/bleve/v2"
	"github.com/blevesearch/bleve/v2/analysis/analyzer/custom"
	"github.com/blevesearch/bleve/v2/analysis/lang/en"
	"github.com/blevesearch/bleve/v2/analysis/token/lowercase"
	"github.com/blevesearch/bleve/v2/analysis/tokenizer/unicode"
	"github.com/blevesearch/bleve/v2/mapping"

	"readback/capture/journal"
	"readback/parse"
)

// layout counts the changes of [documentOf] that the mapping itself does not show. An
// index that was made with another one is built again.
const layout = 1

const (
	stemmed = "stemmed" // "scored", "scoring" and "scores" are one word
	plain   = "plain"   // words as they were said
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
)

// document is a note as the index knows it. Numbers and times are only stored: they are
// asked for in SQL, where they cost less.
type document struct {
	Text     string `json:"text"` // indexed as text and as said
	Callouts string `json:"callouts"`
	Symptoms string `json:"symptoms"`
	Job      string `json:"job"`
	Person   string `json:"person"`
	Seq      string `json:"seq"`
	At       string `json:"at"` // microseconds since 1970, UTC
	Kind     string `json:"kind"`
	Sound    string `json:"sound"` // hash, "" for none
}

// newMapping lists every field; one that is not listed is neither indexed nor stored.
func newMapping() (*mapping.IndexMappingImpl, error) {
	m := bleve.NewIndexMapping()
	for name, filters := range map[string][]string{
		stemmed: {en.PossessiveName, lowercase.Name, en.SnowballStemmerName},
		plain:   {lowercase.Name},
	} {
		// No stop words: "not", "out" and "up" mean much on a bench.
		if err := m.AddCustomAnalyzer(name, map[string]any{
			"type": custom.Name, "tokenizer": unicode.Name, "token_filters": filters,
		}); err != nil {
			return nil, fmt.Errorf("analyzer %s: %w", name, err)
		}
	}
	note := bleve.NewDocumentStaticMapping()
	said := field(plain, false)
	said.Name = inSaid
	said.IncludeTermVectors = true // where the words are: phrases need it
	note.AddFieldMappingsAt(inText, field(stemmed, true), said)
	note.AddFieldMappingsAt(inCallouts, field(stemmed, false))
	note.AddFieldMappingsAt(inSymptoms, field(stemmed, false))
	note.AddFieldMappingsAt(inJob, field(plain, true))
	note.AddFieldMappingsAt(inPerson, field(plain, true))
	for _, name := range []string{"seq", "at", "kind", "sound"} {
		note.AddFieldMappingsAt(name, stored())
	}
	m.DefaultMapping, m.DefaultAnalyzer, m.DefaultField = note, plain, inText
	m.IndexDynamic, m.StoreDynamic, m.DocValuesDynamic = false, false, false
	return m, nil
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

// documentOf returns e as it is indexed; ok is false for an entry that is no note.
func documentOf(e journal.Entry) (d document, ok bool) {
	switch e.Kind {
	case journal.Note:
	case journal.Opened, journal.Photo, journal.Purged, journal.Heeded, journal.Disposed:
		return document{}, false
	}
	d = document{
		Text: e.Text, Job: e.Job, Person: e.Person, Sound: e.Sound,
		Seq: strconv.FormatInt(e.Seq, 10), At: strconv.FormatInt(int64(e.At), 10),
	}
	if u := e.Utterance; u != nil {
		d.Kind, d.Callouts, d.Symptoms = string(u.Kind), callouts(*u), symptoms(*u)
	}
	return d, true
}

// callouts lists the words of the callouts that a note speaks of.
func callouts(u parse.Utterance) string {
	var ids []string
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
	return words(strings.Join(ids, " "))
}

// symptoms lists what a note says was found; what was said not to be there is no symptom.
func symptoms(u parse.Utterance) string {
	var found []string
	for _, s := range u.Symptoms {
		if !s.Absent {
			found = append(found, s.Degree, s.Part, s.Condition, s.Where)
		}
	}
	return words(strings.Join(found, " "))
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
	return Hit{
		Job: text(inJob), Seq: seq, Text: text(inText), At: time.UnixMicro(at).UTC(),
		Person: text(inPerson), Kind: parse.Kind(text("kind")), Sound: text("sound"),
	}, nil
}
