package seal

import (
	"bytes"
	jsonv1 "encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"

	"github.com/go-json-experiment/json"
)

var errOtherwise = errors.New("it says something that this program would write otherwise")

// strict reads JSON of ours: each name once, as it is spelled, none that is not known, and each value as
// this program writes it, so that no change of one is read as the same.
func strict[T any](text []byte, into *T) error {
	if err := json.Unmarshal(text, into, json.RejectUnknownMembers(true)); err != nil {
		return fmt.Errorf("read JSON: %w", err)
	}
	there, err := Canonical(text)
	if err != nil {
		return err
	}
	ours, err := canonicalOf(into)
	if err != nil {
		return err
	}
	if !bytes.Equal(there, ours) {
		return errOtherwise
	}
	return nil
}

// lenient reads of JSON what is asked for, with its names as they are spelled.
func lenient(text []byte, into any) error {
	if err := json.Unmarshal(text, into); err != nil {
		return fmt.Errorf("read JSON: %w", err)
	}
	return nil
}

func names(members map[string]jsonv1.RawMessage) []string {
	return slices.Sorted(maps.Keys(members))
}
