package backup

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"iter"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"time"

	"readback/capture/evidence"
	"readback/capture/folder"
	"readback/capture/journal"
	"readback/capture/journal/sqlite"
	"readback/capture/seal"
)

const manifestName = "manifest.json"

// manifestVersion is the form of a manifest that this program writes and reads.
const manifestVersion = 1

// Manifest says what a backup holds. It guards against what happens to disks; against people it is the seal.
type Manifest struct {
	Version  int       `json:"version"`
	At       time.Time `json:"at"` // when the backup began
	Program  string    `json:"program"`
	Entries  int64     `json:"entries"` // of all jobs
	Jobs     int       `json:"jobs"`
	Last     *Last     `json:"last,omitempty"` // nil for an empty journal
	Sealed   uint64    `json:"sealed"`         // leaves under its newest head
	Signer   string    `json:"signer"`         // fingerprint of the key that signed it; "" for none
	Key      bool      `json:"key"`            // the key is in it
	Files    []File    `json:"files"`
	Evidence []Item    `json:"evidence"`
}

// Last is the last entry of a journal.
type Last struct {
	Job string    `json:"job"`
	Seq int64     `json:"seq"`
	At  time.Time `json:"at"`
}

// File is one of the backup's own.
type File struct {
	Name   string `json:"name"` // under the backup, with slashes
	Bytes  int64  `json:"bytes"`
	SHA256 string `json:"sha256"`
}

// Item is a sound or a photo that the record needs.
type Item struct {
	Sort  evidence.Sort `json:"sort"`
	Hash  string        `json:"hash"`
	Of    string        `json:"of"`              // the entry that needs it, in words
	Wrong string        `json:"wrong,omitempty"` // why it is not in the backup
}

// Wrong lists the sounds and photos that are not in the backup.
func (m *Manifest) Wrong() []Item {
	var out []Item
	for _, item := range m.Evidence {
		if item.Wrong != "" {
			out = append(out, item)
		}
	}
	return out
}

// signed is a manifest with its hash.
type signed struct {
	Manifest json.RawMessage `json:"manifest"`
	SHA256   string          `json:"sha256"`
}

func (m *Manifest) write(dir string) error {
	m.Version = manifestVersion
	text, err := json.Marshal(m)
	if err != nil {
		return fmt.Errorf("write the manifest: %w", err)
	}
	sum := sha256.Sum256(text)
	if text, err = json.Marshal(signed{text, hex.EncodeToString(sum[:])}); err != nil {
		return fmt.Errorf("write the manifest: %w", err)
	}
	f, err := os.OpenFile(filepath.Join(dir, manifestName), os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return fmt.Errorf("write the manifest: %w", err)
	}
	_, err = f.Write(append(text, '\n'))
	return errors.Join(err, f.Sync(), f.Close())
}

func readManifest(dir string) (m Manifest, err error) {
	text, err := os.ReadFile(filepath.Join(dir, manifestName))
	if errors.Is(err, fs.ErrNotExist) {
		return m, fmt.Errorf("%w: %s is not there", ErrDamaged, manifestName)
	}
	if err != nil {
		return m, fmt.Errorf("read the manifest: %w", err)
	}
	var s signed
	if err := json.Unmarshal(text, &s); err != nil {
		return m, fmt.Errorf("%w: %s is torn or changed", ErrDamaged, manifestName)
	}
	if sum := sha256.Sum256(s.Manifest); hex.EncodeToString(sum[:]) != s.SHA256 {
		return m, fmt.Errorf("%w: %s was changed", ErrDamaged, manifestName)
	}
	if err := json.Unmarshal(s.Manifest, &m); err != nil {
		return m, fmt.Errorf("%w: %s: %w", ErrDamaged, manifestName, err)
	}
	if m.Version > manifestVersion {
		return m, fmt.Errorf("the backup has form %d, and this program knows %d: a newer readback made it, use that one", m.Version, manifestVersion)
	}
	return m, nil
}

// hashes lists the files of a folder.
func hashes(dir string) ([]File, error) {
	var out []File
	err := filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		name, err := filepath.Rel(dir, path)
		if err != nil {
			return err
		}
		f := File{Name: filepath.ToSlash(name)}
		f.SHA256, f.Bytes, err = hashFile(path)
		out = append(out, f)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("read again what was copied: %w", err)
	}
	return out, nil
}

func hashFile(path string) (sum string, n int64, err error) {
	f, err := os.Open(path)
	if err != nil {
		return "", 0, err
	}
	defer func() { _ = f.Close() }() // it is only read
	h := sha256.New()
	n, err = io.Copy(h, f)
	return hex.EncodeToString(h.Sum(nil)), n, err
}

