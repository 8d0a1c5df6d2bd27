package spec

import (
	"strconv"

	"readback/parse"
	"readback/parse/phone"
	"readback/rules"
)

// pronounce reads how words sound: {runout: R AH N AW T, thou: [TH AW, DH AW]}.
func (l *loader) pronounce(v val) {
	for _, p := range v.pairs("pronounce") {
		if !phone.Word(p.key) {
			p.name.fail("pronounce has "+strconv.Quote(short(p.key))+", which is no single word", phone.WordRule)
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
	sound, wrong, mend := phone.Sound(word, v.text("pronounce"))
	if wrong != "" {
		v.fail(wrong, mend)
	}
	return sound, sound != "" // that nothing is written is told already
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
