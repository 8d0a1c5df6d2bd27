// Package spec reads build specs: YAML in, [rules.Spec] out. A spec is checked whole:
// [Load] reports every fault at once, each with its line and column, what is wrong
// and what would do.
//
// The file's own words are in read.go (values), callout.go, kinds.go (every rule kind)
// and load.go (the whole).
package spec

import (
	"bytes"
	"errors"
	"strconv"
	"strings"

	"github.com/go-playground/validator/v10"
	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"

	"readback/parse"
	"readback/rules"
)

// Load reads a spec. The error is an [Errors] with all faults; file is the name that
// they show.
func Load(file string, src []byte) (*rules.Spec, error) {
	l := read(file, src)
	if len(l.faults) > 0 {
		return nil, l.faults.sorted()
	}
	return l.spec, nil
}

// read reads as much of a spec as can be read; the loader holds the faults.
func read(file string, src []byte) *loader {
	r := &reader{file: file, what: "spec", start: "spec: mr5"}
	l := &loader{reader: r, check: validator.New(validator.WithRequiredStructEnabled()), spec: &rules.Spec{}, where: map[string]val{}, ruleAt: map[rules.Rule]val{}}
	if root := r.root(src); len(r.faults) == 0 {
		l.load(root)
	}
	return l
}

// root parses the YAML and returns its one mapping.
func (r *reader) root(src []byte) val {
	none := val{r: r}
	switch {
	case len(src) > MaxSize:
		none.fail("the file is larger than 1 MiB", "a "+r.what+" is a few pages; is this the right file?")
		return none
	case len(bytes.TrimSpace(src)) == 0:
		none.fail("the file is empty", r.begin())
		return none
	}
	if line, column, ok := tab(src); ok {
		r.faults = append(r.faults, &Error{r.file, line, column, "a tab indents the line", "indent with spaces; YAML takes no tabs"})
		return none
	}
	if line, column, wrong := heavy(src); wrong != "" {
		r.faults = append(r.faults, &Error{r.file, line, column, wrong, "a " + r.what + " is a few pages; is this the right file?"})
		return none
	}
	tree, err := parseYAML(src)
	if err != nil {
		r.syntax(err)
		return none
	}
	if len(tree.Docs) == 0 || tree.Docs[0].Body == nil {
		none.fail("the file holds no "+r.what, r.begin())
		return none
	}
	if len(tree.Docs) > 1 {
		val{r: r, n: tree.Docs[1]}.fail("the file holds more than one document", "keep one "+r.what+" a file")
	}
	v := r.at(tree.Docs[0].Body)
	switch v.n.(type) {
	case *ast.MappingNode, *ast.MappingValueNode:
	default:
		v.fail("this is not a "+r.what, "a "+r.what+" is a mapping that starts with a line such as "+strconv.Quote(r.start))
	}
	return v
}

func (r *reader) begin() string { return "start with a line such as " + strconv.Quote(r.start) }

// parseYAML parses src. A panic of the library on torn input counts as an error.
func parseYAML(src []byte) (tree *ast.File, err error) {
	defer func() {
		if recover() != nil { // the library panics on some torn files
			err = errors.New("the file is not YAML")
		}
	}()
	return parser.ParseBytes(src, 0)
}

// syntax reports a fault of the YAML itself.
func (r *reader) syntax(err error) {
	fault := &Error{File: r.file, Wrong: "this is not YAML: " + firstLine(err.Error()), Mend: "look at the indentation and the brackets there"}
	if y, ok := errors.AsType[yaml.Error](err); ok {
		fault.Wrong = "this is not YAML: " + firstLine(y.GetMessage())
		if t := y.GetToken(); t != nil && t.Position != nil {
			fault.Line, fault.Column = t.Position.Line, t.Position.Column
		}
	}
	r.faults = append(r.faults, fault)
}

func firstLine(s string) string {
	s, _, _ = strings.Cut(s, "\n")
	return s
}

// tab finds a tab in the indentation.
func tab(src []byte) (line, column int, ok bool) {
	for i, text := range bytes.Split(src, []byte("\n")) {
		indent := len(text) - len(bytes.TrimLeft(text, " \t"))
		if at := bytes.IndexByte(text[:indent], '\t'); at >= 0 && len(bytes.TrimSpace(text)) > 0 {
			return i + 1, at + 1, true
		}
	}
	return 0, 0, false
}

// loader builds a spec from the file.
type loader struct {
	*reader
	check *validator.Validate
	spec  *rules.Spec

	nameless bool // a callout has no id that others could name
	tooMany  bool // places for any job

	where  map[string]val     // callouts by id, for complaints
	ruleAt map[rules.Rule]val // rules of the file, for complaints
	now    val                // the rule that is being read

	optionsAt val
}

// head is the part of a spec that has a shape of its own.
type head struct {
	Spec     string `validate:"required,max=40"`
	Revision string `validate:"required,max=40"`
	Title    string `validate:"max=200"`
	Source   string `validate:"max=200"`
}

