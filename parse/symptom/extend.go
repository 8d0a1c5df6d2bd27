package symptom

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"

	"readback/parse/phone"
)

// Bounds of a shop's file of words.
const (
	maxFile  = 1 << 20 // bytes
	maxWords = 5000    // forms in all
	maxForm  = 60      // characters of a form
)

// FaultError is what is wrong at one place of a file of words.
type FaultError struct {
	File         string
	Line, Column int    // counted from 1; 0: of the whole file
	Wrong, Do    string // what is wrong, and what would do
}

// Error gives all of it in one line.
func (f *FaultError) Error() string {
	if f.Line == 0 {
		return fmt.Sprintf("%s: %s; %s", f.File, f.Wrong, f.Do)
	}
	return fmt.Sprintf("%s:%d:%d: %s; %s", f.File, f.Line, f.Column, f.Wrong, f.Do)
}

// Own is what a shop's own file of words adds. It is read-only.
type Own struct {
	Groups []Group             // [Groups] with the words of the shop, for searching
	Forms  []Form              // by which notes are read and heard beside [Conditions] and [Parts], in the order of the file
	Sounds map[string][]string // how words of it sound, in phones: "S K W AO K"
}

// Form is one form of the file, and where it stands.
type Form struct {
	Say   string
	Means string // the ID of its group
	Sort  Sort   // [IsCondition] or [IsPart]

	file string
	at   place
}

// Fault is something that is wrong with the form.
func (f Form) Fault(wrong, do string) *FaultError {
	return &FaultError{f.file, f.at.line, f.at.column, wrong, do}
}

// BuiltIn is what there is without a file.
func BuiltIn() *Own { return &Own{Groups: Groups()} }

// Extend returns what a shop's own file of words makes of [Groups]. Faults show the name of the file.
// It is YAML:
//
//	words:
//	  - means: seized              # a group that is known, or a new one
//	    say: [nipped up, gone off]
//	  - means: squawk
//	    like: noisy                # who looks for noisy finds squawk too, but not the other way
//	    say: [squawks, squawking]
//	  - means: spider              # a new one is a condition, or what it is like, or what is says
//	    is: part
//	    say: [spiders, coupling spider]
//	  - means: burnt
//	    only: search               # a note is not read by these
//	    say: [toasty]
//	pronounce:                     # what the recogniser's dictionary lacks
//	  squawks: S K W AO K S
//
// A form that already means something else is refused, and so is a circle of likes. The error
// joins one [FaultError] for each thing that is wrong.
func Extend(file string, src []byte) (*Own, error) {
	x := &extension{file: file, groups: Groups(), owner: map[string]owner{}, likes: map[string]place{}, sounds: map[string][]string{}}
	for i := range x.groups {
		for _, s := range x.groups[i].Say {
			if _, ok := x.owner[s]; !ok {
				x.owner[s] = owner{id: x.groups[i].ID}
			}
		}
	}
	x.read(src)
	if len(x.faults) == 0 {
		x.circles()
	}
	if len(x.faults) > 0 {
		return nil, errors.Join(x.faults...)
	}
	x.sorts()
	return &Own{Groups: x.groups, Forms: x.forRead(), Sounds: x.sounds}, nil
}

// extension is a file of words as it is read.
type extension struct {
	file   string
	groups []Group
	owner  map[string]owner // of a form
	likes  map[string]place // where a group of the file says what it is like
	forms  int
	said   []said
	sounds map[string][]string
	faults []error
}

// said is a form of the file, by which notes are read as well.
type said struct {
	group int
	form  string
	at    place
}

// owner is what a form means, and since which line; 0 for what is built in.
type owner struct {
	id   string
	line int
}

type place struct{ line, column int }

func placeOf(n ast.Node) place {
	if n == nil || n.GetToken() == nil || n.GetToken().Position == nil {
		return place{}
	}
	return place{n.GetToken().Position.Line, n.GetToken().Position.Column}
}

func (x *extension) fail(at place, do, wrong string, args ...any) {
	x.faults = append(x.faults, &FaultError{x.file, at.line, at.column, fmt.Sprintf(wrong, args...), do})
}

const begin = "begin with words: and a list of entries with means: and say:"

