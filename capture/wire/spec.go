package wire

import "readback/rules"

// Specs is the body of GET /api/specs.
type Specs struct {
	Specs []Spec `json:"specs"` // in the order of the alphabet; never null
}

// Spec is a build spec that a job may be opened with.
type Spec struct {
	Name     string   `json:"name"`
	Revision string   `json:"revision"`
	Title    string   `json:"title"`
	Source   string   `json:"source,omitempty"`
	Invented bool     `json:"invented"` // a demo's: nothing may be built by it
	Options  []Option `json:"options"`  // in the order of the spec
}

// Option is what must be known of a job before it is opened: one of Values, or a whole
// number From to To.
type Option struct {
	Name    string   `json:"name"`
	Say     string   `json:"say"`
	Values  []string `json:"values,omitempty"`
	From    int      `json:"from,omitempty"`
	To      int      `json:"to,omitempty"`
	Default string   `json:"default,omitempty"` // none: it must be set
}

// Intake is the body of GET /api/specs/{name}/options?say=TEXT: what was understood of the
// options of a job.
type Intake struct {
	Options map[string]string `json:"options"` // by name; never null
	Missing []string          `json:"missing"` // names of what must be said still; never null
	Unclear []string          `json:"unclear"` // words of which nothing came; never null
	Say     string            `json:"say"`     // the whole as a sentence
}

// IntakeOf describes what was understood.
func IntakeOf(in rules.Intake) Intake {
	out := Intake{Options: in.Options, Missing: []string{}, Unclear: append([]string{}, in.Unclear...), Say: in.Say}
	for _, o := range in.Missing {
		out.Missing = append(out.Missing, o.Name)
	}
	return out
}

// SpecOf describes a spec.
func SpecOf(s *rules.Spec) Spec {
	out := Spec{
		Name: s.ID, Revision: s.Revision, Title: s.Title, Source: s.Source, Invented: s.Invented, Options: []Option{},
	}
	for _, o := range s.Options {
		out.Options = append(out.Options, Option{o.Name, o.Say, o.Values, o.From, o.To, o.Default})
	}
	return out
}
