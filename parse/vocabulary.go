package parse

// Name is something that a spec calls for, as it may be spoken.
type Name struct {
	Callout string   // the callout's id
	Kind    Kind     // Reading, Confirm, Event, Part or Detail
	Say     []string // spoken forms in lower case; the first is the one to read back
	Short   []string // forms that only count once a fuller name of the same Family was said: "down"
	Denied  []string // forms that say it is not so, or no longer: "cover off"
	Family  string   // what related callouts share: "end play"; "" for none
	Axes    []string // axes in the order of its places
	Unit    string   // UCUM code of the callout, for Kind Reading
	Choices []Choice // for a Part: which there are
	Derived bool     // computed from other readings: may be asked about, never read
	Takes   []Taking // what a reading may be taken at
}

// Choice is one kind of a part, as it may be spoken.
type Choice struct {
	Is  string   // "full"
	Say []string // "full", "full size", "uncut"
}

// Taking is a quantity that goes with a reading: an insulation reading's temperature.
type Taking struct {
	Name string // "temperature"
	Unit string // UCUM code, which gives the dimension
}

// Axis is a way in which places are told apart: stage 1 to 8, phase uv, vw, wu.
type Axis struct {
	ID     string      // stage
	Say    []string    // "stage", "stages", "stg"
	Values []AxisValue // in order
}

// AxisValue is one place on an axis. Whole numbers need no Say: all ways to speak
// them are understood.
type AxisValue struct {
	Value string   // "3", "uv"
	Say   []string // "u v", "u to v"
}

// Words is what a spec gives to the parser: everything that has a name.
type Words struct {
	Names []Name
	Axes  []Axis
}

// NewVocabulary compiles the words of a spec and a job's options. It is meant to be
// made once a job and kept; it is safe for use by many goroutines.
//
//	v := parse.NewVocabulary(job.Words())
//	u := parse.Text(note, v, parse.Context{})
//
// A shop that has words of its own makes it from its [Trade].
func NewVocabulary(w Words) *Vocabulary { return (*Trade)(nil).Vocabulary(w) }
