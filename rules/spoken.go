package rules

import (
	"slices"
	"strconv"
	"strings"
	"unicode"

	"readback/rules/say"
)

// Spoken returns how a value of the option is said: "two to one" for 2:1, "eight" for 8.
func (o Option) Spoken(value string) string {
	if n, err := strconv.ParseInt(value, 10, 64); err == nil && n >= 0 {
		return say.Int(n)
	}
	if a, b, ok := strings.Cut(value, ":"); ok {
		return o.Spoken(a) + " to " + o.Spoken(b)
	}
	return strings.ToLower(value)
}

// Phrase says what the option is, so that [Spec.ReadOptions] understands it again: "base long",
// "eight stages", "rebuild", "no rebuild".
func (o Option) Phrase(value string) string {
	switch {
	case o.YesOrNo() && value == "yes":
		return o.Say
	case o.YesOrNo(), o.Counts() && value == "0":
		return "no " + o.Say
	case o.Counts() && value == "1":
		return o.Spoken(value) + " " + strings.TrimSuffix(o.Say, "s")
	case o.Counts():
		return o.Spoken(value) + " " + o.Say
	}
	return o.Say + " " + o.Spoken(value)
}

// YesOrNo reports whether the option is a yes or a no.
func (o Option) YesOrNo() bool {
	return slices.Contains(o.Values, "yes") && slices.Contains(o.Values, "no")
}

// Counts reports whether the option is a whole number.
func (o Option) Counts() bool { return o.takesNumbers() }

// Allowed says what the option may be: "short or long", "3 to 18".
func (o Option) Allowed() string { return o.allowed() }

// written writes values whose signs are said as words the way the spec has them.
func (s *Spec) written(text string) string {
	for _, o := range s.Options {
		for _, v := range o.Values {
			if strings.Contains(v, ":") {
				text = strings.ReplaceAll(text, o.Spoken(v), v)
			}
		}
	}
	return text
}

// Names returns what the spec may be called in speech, as words in small letters: its name spelt
// out ("m r five", "bevel head"), its title up to the first comma or "of", that without its code,
// and the code alone. The first is read back.
func (s *Spec) Names() (names []string) {
	add := func(words []string) {
		if name := strings.Join(words, " "); name != "" && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	add(spelt(s.ID))
	title, _, _ := strings.Cut(s.Title, ",")
	title, _, _ = strings.Cut(title, " of ")
	var all, code, rest []string
	for word := range strings.FieldsSeq(title) {
		all = append(all, spelt(word)...)
		if strings.ContainsFunc(word, unicode.IsDigit) {
			code = append(code, spelt(word)...)
		} else {
			rest = append(rest, spelt(word)...)
		}
	}
	if len(all) > 0 {
		add(all)
		add(code)
	}
	if len(rest) > 1 || len(rest) > 0 && len(code) == 0 {
		add(rest)
	}
	return names
}

// spelt cuts a name into words as they are said: letters that make no word one by one, figures
// one by one.
func spelt(name string) (words []string) {
	for _, run := range runs(strings.ToLower(name)) {
		switch {
		case unicode.IsDigit(rune(run[0])):
			for _, c := range run {
				words = append(words, say.Int(int64(c-'0')))
			}
		case len(run) <= 3 || !strings.ContainsAny(run, "aeiouy"):
			words = append(words, strings.Split(run, "")...)
		default:
			words = append(words, run)
		}
	}
	return words
}

// runs cuts a name into its letters and its figures; signs part them.
func runs(name string) (out []string) {
	kind := func(c rune) int {
		switch {
		case c < 128 && unicode.IsDigit(c):
			return 1
		case unicode.IsLetter(c):
			return 2
		}
		return 0
	}
	start, last := 0, 0
	for i, c := range name + " " {
		if k := kind(c); k != last {
			if last != 0 {
				out = append(out, name[start:i])
			}
			start, last = i, k
		}
	}
	return out
}
