package voice

import (
	"bytes"
	"container/list"
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"
)

const (
	clipEnd = ".clip" // files of the cache
	torn    = ".part" // one that is being written
)

// Cache keeps sound in a folder, each clip in a file that begins with the SHA-256 of the
// rest: one that was torn or changed is no clip, and is made again. When there are more
// bytes than it may hold, those go that were not used for the longest. It never fails: a
// folder that cannot be written keeps less, or nothing.
type Cache struct {
	dir string
	max int64 // bytes of all files

	mu     sync.Mutex
	used   *list.List               // of *kept, used last in front
	byName map[string]*list.Element // of used
	bytes  int64
}

// kept is a file of the cache.
type kept struct {
	name string
	size int64
}

// OpenCache opens the folder, which is made if it is not there, for so many bytes.
func OpenCache(dir string, most int64) (*Cache, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("open the cache of spoken sentences: %w", err)
	}
	c := &Cache{dir: dir, max: most, used: list.New(), byName: map[string]*list.Element{}}
	files, err := os.ReadDir(dir)
	if err != nil {
		return nil, fmt.Errorf("open the cache of spoken sentences: %w", err)
	}
	c.take(files)
	return c, nil
}

// take fills the list from the folder, the file that was used last in front, and removes
// what a crash left.
func (c *Cache) take(files []fs.DirEntry) {
	var found []fs.FileInfo
	for _, f := range files {
		info, err := f.Info()
		switch {
		case err != nil || !info.Mode().IsRegular():
		case strings.HasSuffix(f.Name(), torn):
			_ = os.Remove(filepath.Join(c.dir, f.Name())) // it counts for nothing if it stays
		case strings.HasSuffix(f.Name(), clipEnd):
			found = append(found, info)
		}
	}
	slices.SortFunc(found, func(a, b fs.FileInfo) int { return a.ModTime().Compare(b.ModTime()) })
	for _, f := range found {
		c.count(f.Name(), f.Size())
	}
}

// count puts a file in front, and drops what is too much.
func (c *Cache) count(name string, size int64) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.forget(name)
	c.byName[name] = c.used.PushFront(&kept{name, size})
	c.bytes += size
	for c.bytes > c.max {
		oldest, ok := c.used.Back().Value.(*kept)
		if !ok {
			return
		}
		c.forget(oldest.name)
		_ = os.Remove(filepath.Join(c.dir, oldest.name)) // the next start counts it again
	}
}

// forget takes a file off the list. c.mu is held.
func (c *Cache) forget(name string) {
	e := c.byName[name]
	if e == nil {
		return
	}
	if k, ok := e.Value.(*kept); ok {
		c.bytes -= k.size
	}
	c.used.Remove(e)
	delete(c.byName, name)
}

// Get returns what was put under the key.
func (c *Cache) Get(key string) ([]byte, bool) {
	name := key + clipEnd
	c.mu.Lock()
	e := c.byName[name]
	if e != nil {
		c.used.MoveToFront(e)
	}
	c.mu.Unlock()
	if e == nil {
		return nil, false
	}
	path := filepath.Join(c.dir, name)
	data, err := os.ReadFile(path)
	if err == nil && len(data) > sha256.Size {
		if sum := sha256.Sum256(data[sha256.Size:]); bytes.Equal(sum[:], data[:sha256.Size]) {
			now := time.Now()
			_ = os.Chtimes(path, now, now) // for the order after the next start
			return data[sha256.Size:], true
		}
	}
	c.mu.Lock()
	c.forget(name)
	c.mu.Unlock()
	_ = os.Remove(path) // it is written anew
	return nil, false
}

// Put keeps data under a key, which must be fit for a file name.
func (c *Cache) Put(key string, data []byte) {
	size := int64(sha256.Size + len(data))
	if size > c.max || len(data) == 0 {
		return
	}
	if err := c.write(key+clipEnd, data); err == nil {
		c.count(key+clipEnd, size)
	}
}

// write writes beside the place and then moves the file there, so that nobody ever sees
// half of it.
func (c *Cache) write(name string, data []byte) error {
	file, err := os.CreateTemp(c.dir, "*"+torn)
	if err != nil {
		return fmt.Errorf("keep a clip: %w", err)
	}
	sum := sha256.Sum256(data)
	_, err = file.Write(append(sum[:], data...))
	if err = errors.Join(err, file.Close()); err == nil {
		err = os.Rename(file.Name(), filepath.Join(c.dir, name))
	}
	if err != nil {
		return errors.Join(fmt.Errorf("keep a clip: %w", err), os.Remove(file.Name()))
	}
	return nil
}

// Bytes returns how many bytes the cache holds.
func (c *Cache) Bytes() int64 {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.bytes
}
