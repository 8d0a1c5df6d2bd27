package spec

import (
	"slices"
	"strconv"
	"time"

	"readback/parse"
	"readback/parse/unit"
	"readback/rules"
)

var registerKeys = keys{
	{"shop", true, text, "The name of the shop."},
	{"instruments", false, listOf(mapOf(text)), "What may be measured with."},
	{"show", false, texts, "UCUM codes, two of a dimension: a value in one is shown in the other too."},
}

var instrumentKeys = keys{
	{"say", true, texts, "Its spoken names, a tool with its number: wrench seven."},
	{"measures", true, text, "The UCUM code of its unit."},
	{"range", false, span, "What it can read, as 10..60."},
	{"accuracy", false, anyOf(decimal, percent), "As 2 % of the reading, or in its unit."},
	{"step", false, decimal, "The smallest step that it shows, in its unit."},
	{"types", false, text, "Of a gauge with a keyboard output: the UCUM code of the unit of the numbers that it types."},
	{"calibrated_until", false, text, "The day on which its calibration ends, as 2027-03-31."},
}

// LoadShop reads a shop's register: what may be measured with, and the units to show. The error is an [Errors]
// with all faults; file is the name that they show.
//
//	shop: Millrace Pump Works
//	instruments:
//	  - say: [wrench seven]
//	    measures: N.m
//	    range: 10..60
//	    accuracy: 2 %        # of the reading; or 0.02, in its unit
//	    step: 0.1
//	    calibrated_until: 2027-03-31
//	show: [N.m, "[ft_i].[lbf_av]"] # 48 N·m, 35.4 lbf·ft
func LoadShop(file string, src []byte) (*rules.Shop, error) {
	r := &reader{file: file, what: "register", start: "shop: Millrace Pump Works"}
	root := r.root(src)
	if len(r.faults) > 0 {
		return nil, r.faults.sorted()
	}
	f := root.fields("a register", registerKeys)
	s := &rules.Shop{Name: f["shop"].text("shop")}
	if s.Name == "" {
		root.fail("the register has no name", "start with a line such as \"shop: Millrace Pump Works\"")
	}
	owner := map[string]bool{}
	for _, e := range f["instruments"].items() {
		s.Instruments = append(s.Instruments, r.instrument(e, owner))
	}
	s.Show = f["show"].units()
	if len(r.faults) > 0 {
		return nil, r.faults.sorted()
	}
	return s, nil
}

func (r *reader) instrument(v val, owner map[string]bool) rules.Instrument {
	f := v.fields("an instrument", instrumentKeys)
	i := rules.Instrument{Unit: f["measures"].text("measures")}
	if !f["say"].ok() {
		v.fail("an instrument has no name", "add say: [wrench seven]")
	}
	for _, said := range f["say"].texts("say") {
		name, ok := parse.InstrumentName(said)
		switch {
		case !ok:
			f["say"].fail(strconv.Quote(short(said))+" cannot be heard as an instrument", "write a tool with its number, such as wrench seven or depth gauge 2")
		case owner[name]:
			f["say"].fail("two instruments are called "+name, "give each a number of its own")
		}
		owner[name] = true
		i.Say = append(i.Say, name)
	}
	if _, ok := unit.Lookup(i.Unit); !ok {
		f["measures"].fail("the unit "+strconv.Quote(short(i.Unit))+" is not known", "write a UCUM code, such as measures: N.m")
	}
	if r := f["range"].span("range"); r != nil {
		i.Range = *r
	}
	i.Accuracy = f["accuracy"].accuracy()
	if f["step"].ok() {
		if d, ok := f["step"].decimal("step"); ok {
			i.Step = &d
		}
	}
	if f["types"].ok() {
		i.Types = f["types"].text("types")
		typed, known := unit.Lookup(i.Types)
		if own, ok := unit.Lookup(i.Unit); !known || ok && own.Dimension != typed.Dimension {
			f["types"].fail("a gauge that measures "+i.Unit+" cannot type "+strconv.Quote(short(i.Types)), "write the UCUM code of the unit of its numbers, such as types: "+i.Unit)
		}
	}
	i.Until = f["calibrated_until"].date("calibrated_until")
	return i
}

// units reads the units to show. With a third one of a dimension, or one alone, it would
// not be clear what stands beside a value.
func (v val) units() (codes []string) {
	first, many := map[unit.Dimension]val{}, map[unit.Dimension]int{}
	for _, e := range v.items() {
		code := e.text("show")
		u, ok := unit.Lookup(code)
		switch {
		case !ok:
			e.fail("the unit "+strconv.Quote(short(code))+" is not known", "write a UCUM code, such as N.m or \"[ft_i].[lbf_av]\"")
			continue
		case slices.Contains(codes, u.Code):
			e.fail("the unit "+u.Code+" stands twice in show", "keep one of them")
			continue
		case many[u.Dimension] == 2:
			e.fail("show has three units of "+string(u.Dimension), "keep the two that are to stand side by side")
			continue
		}
		if many[u.Dimension]++; many[u.Dimension] == 1 {
			first[u.Dimension] = e
		}
		codes = append(codes, u.Code)
	}
	for _, code := range codes {
		u, _ := unit.Lookup(code)
		if many[u.Dimension] == 1 && len(v.r.faults) == 0 {
			first[u.Dimension].fail("the unit "+u.Code+" has no other of "+string(u.Dimension)+" to stand beside it", "add the other unit, or leave this one out")
		}
	}
	return codes
}

// accuracy reads "2 %" or "0.02".
func (v val) accuracy() rules.Accuracy {
	if !v.ok() {
		return rules.Accuracy{}
	}
	d, percent, ok := percentage(v.textOr())
	if !ok || d.Rat().Sign() < 0 {
		v.fail("the accuracy "+strconv.Quote(short(v.textOr()))+" is no amount", "write it as 2 % of the reading, or as 0.02 in the instrument's unit")
		return rules.Accuracy{}
	}
	return rules.Accuracy{Value: &d, Percent: percent}
}

// date reads a day, as 2027-03-31.
func (v val) date(what string) string {
	text := v.text(what)
	if text == "" {
		return ""
	}
	if _, err := time.Parse(time.DateOnly, text); err != nil {
		v.fail(what+" "+strconv.Quote(short(text))+" is no day", "write year, month and day, as 2027-03-31")
		return ""
	}
	return text
}
