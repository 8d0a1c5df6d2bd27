package seal

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"readback/capture/folder"
)

// lineMax is more bytes than a line of ours has.
const lineMax = 64 << 10

// lines is a file of lines that only grows. What a crash has left of a last line is written over.
type lines struct {
	f    *os.File
	size int64 // of the whole lines
}

// openLines opens the file to append, made if it is not there, and returns its last whole line, nil if it
// has none.
func openLines(path string, mode fs.FileMode) (*lines, []byte, error) {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, mode)
	if err != nil {
		return nil, nil, fmt.Errorf("open a file of lines: %w", err)
	}
	last, size, err := lastLine(f)
	if err == nil {
		err = folder.Sync(filepath.Dir(path))
	}
	if err != nil {
		return nil, nil, errors.Join(fmt.Errorf("read the end of %s: %w", path, err), f.Close())
	}
	return &lines{f, size}, last, nil
}

// lastLine returns the last whole line of a file, without its end, and where it ends.
func lastLine(f *os.File) (line []byte, end int64, err error) {
	info, err := f.Stat()
	if err != nil {
		return nil, 0, err
	}
	if !info.Mode().IsRegular() {
		return nil, 0, errors.New("it is no file")
	}
	from := max(0, info.Size()-2*lineMax)
	tail := make([]byte, info.Size()-from)
	if _, err := f.ReadAt(tail, from); err != nil && !errors.Is(err, io.EOF) {
		return nil, 0, err
	}
	n := bytes.LastIndexByte(tail, '\n')
	if n < 0 {
		if from > 0 {
			return nil, 0, errors.New("it is no file of lines")
		}
		return nil, 0, nil
	}
	begin := bytes.LastIndexByte(tail[:n], '\n') + 1
	if begin == 0 && from > 0 {
		return nil, 0, errors.New("it is no file of lines")
	}
	return tail[begin:n], from + int64(n) + 1, nil
}

// add appends a line and waits until it is on the disk. After an error the next add writes over what there
// is of the line.
func (l *lines) add(line []byte) error {
	text := append(bytes.Clone(line), '\n')
	if _, err := l.f.WriteAt(text, l.size); err != nil {
		return fmt.Errorf("append to %s: %w", l.f.Name(), err)
	}
	end := l.size + int64(len(text))
	if err := errors.Join(l.f.Truncate(end), l.f.Sync()); err != nil {
		return fmt.Errorf("append to %s: %w", l.f.Name(), err)
	}
	l.size = end
	return nil
}

func (l *lines) close() error { return l.f.Close() }

// wholeLines returns the whole lines of a small file, none if it is not there.
func wholeLines(path string) ([][]byte, error) {
	f, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("read lines: %w", err)
	}
	defer func() { _ = f.Close() }() // it was only read
	const most = 4 << 20
	text, err := io.ReadAll(io.LimitReader(f, most+1))
	if err != nil {
		return nil, fmt.Errorf("read lines: %w", err)
	}
	if len(text) > most {
		return nil, fmt.Errorf("read lines: %s is larger than %d MiB", path, most>>20)
	}
	all := bytes.Split(text, []byte("\n"))
	return all[:len(all)-1], nil // what comes behind the last end is none, or torn
}
