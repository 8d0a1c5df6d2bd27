package spec

import (
	"strconv"
	"strings"

	"github.com/goccy/go-yaml/ast"

	"readback/parse/number"
	"readback/rules"
)

// val is a node of the file, with what is needed to complain about it. Scalars are
// read from their token, before YAML makes floats of them.
type val struct {
	r  *reader
	n  ast.Node // nil where nothing was written
	in ast.Node // what it would stand in, to complain about what is missing
}

// reader collects the faults of one file.
type reader struct {
	file   string
	what   string // what the file is to hold: "spec"
	start  string // how such a file starts
	faults Errors
}

// pair is a member of a mapping.
type pair struct {
	key  string
	name val
	val  val
}

// ok reports whether there is a node.
func (v val) ok() bool { return v.n != nil }

// fail reports a fault at the node.
func (v val) fail(wrong, mend string) {
	line, column := v.place()
	if len(v.r.faults) < 20*MaxFaults { // nobody reads more
		v.r.faults = append(v.r.faults, &Error{v.r.file, line, column, wrong, mend})
	}
}

// place returns where the node stands, or where it would.
func (v val) place() (line, column int) {
	n := v.n
	if n == nil {
		n = v.in
	}
	if d, ok := n.(*ast.DocumentNode); ok && d.Body == nil { // it would ask its body for a token
		if d.Start != nil && d.Start.Position != nil {
			return d.Start.Position.Line, d.Start.Position.Column
		}
		return 0, 0
	}
	if m, ok := n.(*ast.MappingNode); ok && len(m.Values) > 0 {
		n = m.Values[0].Key
	}
	if m, ok := n.(*ast.MappingValueNode); ok {
		n = m.Key
	}
	if n != nil {
		if t := n.GetToken(); t != nil && t.Position != nil {
			return t.Position.Line, t.Position.Column
		}
	}
	return 0, 0
}

// member returns what stands at a key of a mapping, and complains about nothing. Where
// there is no such key, it stands for the place where it would be.
func (v val) member(key string) val {
	var members []*ast.MappingValueNode
	switch n := v.n.(type) {
	case *ast.MappingNode:
		members = n.Values
	case *ast.MappingValueNode:
		members = []*ast.MappingValueNode{n}
	}
	for _, m := range members {
		if scalarText(m.Key) == key && m.Value != nil {
			return val{r: v.r, n: m.Value}
		}
	}
	return val{r: v.r, in: v.n}
}

// pairs returns the members of a mapping in their order. What is no mapping is a fault.
func (v val) pairs(what string) []pair {
	if !v.ok() {
		return nil
	}
	var members []*ast.MappingValueNode
	switch n := v.n.(type) {
	case *ast.MappingNode:
		members = n.Values
	case *ast.MappingValueNode:
		members = []*ast.MappingValueNode{n}
	default:
		v.fail(what+" is not a mapping", "write it as key: value, or {key: value}")
		return nil
	}
	var out []pair
	seen := map[string]bool{}
	for _, m := range members {
		k := val{r: v.r, n: m.Key}
		key := scalarText(m.Key)
		if seen[key] {
			k.fail("the key "+key+" stands twice in "+what, "keep one of them")
			continue
		}
		seen[key] = true
		out = append(out, pair{key, k, v.r.at(m.Value)})
	}
	return out
}

// at wraps a node; aliases and anchors are refused, so that a small file stays small.
func (r *reader) at(n ast.Node) val {
	switch n.(type) {
	case *ast.AliasNode, *ast.AnchorNode, *ast.MergeKeyNode, *ast.TagNode:
		val{r: r, n: n}.fail("anchors, aliases and tags are not read in a spec", "write the value out")
		return val{r: r}
	case *ast.NullNode:
		return val{r: r}
	}
	return val{r: r, n: n}
}