func (x *extension) read(src []byte) {
	switch {
	case len(src) > maxFile:
		x.fail(place{}, "a file of words is a few pages; is this the right file?", "it is larger than 1 MiB")
		return
	case len(bytes.TrimSpace(src)) == 0:
		x.fail(place{}, begin, "the file is empty")
		return
	case !utf8.Valid(src):
		x.fail(place{}, "save it as UTF-8", "the file is not UTF-8")
		return
	}
	file, err := parser.ParseBytes(src, 0)
	if err != nil {
		at := place{}
		var syntax *yaml.SyntaxError
		if errors.As(err, &syntax) && syntax.Token != nil {
			at = place{syntax.Token.Position.Line, syntax.Token.Position.Column}
			x.fail(at, "look at the indents, brackets and quotes there", "the YAML cannot be read: %s", syntax.Message)
			return
		}
		x.fail(at, "look at its indents, brackets and quotes", "the YAML cannot be read")
		return
	}
	if len(file.Docs) != 1 {
		x.fail(place{}, begin, "it is not one document")
		return
	}
	var list *ast.SequenceNode
	for _, p := range pairs(file.Docs[0].Body) {
		switch key := p.Key.String(); key {
		case "words":
			var ok bool
			if list, ok = p.Value.(*ast.SequenceNode); !ok {
				x.fail(placeOf(p.Value), "put a dash before each entry", "words is not a list")
				return
			}
		case "pronounce":
			x.pronounce(p.Value)
		default:
			x.fail(placeOf(p.Key), begin, "the file holds %s, and not words: and pronounce: alone", key)
			return
		}
	}
	if list == nil {
		x.fail(placeOf(file.Docs[0].Body), begin, "the file does not hold words:")
		return
	}
	for _, n := range list.Values {
		x.entry(n)
	}
}

// pronounce reads how words sound: {squawk: S K W AO K}.
func (x *extension) pronounce(n ast.Node) {
	if pairs(n) == nil {
		x.fail(placeOf(n), "write a word, a colon and its phones, as squawk: S K W AO K", "pronounce holds no word")
	}
	for _, p := range pairs(n) {
		word := p.Key.String()
		if !phone.Word(word) {
			x.fail(placeOf(p.Key), phone.WordRule, "pronounce has %q, which is no single word", word)
			continue
		}
		ways := []ast.Node{p.Value}
		if list, ok := p.Value.(*ast.SequenceNode); ok {
			ways = list.Values
		}
		for _, way := range ways {
			written := ""
			if s, ok := way.(ast.ScalarNode); ok && way.Type() != ast.NullType {
				written = fmt.Sprint(s.GetValue())
			}
			sound, wrong, do := phone.Sound(word, written)
			switch {
			case wrong != "":
				x.fail(placeOf(way), do, "%s", wrong)
			case sound == "":
				x.fail(placeOf(p.Key), "write its phones, as S K W AO K", "pronounce says nothing of %q", word)
			default:
				x.sounds[word] = append(x.sounds[word], sound)
			}
		}
	}
}

func pairs(n ast.Node) []*ast.MappingValueNode {
	switch m := n.(type) {
	case *ast.MappingNode:
		return m.Values
	case *ast.MappingValueNode:
		return []*ast.MappingValueNode{m}
	}
	return nil
}

// entry reads one entry of the list.
func (x *extension) entry(n ast.Node) {
	var means, like, is string
	var meansAt, likeAt, isAt place
	var say []ast.Node
	read := true
	for _, p := range pairs(n) {
		switch key := p.Key.String(); key {
		case "means":
			means, meansAt = x.form(p.Value), placeOf(p.Value)
		case "like":
			like, likeAt = x.form(p.Value), placeOf(p.Value)
		case "is":
			is, isAt = x.form(p.Value), placeOf(p.Value)
		case "only":
			if x.form(p.Value) != "search" {
				x.fail(placeOf(p.Value), "write only: search, or leave it out", "notes are read by these words, or they are only searched by")
			}
			read = false
		case "say":
			if list, ok := p.Value.(*ast.SequenceNode); ok {
				say = list.Values
			} else {
				say = []ast.Node{p.Value}
			}
		default:
			x.fail(placeOf(p.Key), "use means, like, is, only and say", "%q is no key of an entry", key)
		}
	}
	if means == "" || len(say) == 0 {
		if len(x.faults) == 0 || means == "" && meansAt == (place{}) {
			x.fail(placeOf(n), "give it both, such as means: seized and say: [nipped up]", "an entry needs means and say")
		}
		return
	}
	i := x.group(means, meansAt, read)
	if is != "" {
		x.kind(i, Sort(is), isAt)
	}
	for _, s := range say {
		if form := x.form(s); form != "" {
			x.add(i, form, placeOf(s), read)
		}
	}
	if like != "" {
		x.groups[i].Like = append(x.groups[i].Like, like)
		x.likes[means+"\x00"+like] = likeAt
	}
}

// kind says what the words of group i are for.
func (x *extension) kind(i int, sort Sort, at place) {
	g := &x.groups[i]
	switch {
	case sort != IsCondition && sort != IsPart && sort != IsDeed:
		x.fail(at, "write condition, part or deed", "%s is none of what words are for", sort)
	case g.Sort != "" && g.Sort != sort:
		x.fail(at, "take is out, or give these words a name of their own under means", "%s is a %s already", g.ID, g.Sort)
	default:
		g.Sort = sort
	}
}

