// Package saved keeps searches by name, with how far each was looked through, so that it can be told
// when something new matches. They lie in one small file that is replaced whole: after a power cut it
// is the one before or the one after. It knows nothing of notes: how many are new is asked of the index.
package saved

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"
	"unicode"
	"unicode/utf8"

	"readback/capture/folder"
	"readback/capture/journal"
)

// Bounds of what is kept.
const (
	Most     = 100  // searches
	MaxName  = 60   // characters of a name
	maxQuery = 2000 // bytes of a query as it stands in an address
)

// Errors of a shelf; each is wrapped with what would help.
var (
	ErrName     = errors.New("saved: that is no name for a search")
	ErrFull     = errors.New("saved: there are too many searches")
	ErrNotFound = errors.New("saved: there is no such search")
	ErrFile     = errors.New("saved: the file of searches cannot be used")
)

// Search is a search with a name.
type Search struct {
	Name  string           `json:"name"`
	Query string           `json:"query"` // as it stands in an address: "person=Ines&q=scored"
	Seen  journal.Position `json:"seen"`  // the last entry there was when somebody looked
	At    time.Time        `json:"at"`    // when that was, UTC
}

// Shelf holds searches. It is safe for concurrent use.
type Shelf struct {
	path string // "" for one in memory

	mu  sync.Mutex
	all []Search // by name
}

// Open reads the file of searches, which need not be there; "" is a shelf in memory. One that cannot be
// read gives an error that wraps [ErrFile], and is left as it is.
func Open(path string) (*Shelf, error) {
	s := &Shelf{path: path}
	if path == "" {
		return s, nil
	}
	text, err := os.ReadFile(path)
	if errors.Is(err, os.ErrNotExist) {
		return s, nil
	}
	if err == nil {
		err = json.Unmarshal(text, &s.all)
	}
	if err != nil {
		return nil, fmt.Errorf("%w: %s: %w", ErrFile, path, err)
	}
	return s, nil
}

// List returns all searches by name.
func (s *Shelf) List() []Search {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clone(s.all)
}

// Keep keeps a search under a name, in place of the one that has it; seen is the last entry there is.
func (s *Shelf) Keep(name, query string, seen journal.Position, now time.Time) (Search, error) {
	name, err := nameOf(name)
	if err != nil {
		return Search{}, err
	}
	if len(query) > maxQuery {
		return Search{}, fmt.Errorf("%w: it is longer than %d bytes; use fewer words", ErrName, maxQuery)
	}
	kept := Search{name, query, seen, now.UTC()}
	return kept, s.change(func(all []Search) ([]Search, error) {
		all = slices.DeleteFunc(all, func(k Search) bool { return strings.EqualFold(k.Name, name) })
		if len(all) >= Most {
			return nil, fmt.Errorf("%w: %d are kept; remove one that nobody looks at", ErrFull, Most)
		}
		all = append(all, kept)
		slices.SortFunc(all, func(a, b Search) int { return strings.Compare(strings.ToLower(a.Name), strings.ToLower(b.Name)) })
		return all, nil
	})
}

// Look notes that somebody looks at a search now, and returns it as it was before.
func (s *Shelf) Look(name string, seen journal.Position, now time.Time) (before Search, err error) {
	err = s.change(func(all []Search) ([]Search, error) {
		i := slices.IndexFunc(all, func(k Search) bool { return strings.EqualFold(k.Name, name) })
		if i < 0 {
			return nil, ErrNotFound
		}
		before = all[i]
		all[i].Seen, all[i].At = max(seen, before.Seen), now.UTC()
		return all, nil
	})
	return before, err
}

// Remove forgets a search.
func (s *Shelf) Remove(name string) error {
	return s.change(func(all []Search) ([]Search, error) {
		left := slices.DeleteFunc(all, func(k Search) bool { return strings.EqualFold(k.Name, name) })
		if len(left) == len(s.all) {
			return nil, ErrNotFound
		}
		return left, nil
	})
}

// change replaces the searches on the disk, then in memory; what fails changes neither.
func (s *Shelf) change(do func([]Search) ([]Search, error)) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	next, err := do(slices.Clone(s.all))
	if err != nil {
		return err
	}
	if err := s.write(next); err != nil {
		return fmt.Errorf("keep searches: %w", err)
	}
	s.all = next
	return nil
}

func (s *Shelf) write(all []Search) error {
	if s.path == "" {
		return nil
	}
	text, err := json.MarshalIndent(all, "", "\t")
	if err != nil {
		return err
	}
	f, err := os.CreateTemp(filepath.Dir(s.path), filepath.Base(s.path)+".*")
	if err != nil {
		return err
	}
	defer func() { _ = os.Remove(f.Name()) }() // does nothing once it has its name
	_, err = f.Write(append(text, '\n'))
	if err := errors.Join(err, f.Sync(), f.Close()); err != nil {
		return err
	}
	if err := os.Rename(f.Name(), s.path); err != nil {
		return err
	}
	return folder.Sync(filepath.Dir(s.path))
}

// nameOf makes a name of what was typed.
func nameOf(text string) (string, error) {
	name := strings.Join(strings.Fields(strings.Map(func(r rune) rune {
		if unicode.IsControl(r) && !unicode.IsSpace(r) || unicode.Is(unicode.Cf, r) || r == utf8.RuneError {
			return -1
		}
		return r
	}, text)), " ")
	switch {
	case name == "":
		return "", fmt.Errorf("%w: it is empty; give a few words, such as scored washers", ErrName)
	case utf8.RuneCountInString(name) > MaxName:
		return "", fmt.Errorf("%w: it is longer than %d characters; give a shorter one", ErrName, MaxName)
	case name == "." || name == "..":
		return "", fmt.Errorf("%w: it is dots alone; give a few words, such as scored washers", ErrName)
	case strings.ContainsAny(name, `/\`):
		return "", fmt.Errorf(`%w: it holds a slash; leave out / and \`, ErrName)
	}
	return name, nil
}