func (l *loader) load(root val) {
	f := root.fields("a spec", specKeys)
	h := head{f["spec"].text("spec"), f["revision"].text("revision"), f["title"].text("title"), f["source"].text("source")}
	l.shape(root, h)
	l.spec.ID, l.spec.Revision, l.spec.Title, l.spec.Source = h.Spec, h.Revision, h.Title, h.Source
	if h.Spec != "" && !isIdent(h.Spec) {
		f["spec"].fail("the name "+strconv.Quote(short(h.Spec))+" of the spec is not usable", identRule)
	}
	l.spec.Invented = f["invented"].yes("invented", false)
	l.options(f["options"])
	l.axes(f["axes"])
	l.pronounce(f["pronounce"])
	l.callouts(root, f["callouts"])
	if len(l.spec.Callouts) == 0 || l.nameless {
		return // rules and work would complain about what is already said
	}
	l.countPlaces()
	l.rules(f["rules"])
	l.work(f["work"])
	l.cautions(f["cautions"])
	l.decision(f["decision"])
	l.kit(f["kit"])
	l.sameWords()
}

// shape checks a struct's tags and turns what is wrong into words.
func (l *loader) shape(at val, s any) {
	err := l.check.Struct(s)
	faults, ok := errors.AsType[validator.ValidationErrors](err)
	if !ok {
		return
	}
	for _, f := range faults {
		name := strings.ToLower(f.Field())
		switch f.Tag() {
		case "required":
			at.fail(name+" is missing", "add a line such as \""+name+": "+example(name)+"\"")
		case "max":
			at.fail(name+" is longer than "+f.Param()+" characters", "make it shorter")
		}
	}
}

func example(field string) string {
	switch field {
	case "spec":
		return "mr5"
	case "revision":
		return "\\\"C\\\""
	case "id":
		return "shaft_runout"
	}
	return "..."
}

const identRule = "use small letters, digits, _ and -, a letter first"

// isIdent reports whether s can be an id.
func isIdent(s string) bool {
	for i, c := range s {
		letter := 'a' <= c && c <= 'z'
		if !letter && (i == 0 || c != '_' && c != '-' && (c < '0' || c > '9')) {
			return false
		}
	}
	return s != "" && len(s) <= 40
}

func (l *loader) options(v val) {
	l.optionsAt = v
	for _, p := range v.pairs("options") {
		f := p.val.fields("option "+p.key, optionKeys)
		o := rules.Option{Name: p.key, Say: f["say"].text("say"), Values: f["values"].texts("values"), Default: f["default"].text("default")}
		if !isIdent(p.key) {
			p.name.fail("option "+strconv.Quote(short(p.key))+" is not usable as a name", identRule)
		}
		if o.Say == "" {
			o.Say = strings.ReplaceAll(p.key, "_", " ")
		}
		if f["from"].ok() || f["to"].ok() {
			from, ok := f["from"].whole("from")
			to, ok2 := f["to"].whole("to")
			if ok && ok2 && from > to {
				f["from"].fail("option "+p.key+" goes from "+strconv.Itoa(from)+" to "+strconv.Itoa(to), "put the smaller number first")
			}
			o.From, o.To = from, to
		} else if len(o.Values) == 0 {
			p.name.fail("option "+p.key+" has no values", "add values: [a, b], or from: 1 and to: 9")
		}
		if o.Default != "" {
			if _, err := rules.NewJob(&rules.Spec{Options: []rules.Option{o}}, nil); err != nil {
				f["default"].fail("the default "+strconv.Quote(short(o.Default))+" of option "+p.key+" is none of its values", "choose one that it may be")
			}
		}
		l.spec.Options = append(l.spec.Options, o)
	}
}

func (l *loader) axes(v val) {
	for _, p := range v.pairs("axes") {
		f := p.val.fields("axis "+p.key, axisKeys)
		a := rules.Axis{ID: p.key, Say: f["say"].texts("say")}
		if !isIdent(p.key) {
			p.name.fail("axis "+strconv.Quote(short(p.key))+" is not usable as a name", identRule)
		}
		if len(a.Say) == 0 {
			a.Say = []string{strings.ReplaceAll(p.key, "_", " ")}
		}
		if f["values"].ok() {
			for _, q := range f["values"].pairs("values of axis " + p.key) {
				a.Values = append(a.Values, parse.AxisValue{Value: q.key, Say: q.val.texts("say")})
			}
		}
		l.lowerCase(f["say"], a.Say)
		l.spec.Axes = append(l.spec.Axes, a)
	}
}

// lowerCase complains about spoken forms that cannot be heard.
func (l *loader) lowerCase(at val, say []string) {
	for _, s := range say {
		if s != strings.ToLower(s) {
			at.fail("the spoken form "+strconv.Quote(short(s))+" has capitals", "write it as it is spoken, in small letters")
		}
	}
}
