package guide

import (
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"strings"

	"readback/capture/bench"
	"readback/capture/wire"
	"readback/parse"
	"readback/rules"
	"readback/rules/spec"
)

// today is the day on which the notes of the examples are said: instruments are held to
// their calibration.
const today = "2027-02-10"

// opening marks a line of notes as what is said when the job is opened: "# open long base,
// four stages".
const opening = "# open "

// errOpen says that the notes of an example leave a finding open.
var errOpen = errors.New("its notes leave a finding open")

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

// register returns the register of an example, "" where it has none.
func register(name string) (string, error) {
	src, err := files.ReadFile("examples/" + name + ".shop.yaml")
	if errors.Is(err, fs.ErrNotExist) {
		return "", nil
	}
	if err != nil {
		return "", fmt.Errorf("example: %w", err)
	}
	return string(src), nil
}

// line is a note of an example with what came of it.
type line struct {
	Opening bool // said when the job was opened, not at the bench
	Note    string
	rules.Answer
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
	text, err := files.ReadFile("examples/" + name + ".txt")
	if err != nil {
		return nil, fmt.Errorf("example: %w", err)
	}
	options, lines := opened(s, string(text))
	job, err := rules.NewJob(s, options)
	if err != nil {
		return nil, fmt.Errorf("example %s: %w", name, err)
	}
	if err := equip(job, name); err != nil {
		return nil, err
	}
	if next := wire.StateOf(wire.JobLine{}, job).Next; next != nil && next.Caution != "" {
		lines = append(lines, line{Answer: rules.Answer{Caution: next.Caution}})
	}
	b := bench.New(job, parse.NewVocabulary(job.Words()))
	for note := range strings.Lines(string(text)) {
		if note = strings.TrimSpace(note); note != "" && note[0] != '#' {
			_, a := b.Say(note)
			lines = append(lines, line{Note: note, Answer: a})
		}
	}
	if open := job.Open(); len(open) > 0 {
		return nil, fmt.Errorf("example %s: %w: %s", name, errOpen, open[0].Text)
	}
	return lines, nil
}

// opened returns the options that were said at the opening, and what came of each time.
func opened(s *rules.Spec, notes string) (options map[string]string, lines []line) {
	options = map[string]string{}
	for note := range strings.Lines(notes) {
		if said, ok := strings.CutPrefix(strings.TrimSpace(note), opening); ok {
			in := s.ReadOptions(said)
			maps.Copy(options, in.Options)
			lines = append(lines, line{Opening: true, Note: said, Answer: rules.Answer{Say: in.Say}})
		}
	}
	return options, lines
}

// equip gives the job the register of its example, if there is one.
func equip(job *rules.Job, name string) error {
	src, err := register(name)
	if err != nil || src == "" {
		return err
	}
	shop, err := spec.LoadShop(name+".shop.yaml", []byte(src))
	if err != nil {
		return fmt.Errorf("example: %w", err)
	}
	job.Equip(shop)
	job.Today(today)
	return nil
}
