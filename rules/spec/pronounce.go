package spec

import (
	"slices"
	"strconv"
	"strings"
	"unicode"

	"readback/parse"
	"readback/rules"
)

// arpabet lists the phones of the recogniser's model: those of the CMU Pronouncing Dictionary,
// without marks of stress.
var arpabet = strings.Fields("AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH T TH UH UW V W Y Z ZH")

// vowels are those of them that make a syllable.
var vowels = strings.Fields("AA AE AH AO AW AY EH ER EY IH IY OW OY UH UW")

// longestSound is how many phones a word has at most.
const longestSound = 40

// pronounce reads how words sound: {runout: R AH N AW T, thou: [TH AW, DH AW]}.
func (l *loader) pronounce(v val) {
	for _, p := range v.pairs("pronounce") {
		if strings.ContainsFunc(p.key, func(c rune) bool { return c != '\'' && !unicode.IsLower(c) }) || p.key == "" {
			p.name.fail("pronounce has "+strconv.Quote(short(p.key))+", which is no single word", "write one word in small letters, as it stands in a spoken form; a hyphen parts two words")
			continue
		}
		out := rules.Pronunciation{Word: p.key}
		for _, e := range p.val.items() {
			if sound, ok := e.sound(p.key); ok {
				out.Sounds = append(out.Sounds, sound)
			}
		}
		if len(p.val.items()) == 0 {
			p.name.fail("pronounce says nothing of "+strconv.Quote(short(p.key)), "write its phones, as R AH N AW T")
		}
		if len(out.Sounds) > 0 {
			l.spec.Pronounce = append(l.spec.Pronounce, out)
		}
	}
}

// sound reads the phones of a word.
func (v val) sound(word string) (string, bool) {
	phones := strings.Fields(v.text("pronounce"))
	spoken := false
	for _, p := range phones {
		if !slices.Contains(arpabet, p) {
			mend := "write phones of " + strings.Join(arpabet, " ")
			if plain := strings.TrimRight(strings.ToUpper(p), "0123456789"); slices.Contains(arpabet, plain) {
				mend = "write " + plain + ": capitals, without a mark of stress"
			}
			v.fail("the word "+strconv.Quote(short(word))+" is pronounced with "+strconv.Quote(short(p))+", which is no phone", mend)
			return "", false
		}
		spoken = spoken || slices.Contains(vowels, p)
	}
	switch {
	case len(phones) == 0:
		return "", false // told already
	case !spoken:
		v.fail("the word "+strconv.Quote(short(word))+" is pronounced without a vowel", "write all of its phones, as R AH N AW T")
		return "", false
	case len(phones) > longestSound:
		v.fail("the word "+strconv.Quote(short(word))+" has more than "+strconv.Itoa(longestSound)+" phones", "is that one word?")
		return "", false
	}
	return strings.Join(phones, " "), true
}

// Spoken is a spoken form of a spec file with where it stands.
type Spoken struct {
	Of           string // the id of the callout or axis
	Callout      bool   // it is a callout's
	Kind         parse.Kind
	When         []rules.Condition // of the callout
	Form         string
	Line, Column int
}

// Forms lists the spoken forms of a spec file, those of axes first. What cannot be read is left out.
func Forms(file string, src []byte) (out []Spoken) {
	l := read(file, src)
	root := (&reader{file: file, what: "spec", start: "spec: mr5"}).root(src)
	add := func(s Spoken, at val, forms []string) {
		items := at.items()
		for i, f := range forms {
			where := at
			if i < len(items) {
				where = items[i]
			}
			s.Form = f
			s.Line, s.Column = where.place()
			out = append(out, s)
		}
	}
	for _, a := range l.spec.Axes {
		at := root.member("axes").member(a.ID)
		add(Spoken{Of: a.ID}, at.member("say"), a.Say)
		for _, v := range a.Values {
			add(Spoken{Of: a.ID}, at.member("values").member(v.Value), v.Say)
		}
	}
	for i := range l.spec.Callouts {
		c := &l.spec.Callouts[i]
		at, s := l.where[c.ID], Spoken{Of: c.ID, Callout: true, Kind: c.Kind, When: c.When}
		add(s, at.member("say"), c.Say)
		if c.Many != "" {
			add(s, at.member("many"), []string{c.Many})
		}
		add(s, at.member("short"), c.Short)
		add(s, at.member("denied"), c.Denied)
		for _, k := range c.Choices {
			add(s, at.member("choices").member(k.Is), k.Say)
		}
	}
	for i, it := range l.spec.Kit {
		if items := root.member("kit").items(); i < len(items) {
			add(Spoken{Of: "kit"}, items[i].member("say"), []string{it.Say})
		}
	}
	return out
}
