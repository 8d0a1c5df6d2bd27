package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"
	"unicode/utf8"
)

// maxNotes is the largest notes file that is read, in bytes.
const maxNotes = 64 << 20

// readNotes returns the notes of the file named by args, or of standard input: one a
// line, without empty lines and comments.
func readNotes(s *std, args []string) ([]string, error) {
	if len(args) == 0 || args[0] == "-" {
		return notes("standard input", s.in)
	}
	f, err := os.Open(args[0])
	if errors.Is(err, fs.ErrNotExist) {
		return nil, hint(fmt.Errorf("there is no notes file %s", args[0]), "give the path of a UTF-8 text file with one note a line, or pipe notes in")
	}
	if err != nil {
		return nil, fmt.Errorf("notes: %w", err)
	}
	out, err := notes(args[0], f)
	return out, errors.Join(err, f.Close())
}

func notes(name string, r io.Reader) ([]string, error) {
	in := bufio.NewReaderSize(io.LimitReader(r, maxNotes+1), 64<<10)
	var out []string
	total := 0
	for line := 1; ; line++ {
		text, err := in.ReadString('\n')
		last := errors.Is(err, io.EOF)
		if err != nil && !last {
			return nil, hint(fmt.Errorf("read %s: %w", name, err), "give a text file with one note a line")
		}
		if total += len(text); total > maxNotes {
			return nil, hint(fmt.Errorf("%s is longer than 64 MiB", name), "split it: a job's notes are a few hundred lines")
		}
		if line == 1 {
			text = strings.TrimPrefix(text, "\uFEFF")
		}
		if !utf8.ValidString(text) {
			return nil, hint(fmt.Errorf("%s:%d: not UTF-8 text", name, line), "save the file as UTF-8")
		}
		if text = strings.TrimRight(text, "\r\n"); strings.TrimSpace(text) != "" && text[0] != '#' {
			out = append(out, text)
		}
		if last {
			return out, nil
		}
	}
}
