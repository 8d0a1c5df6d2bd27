package parse

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
)

// Place says where on the unit a callout is: "stage=3", "rod=1,pass=2", or "" for
// what is there once. Axes stand in the order in which the callout names them, so
// that two Places of one callout are equal exactly when their text is.
type Place string

// Index is one coordinate of a [Place]: the third stage, phase uv.
type Index struct {
	Axis  string // as the spec names it: stage, rod, pass, phase
	Value string // "3", "uv"
}

// At returns the Place with these coordinates, in this order.
func At(indexes ...Index) Place {
	var b strings.Builder
	for i, x := range indexes {
		if i > 0 {
			b.WriteByte(',')
		}
		b.WriteString(x.Axis)
		b.WriteByte('=')
		b.WriteString(x.Value)
	}
	return Place(b.String())
}

// Indexes returns the coordinates of p in their order.
func (p Place) Indexes() []Index {
	if p == "" {
		return nil
	}
	parts := strings.Split(string(p), ",")
	out := make([]Index, len(parts))
	for i, part := range parts {
		axis, value, _ := strings.Cut(part, "=")
		out[i] = Index{axis, value}
	}
	return out
}

// On returns the coordinate of p on an axis, or "" where it has none.
func (p Place) On(axis string) string {
	for rest := string(p); rest != ""; {
		var part string
		part, rest, _ = strings.Cut(rest, ",")
		if is, value, _ := strings.Cut(part, "="); is == axis {
			return value
		}
	}
	return ""
}

// With returns p with the coordinate on axis replaced, or added at the end.
func (p Place) With(axis, value string) Place {
	indexes := p.Indexes()
	for i := range indexes {
		if indexes[i].Axis == axis {
			indexes[i].Value = value
			return At(indexes...)
		}
	}
	return At(append(indexes, Index{axis, value})...)
}

// MarshalJSON writes {"rod":1,"pass":2}: whole numbers as numbers, the rest as text.
func (p Place) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	b.WriteByte('{')
	for i, x := range p.Indexes() {
		if i > 0 {
			b.WriteByte(',')
		}
		b.WriteString(strconv.Quote(x.Axis))
		b.WriteByte(':')
		if n, err := strconv.Atoi(x.Value); err == nil && strconv.Itoa(n) == x.Value {
			b.WriteString(x.Value)
			continue
		}
		text, err := json.Marshal(x.Value)
		if err != nil {
			return nil, fmt.Errorf("place %q: %w", p, err)
		}
		b.Write(text)
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

// UnmarshalJSON reads what [Place.MarshalJSON] wrote, keeping the order of the axes.
func (p *Place) UnmarshalJSON(data []byte) error {
	d := json.NewDecoder(bytes.NewReader(data))
	d.UseNumber()
	var indexes []Index
	var axis string
	for depth := 0; ; {
		t, err := d.Token()
		if err != nil {
			return fmt.Errorf("place: %w", err)
		}
		switch t := t.(type) {
		case json.Delim:
			if t == '}' {
				*p = At(indexes...)
				return nil
			}
			if depth++; t != '{' || depth > 1 {
				return fmt.Errorf("place: want an object of axes, such as {\"stage\":3}, not %s", data)
			}
		case json.Number:
			indexes, axis = append(indexes, Index{axis, t.String()}), ""
		case string:
			if axis == "" {
				axis = t
				continue
			}
			indexes, axis = append(indexes, Index{axis, t}), ""
		default:
			return fmt.Errorf("place: want numbers or text, not %s", data)
		}
	}
}
