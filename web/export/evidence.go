package export

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"readback/capture/evidence"
	"readback/capture/journal"
	"readback/capture/wire"
)

// Reader reads a file by its hash and checks it: an evidence.Files.
type Reader interface {
	Get(hash string) ([]byte, error)
}

// State is what became of a file that the record names.
type State string

// The states.
const (
	Kept    State = "kept"    // it is there, and has its hash
	Purged  State = "purged"  // the record says so
	Missing State = "missing" // it is not there, though the record says that it is kept
	Changed State = "changed" // it does not have its hash
	Unread  State = "unread"  // it could not be read
)

// Item is a sound or a photo of the record, checked when the record was exported.
type Item struct {
	Seq   int64         `json:"seq"` // of the entry that names it
	Sort  evidence.Sort `json:"sort"`
	Of    int64         `json:"of,omitempty"` // of a photo: the seq of its note
	Hash  string        `json:"hash"`
	State State         `json:"state"`
	Gone  *wire.Gone    `json:"gone,omitempty"` // of a purged one

	Inside bool `json:"inside,omitempty"` // the bundle has the file itself: see [WriteWithFiles]
}

// Check looks at every file that the entries name, one after the other, until ctx ends. A folder that is
// nil has none.
func Check(ctx context.Context, entries []journal.Entry, sounds, photos Reader) ([]Item, error) {
	gone := map[int64]*wire.Gone{}
	for _, e := range entries {
		if e.Purge == nil {
			continue
		}
		for _, it := range e.Purge.Items {
			gone[it.Seq] = &wire.Gone{At: e.At.Time(), Rule: e.Purge.Rule}
		}
	}
	items := []Item{}
	for _, e := range entries {
		sort, hash := evidence.Of(e)
		if hash == "" {
			continue
		}
		if err := context.Cause(ctx); err != nil {
			return nil, fmt.Errorf("check the files of a job: %w", err)
		}
		it := Item{Seq: e.Seq, Sort: sort, Of: e.Of, Hash: hash, State: Purged, Gone: gone[e.Seq]}
		if it.Gone == nil {
			from := sounds
			if sort == evidence.Photo {
				from = photos
			}
			it.look(from)
		}
		items = append(items, it)
	}
	return items, nil
}

// look reads the file and says how it is.
func (it *Item) look(from Reader) {
	err := evidence.ErrGone
	if from != nil {
		_, err = from.Get(it.Hash)
	}
	switch {
	case err == nil:
		it.State = Kept
	case errors.Is(err, evidence.ErrGone):
		it.State = Missing
	case errors.Is(err, evidence.ErrChanged):
		it.State = Changed
	default:
		it.State = Unread
	}
}

// Words says for people how the file is.
func (it *Item) Words() string {
	switch it.State {
	case Kept:
		return fmt.Sprintf("%s kept, SHA-256 %s", it.Sort, it.Hash)
	case Purged:
		return fmt.Sprintf("%s %s (SHA-256 %s)", it.Sort, it.Gone.Words(), it.Hash)
	case Missing:
		return fmt.Sprintf("%s missing: the record says that it is kept (SHA-256 %s)", it.Sort, it.Hash)
	case Changed:
		return fmt.Sprintf("%s changed: the file is not what was kept (SHA-256 %s)", it.Sort, it.Hash)
	case Unread:
	}
	return fmt.Sprintf("%s could not be read (SHA-256 %s)", it.Sort, it.Hash)
}

// files gives the file that an entry names, by its seq.
func (r *Record) files() map[int64]*Item {
	out := make(map[int64]*Item, len(r.Evidence))
	for i := range r.Evidence {
		out[r.Evidence[i].Seq] = &r.Evidence[i]
	}
	return out
}

// purgeWords says what an entry of kind purged is.
func purgeWords(p *journal.Purge) string {
	what, whose := "the sound or photo of entry", "Its hash stays."
	if len(p.Items) > 1 {
		what, whose = "the sounds and photos of entries", "Their hashes stay."
	}
	var seqs []string
	for _, it := range p.Items {
		seqs = append(seqs, strconv.FormatInt(it.Seq, 10))
	}
	return fmt.Sprintf("Purged (%s): %s %s. %s", p.Rule, what, strings.Join(seqs, ", "), whose)
}
