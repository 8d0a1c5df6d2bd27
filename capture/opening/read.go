package opening

import (
	"regexp"
	"slices"
	"strings"

	"readback/rules"
)

// atoms cuts what was said into words, figures and signs.
var atoms = regexp.MustCompile(`[a-z']+|[0-9]+(?:[:.][0-9]+)*|[-,;.]`)

// Figures and letters as they are spelt. Letters by name stand for letters inside a job's number
// alone: mike and kilo are units elsewhere.
var (
	figures = map[string]string{
		"zero": "0", "oh": "0", "nought": "0", "one": "1", "two": "2", "three": "3", "four": "4", "five": "5",
		"six": "6", "seven": "7", "eight": "8", "nine": "9", "niner": "9", "fife": "5",
	}
	letters = lettersByName()
)

// Letters are the names of the letters on the radio, a to z, with other spellings of two of them.
var Letters = strings.Fields("alfa bravo charlie delta echo foxtrot golf hotel india juliett kilo lima mike november oscar papa quebec romeo sierra tango uniform victor whiskey xray yankee zulu alpha juliet")

func lettersByName() map[string]string {
	out := map[string]string{}
	for _, name := range Letters {
		out[name] = name[:1]
	}
	for c := 'a'; c <= 'z'; c++ {
		out[string(c)] = string(c)
	}
	return out
}

// said is what a note holds.
type said struct {
	number string        // the job's, in capitals, with a dash between letters and figures; "" for none
	opens  bool          // the word open or new stands with it
	specs  []*rules.Spec // that were named; several where a name is that of several
	rest   string        // what is left, for the options
}

// empty holds where nothing of an opening was said. The rest may still name options.
func (s *said) empty() bool { return s.number == "" && len(s.specs) == 0 }

// reader reads notes about jobs with these specs.
type reader struct {
	specs []*rules.Spec
	names []map[string]bool // of each spec, as codes
	long  int               // bytes of the longest of them: no more words make one
	nouns map[string]bool   // what options count: a figure before one is no figure of a number
}

func newReader(specs []*rules.Spec) *reader {
	r := &reader{specs: specs, nouns: map[string]bool{}}
	for _, s := range specs {
		names := map[string]bool{}
		for _, n := range s.Names() {
			c := code(atoms.FindAllString(n, -1))
			names[c], r.long = true, max(r.long, len(c))
		}
		r.names = append(r.names, names)
		for _, o := range s.Options {
			if !o.Counts() {
				continue
			}
			for noun := range strings.FieldsSeq(strings.ToLower(o.Say)) {
				r.nouns[noun], r.nouns[strings.TrimSuffix(noun, "s")] = true, true
			}
		}
	}
	return r
}

// code writes words without what parts them, figures as figures: "m r five" and "MR-5" are mr5.
func code(words []string) string {
	var b strings.Builder
	for _, w := range words {
		if f, ok := figures[w]; ok {
			w = f
		}
		if w != "-" {
			b.WriteString(w)
		}
	}
	return b.String()
}

// read reads a note.
func (r *reader) read(text string) said {
	words := atoms.FindAllString(strings.ToLower(text), -1)
	out := said{opens: slices.ContainsFunc(words, func(w string) bool { return w == "open" || w == "new" })}
	for i, w := range words {
		if w != "job" && w != "open" {
			continue
		}
		from := i + 1
		for from < len(words) && slices.Contains([]string{"job", "number", "no", "is"}, words[from]) {
			from++
		}
		if number, to := r.number(words, from); number != "" {
			out.number, words = number, slices.Concat(words[:i], []string{","}, words[to:])
			break
		}
	}
	words = r.spec(words, &out)
	if number, to := r.number(words, 0); out.empty() && number != "" && to == len(words) {
		out.number, words = number, nil
	}
	out.rest = strings.Join(words, " ")
	return out
}

// number reads a job's number, and says where it ends. A figure that counts something behind it is
// none of it.
func (r *reader) number(words []string, from int) (number string, to int) {
	last := "" // letters, figures or a dash
	i := from
	for ; i < len(words); i++ {
		w := words[i]
		behind := ""
		if i+1 < len(words) {
			behind = words[i+1]
		}
		kind, sign := signOf(w, behind)
		switch {
		case kind == "", kind == "dash" && last == "dash", kind == "letters" && last == "figures":
			kind = ""
		case kind == "figures" && (r.nouns[behind] || last == kind && len(sign) > 1):
			kind = ""
		}
		if kind == "" {
			break
		}
		if kind == "figures" && last == "letters" {
			number += "-"
		}
		number, last = number+sign, kind
	}
	number = strings.TrimSuffix(number, "-")
	if !strings.ContainsAny(number, "0123456789") || strings.HasPrefix(number, "-") || len(number) > 64 {
		return "", from
	}
	return strings.ToUpper(number), i
}

// signOf says what a word is in a job's number; behind stands behind it.
func signOf(w, behind string) (kind, sign string) {
	switch f, c := figures[w], letters[w]; {
	case f != "":
		return "figures", f
	case c != "":
		return "letters", c
	case w == "-" || w == "dash":
		return "dash", "-"
	case strings.Trim(w, "0123456789") == "":
		return "figures", w
	case len(w) <= 4 && (behind == "-" || behind != "" && strings.Trim(behind, "0123456789") == ""): // "mw-1042" is typed so
		return "letters", w
	}
	return "", ""
}

// spec finds the longest name of a spec, and returns the words without it.
func (r *reader) spec(words []string, out *said) []string {
	long, at := 0, -1
	for from := range words {
		var name strings.Builder
		for to := from + 1; to <= min(len(words), from+2*r.long); to++ { // with a dash between any two
			name.WriteString(code(words[to-1 : to]))
			if named := r.named(name.String()); len(named) > 0 && to-from > long {
				long, at, out.specs = to-from, from, named
			}
		}
	}
	if at < 0 {
		return words
	}
	return slices.Concat(words[:at], []string{","}, words[at+long:])
}

func (r *reader) named(code string) (specs []*rules.Spec) {
	for i, names := range r.names {
		if names[code] {
			specs = append(specs, r.specs[i])
		}
	}
	return specs
}