// group returns the group of that name, made if there is none.
func (x *extension) group(id string, at place, read bool) int {
	for i := range x.groups {
		if x.groups[i].ID == id {
			return i
		}
	}
	x.groups = append(x.groups, Group{ID: id})
	i := len(x.groups) - 1
	x.add(i, id, at, read)
	return i
}

// sorts gives each new group that does not say what it is for the sort of what it is like. There is no
// circle any more.
func (x *extension) sorts() {
	at := map[string]int{}
	for i := range x.groups {
		at[x.groups[i].ID] = i
	}
	var sortOf func(i int) Sort
	sortOf = func(i int) Sort {
		g := &x.groups[i]
		if g.Sort == "" {
			g.Sort = IsCondition
			if len(g.Like) > 0 {
				g.Sort = sortOf(at[g.Like[0]])
			}
		}
		return g.Sort
	}
	for i := range x.groups {
		sortOf(i)
	}
}

// forRead lists the forms of the file by which notes are read, but for those that are built in there.
func (x *extension) forRead() []Form {
	known := map[string]bool{}
	for _, e := range slices.Concat(Conditions(), Parts()) {
		for _, s := range e.Say {
			known[s] = true
		}
	}
	var out []Form
	for _, s := range x.said {
		g := &x.groups[s.group]
		if g.Sort != IsDeed && !known[s.form] {
			known[s.form] = true
			out = append(out, Form{Say: s.form, Means: g.ID, Sort: g.Sort, file: x.file, at: s.at})
		}
	}
	return out
}

// add makes form one of group i's, unless it means something else.
func (x *extension) add(i int, form string, at place, read bool) {
	if x.forms++; x.forms == maxWords+1 {
		x.fail(at, "leave out what nobody says", "the file has more than %d words", maxWords)
	}
	if read && x.forms <= maxWords {
		x.said = append(x.said, said{i, form, at})
	}
	id := x.groups[i].ID
	if slices.Contains(x.groups[i].Say, form) {
		return
	}
	if o, ok := x.owner[form]; ok && o.id != id {
		where := "which is built in"
		if o.line > 0 {
			where = fmt.Sprintf("by line %d", o.line)
		}
		x.fail(at, fmt.Sprintf("take it out, or put these words under means: %s", o.id), "%q already means %s, %s", form, o.id, where)
		return
	}
	x.owner[form] = owner{id, at.line}
	x.groups[i].Say = append(x.groups[i].Say, form)
}

// form returns a scalar in lower case with single spaces, or "" after a fault.
func (x *extension) form(n ast.Node) string {
	s, ok := n.(ast.ScalarNode)
	if !ok || n.Type() == ast.NullType {
		x.fail(placeOf(n), "give a word or a few", "that is no word")
		return ""
	}
	text := strings.Join(strings.Fields(strings.ToLower(fmt.Sprint(s.GetValue()))), " ")
	switch {
	case utf8.RuneCountInString(text) > maxForm:
		x.fail(placeOf(n), "give what somebody would say in one breath", "the words are longer than %d characters", maxForm)
		return ""
	case !strings.ContainsFunc(text, letter):
		x.fail(placeOf(n), "give a word or a few", "%q holds no letter", text)
		return ""
	}
	return text
}

func letter(r rune) bool { return r >= 'a' && r <= 'z' || r > 0x7f }

// circles refuses likes that name nothing, and likes that come back to where they began.
func (x *extension) circles() {
	at := map[string]int{}
	for i := range x.groups {
		at[x.groups[i].ID] = i
	}
	for _, g := range x.groups {
		for _, like := range g.Like {
			if _, ok := at[like]; !ok {
				x.fail(x.likes[g.ID+"\x00"+like], "name a group that has means: of its own, or one that is built in, such as noisy", "nothing means %q", like)
			}
		}
	}
	done := make([]bool, len(x.groups))
	for i := range x.groups {
		x.walk(at, done, []int{i})
	}
}

// walk follows the likes from the end of path, each group once in all, and refuses one that leads
// back into the path.
func (x *extension) walk(at map[string]int, done []bool, path []int) {
	i := path[len(path)-1]
	if done[i] {
		return
	}
	for _, like := range x.groups[i].Like {
		next, ok := at[like]
		if !ok {
			continue
		}
		if k := slices.Index(path, next); k >= 0 {
			var ids []string
			for _, p := range path[k:] {
				ids = append(ids, x.groups[p].ID)
			}
			x.fail(x.likes[x.groups[i].ID+"\x00"+like], "take one of these likes out", "likes go round in a circle: %s", strings.Join(append(ids, like), ", "))
			continue
		}
		x.walk(at, done, append(slices.Clone(path), next))
	}
	done[i] = true
}
