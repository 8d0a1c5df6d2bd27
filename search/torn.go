package search

import (
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"os"
	"path/filepath"
	"runtime/debug"

	"github.com/blevesearch/bleve/v2"
	bolt "go.etcd.io/bbolt/errors"
)

// What bleve makes in an index's folder.
const (
	metaFile    = "index_meta.json"
	storeFolder = "store"
)

// lockWait is how long to wait for another program to let go of the index.
const lockWait = "1s"

// openSafely opens the index in dir. Files that were damaged behind its back make bleve
// panic: that is an error here.
func openSafely(dir string) (index bleve.Index, err error) {
	err = safely(func() (err error) {
		index, err = bleve.OpenUsing(dir, map[string]any{"bolt_timeout": lockWait})
		return err
	})
	if errors.Is(err, bolt.ErrTimeout) {
		return nil, fmt.Errorf("%w: stop that one", ErrInUse)
	}
	return index, err
}

// safely turns a panic of do into an error that wraps [ErrTorn], and so a read past the end
// of a file that is mapped into memory.
func safely(do func() error) (err error) {
	defer debug.SetPanicOnFault(debug.SetPanicOnFault(true))
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("%w: %v", ErrTorn, p)
		}
	}()
	return do()
}

// dropTorn removes segments that are not whole, before bleve maps them into memory, where
// a short file is the end of the process. One that a kill has left half written belongs
// to nothing. If one is missed, bleve falls back to a state before it, with the position
// of that state, or to none, and then it is built again.
func dropTorn(dir string) error {
	segments, err := filepath.Glob(filepath.Join(dir, storeFolder, "*.zap"))
	if err != nil {
		return fmt.Errorf("look for segments: %w", err)
	}
	for _, path := range segments {
		whole, err := isWhole(path)
		if err == nil && !whole {
			err = os.Remove(path)
		}
		if err != nil {
			return fmt.Errorf("check segment: %w", err)
		}
	}
	return nil
}

// isWhole compares a segment with its own checksum: its last four bytes are the CRC-32
// (IEEE) of all before them.
func isWhole(path string) (bool, error) {
	f, err := os.Open(path)
	if err != nil {
		return false, err
	}
	defer func() { _ = f.Close() }() // it was only read
	info, err := f.Stat()
	if err != nil || info.Size() < 4 {
		return false, err
	}
	sum, kept := crc32.NewIEEE(), make([]byte, 4)
	if _, err := io.CopyN(sum, f, info.Size()-4); err != nil {
		return false, err
	}
	if _, err := io.ReadFull(f, kept); err != nil {
		return false, err
	}
	return binary.BigEndian.Uint32(kept) == sum.Sum32(), nil
}
