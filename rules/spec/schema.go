package spec

import (
	"encoding/json"
	"fmt"
	"maps"
)

// shape is what may stand at a key, as a piece of a JSON Schema.
type shape map[string]any

// The shapes of single values. A file's values are read as they are written, so that a
// number or yes will do where a text is called for.
var (
	text    = shape{"type": []string{"string", "number", "boolean"}}
	ident   = shape{"type": "string", "pattern": "^[a-z][a-z0-9_-]*$"}
	yesNo   = shape{"enum": []any{"yes", "no", true, false, "true", "false"}}
	whole   = anyOf(shape{"type": "integer", "minimum": 0, "maximum": maxWhole}, shape{"type": "string", "pattern": "^[0-9]+$"})
	decimal = anyOf(shape{"type": "number"}, shape{"type": "string", "pattern": "^" + digits + "$"})
	percent = shape{"type": "string", "pattern": "^" + digits + " *%$"}
	span    = shape{"type": "string", "pattern": "^(" + digits + ")?[.][.](" + digits + ")?$"}
	texts   = listOf(text)
	phones  = shape{"type": "string", "pattern": "^[A-Z]+( +[A-Z]+)*$"}
	amount  = anyOf(decimal, shape{"type": "object", "minProperties": 1, "maxProperties": 1, "additionalProperties": mapOf(decimal)})
)

// digits is the pattern of a decimal number, or of a fraction.
const digits = "-?[0-9]+([.][0-9]+|/[0-9]+)?"

// maxWhole is the largest whole number of an option or a place.
const maxWhole = 1000

func ref(name string) shape      { return shape{"$ref": "#/$defs/" + name} }
func anyOf(of ...shape) shape    { return shape{"anyOf": of} }
func mapOf(of shape) shape       { return shape{"type": "object", "additionalProperties": of} }
func oneWord(of ...string) shape { return shape{"enum": of} }
func listOf(of shape) shape      { return anyOf(shape{"type": "array", "items": of}, of) }

func (k keys) object(help string) shape {
	properties, must := map[string]shape{}, []string{}
	for _, x := range k {
		p := shape{"description": x.help}
		maps.Copy(p, x.is)
		properties[x.name] = p
		if x.must {
			must = append(must, x.name)
		}
	}
	o := shape{"type": "object", "properties": properties, "required": must, "additionalProperties": false}
	if help != "" {
		o["description"] = help
	}
	return o
}

// Schema returns the JSON Schema (2020-12) of a spec file. It comes from the same table of
// keys that the loader reads by. A file that it refuses, [Load] refuses as well; what hangs
// together in a spec only Load and [Lint] check.
func Schema() ([]byte, error) {
	var of []shape
	for _, k := range ruleKinds {
		of = append(of, ruleKeys(k.name).object(k.says))
	}
	s := specKeys.object("What a unit is built to: what is read, in which limits, and in which order.")
	s["$schema"] = "https://json-schema.org/draft/2020-12/schema"
	s["title"] = "A build spec of Readback"
	s["$defs"] = map[string]shape{
		"option":    optionKeys.object("A choice of values, or a whole number from and to."),
		"axis":      axisKeys.object(""),
		"callout":   calloutKeys.object("One thing that the spec calls for."),
		"limits":    limitKeys.object("nominal with within, or min and max, or one_of. Each number may hang on an option or an axis: {base: {short: 64.0, long: 88.5}}."),
		"taken":     takenKeys.object("What a reading is taken at, which has limits of its own: a test voltage."),
		"corrected": correctedKeys.object(""),
		"decision":  decisionKeys.object(""),
		"step":      stepKeys.object("A part of the work: callouts that are done in turn, once or at each place of an axis."),
		"caution":   cautionKeys.object(""),
		"item":      kitKeys.object("A part or tool that the job needs."),
		"rule":      {"type": "object", "required": []string{"rule"}, "oneOf": of},
	}
	out, err := json.MarshalIndent(s, "", "  ")
	if err != nil {
		return nil, fmt.Errorf("write schema: %w", err)
	}
	return append(out, '\n'), nil
}
