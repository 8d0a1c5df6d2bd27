package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"readback/capture/hear/grammar"
	"readback/testdata/golden"
)

// TestMain makes the real main a command of the scripts.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"readback": main})
}

// TestScripts runs testdata/script/*.txtar: the command as its users run it.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{Dir: filepath.Join("testdata", "script"), RequireExplicitExec: true, RequireUniqueNames: true, Setup: bigNote, Cmds: shopCommands, Condition: condition})
}

// condition knows whether there are ears: the recogniser's dictionary. In CI there must be.
func condition(name string) (bool, error) {
	if name != "ears" {
		return false, fmt.Errorf("there is no condition %q", name)
	}
	_, err := os.Stat(grammar.Path)
	if err != nil && os.Getenv("CI") == "true" {
		return false, fmt.Errorf("the recogniser's dictionary is not installed: %w", err)
	}
	return err == nil, nil
}

// bigNote writes what is too long for a script: a note of a megabyte, and bytes that
// are no UTF-8. It also makes room for the script's server.
func bigNote(e *testscript.Env) error {
	e.Values[shopKey{}] = new(shopValue)
	e.Setenv("XDG_STATE_HOME", filepath.Join(e.WorkDir, "state"))
	files := map[string][]byte{
		"megabyte.txt": append(bytes.Repeat([]byte("collar nut stage one forty eight newton metres "), 1<<20/47), '\n'),
		"latin1.txt":   []byte("shaft runout 0.03 mm\ninsulation 600 M\xd8\n"),
		"control.txt":  []byte("shaft\x01 runout\x07 0.03\x00 mm\n"),
		"tab.yaml":     []byte("spec: t\n\trevision: a\n"),
		"bom.txt":      []byte("\ufeffshaft runout 0.03 mm\r\n\r\n# a comment\r\n"),
	}
	for name, data := range files {
		if err := os.WriteFile(filepath.Join(e.WorkDir, name), data, 0o600); err != nil {
			return err
		}
	}
	return nil
}

// TestGoldens compares what a person sees of the demo's jobs, and the contract's objects
// for them, with what was approved.
func TestGoldens(t *testing.T) {
	tests := []struct{ name, args string }{
		{"demo", "demo --once"},
		{"demo-json", "check --json --spec mr5 --set base=long --set stages=5 --set cut_impellers=1 --set rebuild=yes ../../testdata/notes/mr5-demo.txt"},
		{"bevel", "demo --once --job bevel-head"},
		{"bevel-json", "check --json --spec bevel-head --set ratio=2:1 --set bearings=new --set screws=8 --set rebuild=yes ../../testdata/notes/bevel-demo.txt"},
		{"explain", "parse --explain testdata/explain.txt"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var out, errs bytes.Buffer
			if status := run(t.Context(), std{in: strings.NewReader(""), out: &out, err: &errs}, strings.Fields(tt.args)); status != clean {
				t.Errorf("status %d: %s", status, &errs)
			}
			golden.Equal(t, filepath.Join("testdata", tt.name+".golden"), out.Bytes())
		})
	}
}