// fields returns the members of a mapping by key. Keys that are not known are faults.
func (v val) fields(what string, known keys) map[string]val {
	out := map[string]val{}
	for _, p := range v.pairs(what) {
		found := false
		for _, k := range known {
			found = found || k.name == p.key
		}
		if !found {
			p.name.fail(what+" has no key "+strconv.Quote(p.key), "it may have "+known.names())
			continue
		}
		out[p.key] = p.val
	}
	for _, k := range known {
		if !out[k.name].ok() {
			out[k.name] = val{r: v.r, in: v.n}
		}
	}
	return out
}

// items returns the elements of a list; a single value counts as a list of one.
func (v val) items() []val {
	if !v.ok() {
		return nil
	}
	seq, ok := v.n.(*ast.SequenceNode)
	if !ok {
		return []val{v}
	}
	out := make([]val, 0, len(seq.Values))
	for _, n := range seq.Values {
		if e := v.r.at(n); e.ok() {
			out = append(out, e)
		}
	}
	return out
}

// scalarText returns the text of a scalar as written, without quotes.
func scalarText(n ast.Node) string {
	switch n := n.(type) {
	case *ast.LiteralNode:
		return strings.TrimRight(n.Value.Value, "\n")
	case ast.ScalarNode:
		if t := n.GetToken(); t != nil {
			return strings.TrimSpace(t.Value)
		}
	}
	return ""
}

// text returns a scalar as written: revision 1.10 is "1.10".
func (v val) text(what string) string {
	if !v.ok() {
		return ""
	}
	if _, ok := v.n.(ast.ScalarNode); !ok {
		v.fail(what+" is not a single value", "write one word or number")
		return ""
	}
	return scalarText(v.n)
}

func (v val) texts(what string) (out []string) {
	for _, e := range v.items() {
		if t := e.text(what); t != "" {
			out = append(out, t)
		}
	}
	return out
}

// decimal returns a number exactly as written.
func (v val) decimal(what string) (number.Value, bool) {
	text := v.text(what)
	if text == "" {
		return number.Value{}, false
	}
	d, ok := number.Parse(text)
	if !ok {
		v.fail(what+" "+strconv.Quote(short(text))+" is not a decimal number of at most 15 digits", "write it as 48 or 0.05")
	}
	return d, ok
}

// span reads a range: "60..110", "0.." or "..5"; nil where nothing was written.
func (v val) span(what string) *rules.Range {
	if !v.ok() {
		return nil
	}
	from, to, ok := strings.Cut(v.text(what), "..")
	r := &rules.Range{}
	for end, text := range map[**number.Value]string{&r.Min: from, &r.Max: to} {
		if text == "" {
			continue
		}
		d, good := number.Parse(text)
		ok = ok && good
		*end = &d
	}
	if !ok || from == "" && to == "" {
		v.fail(what+" "+strconv.Quote(short(v.textOr()))+" is not a range", "write it as 60..110, or 0..")
		return nil
	}
	if r.Min != nil && r.Max != nil && r.Min.Rat().Cmp(r.Max.Rat()) > 0 {
		v.fail(what+" goes from "+from+" down to "+to, "put the smaller number first")
	}
	return r
}

// percentage reads "4 %", or a number alone.
func percentage(text string) (d number.Value, percent, ok bool) {
	text, percent = strings.CutSuffix(text, "%")
	d, ok = number.Parse(strings.TrimSpace(text))
	return d, percent, ok
}

// short cuts what would fill the screen.
func short(s string) string {
	if len(s) > 40 {
		return s[:40] + "..."
	}
	return s
}

func (v val) whole(what string) (int, bool) {
	text := v.text(what)
	n, err := strconv.Atoi(text)
	if err != nil || n < 0 || n > maxWhole {
		v.fail(what+" "+strconv.Quote(short(text))+" is not a whole number from 0 to 1000", "write it as 5")
		return 0, false
	}
	return n, true
}

// yes reads yes and no (true and false do as well).
func (v val) yes(what string, unset bool) bool {
	if !v.ok() {
		return unset
	}
	switch text := v.text(what); text {
	case "yes", "true":
		return true
	case "no", "false":
		return false
	default:
		v.fail(what+" is "+strconv.Quote(short(text)), "write yes or no")
		return unset
	}
}
