package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// layers lists the folders from the top down. A folder may import those below it.
var layers = []string{"cmd", "web", "search", "capture", "rules", "parse"}

func TestImportsPointOneWay(t *testing.T) {
	root := filepath.Join("..", "..")
	files := 0
	err := fs.WalkDir(os.DirFS(root), ".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") {
			return err
		}
		files++
		for _, imported := range importsOf(t, filepath.Join(root, path)) {
			if wrong := wrongWay(path, imported); wrong != "" {
				t.Errorf("%s imports %s: %s", path, imported, wrong)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if files < 20 {
		t.Errorf("only %d Go files were read under %s: the test looks in the wrong place", files, root)
	}
}

func importsOf(t *testing.T, path string) (out []string) {
	t.Helper()
	f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
	if err != nil {
		t.Fatal(err)
	}
	for _, i := range f.Imports {
		name, err := strconv.Unquote(i.Path.Value)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, name)
	}
	return out
}

// wrongWay says why a file may not import a package, "" where it may.
func wrongWay(path, imported string) string {
	inner, ok := strings.CutPrefix(imported, "readback/")
	from := slices.Index(layers, strings.Split(filepath.ToSlash(path), "/")[0])
	if !ok || from < 0 {
		return ""
	}
	to := slices.Index(layers, strings.Split(inner, "/")[0])
	switch {
	case to == 0:
		return "nothing imports cmd"
	case to >= 0 && to < from:
		return layers[from] + " lies below " + layers[to]
	}
	return ""
}

func TestWrongWayIsTold(t *testing.T) {
	tests := []struct {
		path, imported string
		wrong          bool
	}{
		{"parse/text.go", "readback/rules", true},
		{"rules/job.go", "readback/parse/unit", false},
		{"web/server.go", "readback/cmd/readback", true},
		{"capture/bench/bench.go", "readback/search", true},
		{"cmd/readback/main.go", "readback/web", false},
		{"parse/text.go", "sync", false},
	}
	for _, tt := range tests {
		if got := wrongWay(tt.path, tt.imported) != ""; got != tt.wrong {
			t.Errorf("wrongWay(%s, %s) = %v, want %v", tt.path, tt.imported, got, tt.wrong)
		}
	}
}
