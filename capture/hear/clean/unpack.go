//go:build ignore

// This program makes rnnoise.wasm.gz, which is committed: nobody needs to run it to build
// Readback. It needs npm, fetches one package by name and version, takes the wasm out of its
// script, where it stands as base64, and checks its hash.
//
//	go generate ./capture/hear/clean
package main

import (
	"archive/tar"
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
)

const (
	source = "@shiguredo/rnnoise-wasm@2025.1.5"
	script = "package/dist/rnnoise.js"
	sum    = "b3b67c9eae8f0791aad468c708659e0850bb37b0fb9c8a8666f2d7b0b6869bc4" // of the wasm
	out    = "rnnoise.wasm.gz"
)

// module matches the base64 of a wasm file: its magic number and version come first.
var module = regexp.MustCompile(`AGFzbQEAAA[A-Za-z0-9+/]+=*`)

func main() {
	if err := unpack(); err != nil {
		fmt.Fprintln(os.Stderr, "unpack:", err)
		os.Exit(1)
	}
}

func unpack() error {
	dir, err := os.MkdirTemp("", "rnnoise")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	pack := exec.Command("npm", "pack", source)
	pack.Dir, pack.Stderr = dir, os.Stderr
	if err := pack.Run(); err != nil {
		return fmt.Errorf("npm pack %s: %w", source, err)
	}
	packed, err := filepath.Glob(filepath.Join(dir, "*.tgz"))
	if err != nil || len(packed) != 1 {
		return fmt.Errorf("npm pack left %d files: %w", len(packed), err)
	}
	js, err := entry(packed[0], script)
	if err != nil {
		return err
	}
	wasm, err := base64.StdEncoding.DecodeString(string(module.Find(js)))
	if err != nil {
		return fmt.Errorf("decode %s: %w", script, err)
	}
	if got := fmt.Sprintf("%x", sha256.Sum256(wasm)); got != sum {
		return fmt.Errorf("%s holds another module: SHA-256 is %s, want %s", source, got, sum)
	}
	var small bytes.Buffer
	w, err := gzip.NewWriterLevel(&small, gzip.BestCompression)
	if err != nil {
		return err
	}
	if _, err := w.Write(wasm); err != nil {
		return err
	}
	if err := w.Close(); err != nil {
		return err
	}
	return os.WriteFile(out, small.Bytes(), 0o644)
}

// entry returns a file of a packed tar archive.
func entry(archive, name string) ([]byte, error) {
	f, err := os.Open(archive)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	z, err := gzip.NewReader(f)
	if err != nil {
		return nil, err
	}
	for t := tar.NewReader(z); ; {
		h, err := t.Next()
		if errors.Is(err, io.EOF) {
			return nil, fmt.Errorf("%s has no %s", archive, name)
		}
		if err != nil {
			return nil, err
		}
		if h.Name == name {
			return io.ReadAll(t)
		}
	}
}
