package evidence

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"sync"
	"time"

	"readback/capture/folder"
)

// What can go wrong with a kept file.
var (
	ErrGone    = errors.New("evidence: the file is not there")
	ErrChanged = errors.New("evidence: the file is not what was kept")
	ErrName    = errors.New("evidence: that is no hash")
)

// settled is how long after a file was put its entry is committed or refused at the latest. Until then
// a purge leaves it; from then on it is removed if no entry names it.
const settled = 10 * time.Minute

// Files is a folder of files, each named by its SHA-256. It is safe for concurrent use. One process
// writes to a folder.
type Files struct {
	dir string
	ext string // ".flac"

	mu  sync.Mutex
	new map[string]*unsettled // files that were not there before, by hash
}

// unsettled is a file whose entries may not be committed yet.
type unsettled struct {
	puts int // how many put it that have not dropped it
	last time.Time
}

// Open returns the files in dir, which is made where it is not there, with names that end in ext.
// What a crash left half written is removed.
func Open(dir, ext string) (*Files, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("open a folder of evidence: %w", err)
	}
	if err := folder.Sync(filepath.Dir(dir)); err != nil { // of a folder that was just made, the name
		return nil, fmt.Errorf("open a folder of evidence: %w", err)
	}
	torn, err := filepath.Glob(filepath.Join(dir, ".new-*"))
	if err != nil {
		return nil, fmt.Errorf("open a folder of evidence: %w", err)
	}
	for _, name := range torn {
		if err := os.Remove(name); err != nil {
			return nil, fmt.Errorf("open a folder of evidence: %w", err)
		}
	}
	return Read(dir, ext), nil
}

// Read returns the files in dir without touching it, for reading beside a server.
func Read(dir, ext string) *Files {
	return &Files{dir: dir, ext: ext, new: map[string]*unsettled{}}
}

var isHash = regexp.MustCompile(`^[0-9a-f]{64}$`)

// IsHash reports whether a text is a hash as files are named by: 64 small hex digits.
func IsHash(text string) bool { return isHash.MatchString(text) }

func (f *Files) file(hash string) (string, error) {
	if !IsHash(hash) {
		return "", fmt.Errorf("%w: %.80q", ErrName, hash)
	}
	return filepath.Join(f.dir, hash[:2], hash+f.ext), nil
}

// HashOf returns the hash that data are kept under.
func HashOf(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}

// Put keeps data and returns their hash. They are on the disk when Put returns. The same data again
// are kept once.
func (f *Files) Put(data []byte) (hash string, err error) {
	hash = HashOf(data)
	name, err := f.file(hash)
	if err != nil {
		return "", err
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	if err := os.MkdirAll(filepath.Dir(name), 0o700); err != nil {
		return "", fmt.Errorf("keep evidence: %w", err)
	}
	_, missing := os.Stat(name)
	if err := write(f.dir, name, data); err != nil { // again too: the time of the file tells a purge to wait
		return "", fmt.Errorf("keep evidence: %w", err)
	}
	now := time.Now()
	for hash, u := range f.new {
		if now.Sub(u.last) > settled {
			delete(f.new, hash)
		}
	}
	u := f.new[hash]
	if u == nil && missing != nil {
		u = &unsettled{}
		f.new[hash] = u
	}
	if u != nil {
		u.puts, u.last = u.puts+1, now
	}
	return hash, nil
}

// write puts the file there whole or not at all.
func write(dir, name string, data []byte) error {
	f, err := os.CreateTemp(dir, ".new-*")
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	if err == nil {
		err = f.Sync()
	}
	err = errors.Join(err, f.Close())
	if err == nil {
		err = os.Rename(f.Name(), name)
	}
	if err != nil {
		return errors.Join(err, os.Remove(f.Name()))
	}
	return syncDirs(dir, name)
}

// syncDirs makes sure of the name of a file, and of that of its folder.
func syncDirs(dir, name string) error {
	return errors.Join(folder.Sync(filepath.Dir(name)), folder.Sync(dir))
}

// Drop takes back a put whose entry was not committed. The file goes if it was not there before, and
// nobody else has put it since.
func (f *Files) Drop(hash string) error {
	name, err := f.file(hash)
	if err != nil {
		return err
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	u := f.new[hash]
	if u == nil {
		return nil
	}
	if u.puts--; u.puts > 0 {
		return nil
	}
	delete(f.new, hash)
	return remove(name)
}

func remove(name string) error {
	if err := os.Remove(name); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("remove evidence: %w", err)
	}
	return nil
}

// Get returns a file. The error is [ErrGone] where it is not there, and [ErrChanged] where it does not
// have its hash.
func (f *Files) Get(hash string) ([]byte, error) {
	name, err := f.file(hash)
	if err != nil {
		return nil, err
	}
	data, err := os.ReadFile(name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%w: %s", ErrGone, hash)
	}
	if err != nil {
		return nil, fmt.Errorf("read evidence: %w", err)
	}
	if HashOf(data) != hash {
		return nil, fmt.Errorf("%w: %s", ErrChanged, hash)
	}
	return data, nil
}

// Remove removes a file that no entry needs any more, and reports whether it was there. One that was
// put a moment ago stays: its entry may be on the way. A later purge takes it.
func (f *Files) Remove(hash string, now time.Time) (bool, error) {
	name, err := f.file(hash)
	if err != nil {
		return false, err
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	info, err := os.Stat(name)
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	if err != nil {
		return false, fmt.Errorf("remove evidence: %w", err)
	}
	if now.Sub(info.ModTime()) < settled {
		return false, nil
	}
	delete(f.new, hash)
	return true, remove(name)
}

// Before lists the hashes of the files that were put last before a moment.
func (f *Files) Before(moment time.Time) ([]string, error) {
	names, err := filepath.Glob(filepath.Join(f.dir, "[0-9a-f][0-9a-f]", "*"+f.ext))
	if err != nil {
		return nil, fmt.Errorf("list evidence: %w", err)
	}
	var old []string
	for _, name := range names {
		hash := filepath.Base(name[:len(name)-len(f.ext)])
		info, err := os.Stat(name)
		if errors.Is(err, fs.ErrNotExist) || !IsHash(hash) {
			continue
		}
		if err != nil {
			return nil, fmt.Errorf("list evidence: %w", err)
		}
		if info.ModTime().Before(moment) {
			old = append(old, hash)
		}
	}
	return old, nil
}

// Path is where the file of a hash lies, or would. The error is [ErrName].
func (f *Files) Path(hash string) (string, error) { return f.file(hash) }
