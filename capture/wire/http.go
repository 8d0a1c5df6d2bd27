package wire

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
)

// OpenJob asks for a job to be opened: the body of POST /api/jobs.
type OpenJob struct {
	ID      string  `json:"id"               validate:"required,job_id"`
	Spec    string  `json:"spec"             validate:"required,max=100,plain"`
	Options Options `json:"options"          validate:"max=100"`
	Person  string  `json:"person,omitempty" validate:"max=100,name"`
}

// Options are a job's options as text. A number may come as a JSON number.
type Options map[string]string

// Problem is the body of every HTTP error.
type Problem struct {
	Error string `json:"error"` // what is wrong
	Do    string `json:"do"`    // what would help
}

// Problem returns f as the body of an HTTP error.
func (f *Error) Problem() Problem { return Problem{f.Wrong, f.Do} }

// DecodeOpenJob reads the body of POST /api/jobs. Every error is a *[Error].
func DecodeOpenJob(body []byte) (OpenJob, error) {
	var open OpenJob
	if err := object(body, &open); err != nil {
		return OpenJob{}, err
	}
	if err := checkShape(open); err != nil {
		return OpenJob{}, err
	}
	return open, nil
}

// UnmarshalJSON takes text and numbers.
func (o *Options) UnmarshalJSON(data []byte) error {
	d := json.NewDecoder(bytes.NewReader(data))
	d.UseNumber()
	var values map[string]any
	if err := d.Decode(&values); err != nil {
		return errors.Join(&Error{Wrong: "options is not an object", Do: `send one such as {"stages":8}`}, err)
	}
	*o = Options{}
	for name, value := range values {
		switch value := value.(type) {
		case string:
			(*o)[name] = value
		case json.Number:
			(*o)[name] = value.String()
		default:
			return &Error{Wrong: fmt.Sprintf("option %.40q is neither text nor a number", name), Do: `send one, such as "long" or 8`}
		}
	}
	return nil
}
