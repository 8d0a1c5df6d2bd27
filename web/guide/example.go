package guide

import (
	"fmt"
	"strings"

	"readback/capture/bench"
	"readback/parse"
	"readback/rules"
	"readback/rules/spec"
)

// source returns the spec of an example, which must be a clean one.
func source(name string) (string, error) {
	src, err := files.ReadFile("examples/" + name + ".yaml")
	if err != nil {
		return "", fmt.Errorf("example: %w", err)
	}
	if faults := spec.Lint(name+".yaml", src); faults != nil {
		return "", fmt.Errorf("example: %w", faults)
	}
	return string(src), nil
}

// line is a note of an example with what came of it.
type line struct {
	Note     string
	Say      string
	Findings []rules.Finding
}

// replay takes the notes of an example through its spec. At the end nothing may be open:
// the notes show what closes a finding as well.
func replay(name string) ([]line, error) {
	src, err := source(name)
	if err != nil {
		return nil, err
	}
	s, err := spec.Load(name+".yaml", []byte(src))
	if err != nil {
		return nil, fmt.Errorf("example: %w", err)
	}
	job, err := rules.NewJob(s, nil)
	if err != nil {
		return nil, fmt.Errorf("example %s: %w", name, err)
	}
	text, err := files.ReadFile("examples/" + name + ".txt")
	if err != nil {
		return nil, fmt.Errorf("example: %w", err)
	}
	b := bench.New(job, parse.NewVocabulary(job.Words()))
	var out []line
	for note := range strings.Lines(string(text)) {
		if note = strings.TrimSpace(note); note != "" && note[0] != '#' {
			_, a := b.Say(note)
			out = append(out, line{note, a.Say, a.Findings})
		}
	}
	if open := job.Open(); len(open) > 0 {
		return nil, fmt.Errorf("example %s: %w: %s", name, errOpen, open[0].Text)
	}
	return out, nil
}
