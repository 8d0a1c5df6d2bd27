package wire

// Opening is how far the opening of a job by word of mouth is, behind each thing that was said over
// GET /ws/open. Nothing is opened before Ready was true and a yes came.
type Opening struct {
	ID      string            `json:"id"`      // of the note
	Text    string            `json:"text"`    // the words, as they were heard or typed
	Job     string            `json:"job"`     // its number; "" as long as none was said
	Spec    string            `json:"spec"`    // the name of the build spec, "" as long as it is not known
	Options map[string]string `json:"options"` // that were said; never null
	Usual   map[string]string `json:"usual"`   // that were not said and have a default; never null
	Missing []string          `json:"missing"` // job, spec, and names of options; never null
	Person  string            `json:"person"`  // whose name will stand with it, "" for none
	Say     string            `json:"say"`     // what is read back and asked, as a sentence
	Ready   bool              `json:"ready"`   // a yes opens the job
	Go      string            `json:"go"`      // the job whose sheet is to be shown now, "" for none
}

// MarshalJSON writes {"type":"opening",...}.
func (o Opening) MarshalJSON() ([]byte, error) {
	type plain Opening
	if o.Options == nil {
		o.Options = map[string]string{}
	}
	if o.Usual == nil {
		o.Usual = map[string]string{}
	}
	if o.Missing == nil {
		o.Missing = []string{}
	}
	return encode(struct {
		Type string `json:"type"`
		plain
	}{"opening", plain(o)})
}
