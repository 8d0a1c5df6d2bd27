package floor

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"path"
	"slices"
	"strings"
	"sync"

	"readback/capture/wire"
	"readback/rules"
	"readback/rules/spec"
)

// Specs are the build specs that jobs may be opened with, by the name that stands in each
// ("spec: mr5").
type Specs struct {
	byName map[string]plan
}

// plan is a build spec with the text that it was read from.
type plan struct {
	text string
	hash string // SHA-256 of text, in hex
	spec *rules.Spec
}

// LoadSpecs reads every *.yaml and *.yml of a folder. The error holds all faults of all
// files, each with its line.
func LoadSpecs(files fs.FS) (Specs, error) {
	s := Specs{byName: map[string]plan{}}
	names, err := specFiles(files)
	if err != nil {
		return Specs{}, err
	}
	var faults []error
	from := map[string]string{}
	for _, name := range names {
		p, err := readPlan(files, name)
		if err != nil {
			faults = append(faults, err)
			continue
		}
		id := p.spec.ID
		if first, twice := from[id]; twice {
			faults = append(faults, fmt.Errorf("%s: spec %s is in %s already; give one of them another name", name, id, first))
		}
		from[id], s.byName[id] = name, p
	}
	return s, errors.Join(faults...)
}

func specFiles(files fs.FS) ([]string, error) {
	all, err := fs.ReadDir(files, ".")
	if err != nil {
		return nil, fmt.Errorf("read specs: %w", err)
	}
	var names []string
	for _, f := range all {
		if ext := path.Ext(f.Name()); !f.IsDir() && (ext == ".yaml" || ext == ".yml") {
			names = append(names, f.Name())
		}
	}
	if len(names) == 0 {
		return nil, errors.New("the folder of specs holds no .yaml file")
	}
	return names, nil
}

func readPlan(files fs.FS, name string) (plan, error) {
	text, err := fs.ReadFile(files, name)
	if err != nil {
		return plan{}, fmt.Errorf("read spec: %w", err)
	}
	return newPlan(name, string(text))
}

func newPlan(file, text string) (plan, error) {
	s, err := spec.Load(file, []byte(text))
	if err != nil {
		return plan{}, err
	}
	sum := sha256.Sum256([]byte(text))
	return plan{text, hex.EncodeToString(sum[:]), s}, nil
}

// Names lists the specs in the order of the alphabet.
func (s Specs) Names() []string { return slices.Sorted(maps.Keys(s.byName)) }

// All returns the specs, in the order of [Specs.Names].
func (s Specs) All() (all []*rules.Spec) {
	for _, name := range s.Names() {
		all = append(all, s.byName[name].spec)
	}
	return all
}

// find returns a spec, or what would do instead.
func (s Specs) find(name string) (plan, error) {
	p, ok := s.byName[name]
	if !ok {
		return plan{}, &RefusalError{
			Wrong: fmt.Sprintf("there is no spec %q", name),
			Do:    "use one of: " + strings.Join(s.Names(), ", "),
			Why:   ErrSpec,
		}
	}
	return p, nil
}

// ReadOptions understands what is said of the options of a job with that spec. The error
// is a [RefusalError] that wraps [ErrSpec].
func (s Specs) ReadOptions(name, text string) (wire.Intake, error) {
	p, err := s.find(name)
	if err != nil {
		return wire.Intake{}, err
	}
	return wire.IntakeOf(p.spec.ReadOptions(text)), nil
}

// List describes the specs and their options, for the page that opens a job.
func (s Specs) List() []wire.Spec {
	out := []wire.Spec{}
	for _, name := range s.Names() {
		out = append(out, wire.SpecOf(s.byName[name].spec))
	}
	return out
}

// Cautions lists the warnings of all specs, each once, in the order of [Specs.Names].
func (s Specs) Cautions() (texts []string) {
	for _, name := range s.Names() {
		for _, c := range s.byName[name].spec.Cautions {
			if !slices.Contains(texts, c.Text) {
				texts = append(texts, c.Text)
			}
		}
	}
	return texts
}

// byText returns the specs by their text.
func (s Specs) byText() map[string]plan {
	out := map[string]plan{}
	for _, p := range s.byName {
		out[p.text] = p
	}
	return out
}

// plans keeps the specs that jobs were opened with, by their text: most jobs share one.
type plans struct {
	mu     sync.Mutex
	byText map[string]plan
}

func (p *plans) of(name, text string) (plan, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if known, ok := p.byText[text]; ok {
		return known, nil
	}
	made, err := newPlan(name+".yaml", text)
	if err == nil {
		p.byText[text] = made
	}
	return made, err
}