// look reads the journal of a folder whole, and holds it against the seal in it; found is nil where there is none.
func look(ctx context.Context, dir string) (m Manifest, found *seal.Report, err error) {
	store, err := sqlite.OpenReadOnly(ctx, dir)
	if err != nil {
		return m, nil, err
	}
	defer func() { err = errors.Join(err, store.Close()) }()
	n, err := needed(ctx, store)
	if err != nil {
		return m, nil, err
	}
	m = n.manifest()
	scratch, remove, err := seal.Scratch()
	if err != nil {
		return m, nil, err
	}
	defer func() { err = errors.Join(err, remove()) }()
	report, err := seal.Examine(ctx, dir, "", scratch, store)
	if errors.Is(err, seal.ErrNone) {
		return m, nil, nil
	}
	if err != nil {
		return m, nil, err
	}
	if head, err := seal.ReadHead(filepath.Join(dir, "seal", "heads.jsonl")); err == nil {
		m.Sealed, m.Signer = head.Head.Size, head.Head.Key.String()
	}
	return m, &report, nil
}

// fileKey names a sound or a photo.
type fileKey struct {
	sort evidence.Sort
	hash string
}

// need is what a journal says.
type need struct {
	entries int64
	jobs    map[string]bool
	last    *Last
	files   map[fileKey]map[string]bool // by the entries that need each, in words: none where it was purged
}

const page = 500 // entries that are read at a time

// needed reads what a journal has, and which sounds and photos its entries need.
func needed(ctx context.Context, from evidence.Source) (*need, error) {
	n := &need{jobs: map[string]bool{}, files: map[fileKey]map[string]bool{}}
	for at := journal.Position(0); ; {
		entries, err := from.After(ctx, at, page)
		if err != nil {
			return nil, fmt.Errorf("read the journal: %w", err)
		}
		for i := range entries {
			n.add(&entries[i])
			at = entries[i].Position
		}
		if len(entries) < page {
			return n, nil
		}
	}
}

func (n *need) add(e *journal.Entry) {
	n.entries++
	n.jobs[e.Job] = true
	n.last = &Last{e.Job, e.Seq, e.At.Time()}
	if e.Purge != nil {
		for _, item := range e.Purge.Items {
			for _, sort := range []evidence.Sort{evidence.Sound, evidence.Photo} {
				delete(n.files[fileKey{sort, item.Hash}], entryWords(e.Job, item.Seq))
			}
		}
	}
	sort, hash := evidence.Of(*e)
	if hash == "" {
		return
	}
	k := fileKey{sort, hash}
	if n.files[k] == nil {
		n.files[k] = map[string]bool{}
	}
	n.files[k][entryWords(e.Job, e.Seq)] = true
}

func entryWords(job string, seq int64) string { return fmt.Sprintf("entry %d of job %s", seq, job) }

func (n *need) manifest() Manifest {
	m := Manifest{Entries: n.entries, Jobs: len(n.jobs), Last: n.last, Evidence: []Item{}}
	for k, of := range n.files {
		if len(of) > 0 {
			m.Evidence = append(m.Evidence, Item{Sort: k.sort, Hash: k.hash, Of: slices.Min(slices.Collect(maps.Keys(of)))})
		}
	}
	slices.SortFunc(m.Evidence, compareItems)
	return m
}

func keysOf(m map[evidence.Sort]Folder) iter.Seq[evidence.Sort] { return maps.Keys(m) }

// readAgain is up to how many bytes a copy that is there is read again and held against its hash, at each backup.
// Of a larger one its size is compared; [Restore] reads all.
const readAgain = 1 << 20

// there reports whether the backup b has the file of a hash already, with the size that it has in a: one that is
// not large is read to see that it is still what was copied.
func there(a, b *evidence.Files, hash string) bool {
	size := func(f *evidence.Files) int64 {
		path, err := f.Path(hash)
		if err != nil {
			return -1
		}
		info, err := os.Stat(path)
		if err != nil {
			return -1
		}
		return info.Size()
	}
	n := size(a)
	if n < 0 || n != size(b) {
		return false
	}
	if n > readAgain {
		return true
	}
	_, err := b.Get(hash)
	return err == nil
}

// sizeOf says how large a file is, in words.
func sizeOf(path string) string {
	info, err := os.Stat(path)
	if err != nil {
		return ""
	}
	return fmt.Sprintf(" (%.1f MiB)", float64(info.Size())/(1<<20))
}

// copyFile copies a file into a new one, which is on the disk then.
func copyFile(from, to string) error {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer func() { _ = in.Close() }() // it is only read
	if err := os.MkdirAll(filepath.Dir(to), 0o700); err != nil {
		return err
	}
	out, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	return errors.Join(err, out.Sync(), out.Close())
}

// syncTree makes the names in a folder and in those under it survive a power cut.
func syncTree(dir string) error {
	err := filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		if err != nil || !e.IsDir() {
			return err
		}
		return folder.Sync(path)
	})
	if err != nil {
		return fmt.Errorf("sync %s: %w", dir, err)
	}
	return nil
}
