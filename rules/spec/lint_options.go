package spec

import (
	"fmt"
	"slices"
	"strings"

	"readback/rules"
)

// options looks for options, and values of options, that make no difference.
func (c *linter) options() {
	for _, o := range c.spec.Options {
		uses := c.usesOf(o)
		at := c.optionsAt.member(o.Name)
		if !at.ok() {
			continue
		}
		if len(uses) == 0 {
			at.fail("nothing uses option "+o.Name, "let a callout, a limit or a rule hang on it, or take it away")
			continue
		}
		c.sameValues(o, uses, at)
	}
	for i := range c.spec.Callouts {
		o := &c.spec.Callouts[i]
		for _, w := range o.When {
			option := c.optionNamed(w.Option)
			if option != nil && option.Values == nil && !takes(option, w.Is) {
				c.at(o, "when").fail(fmt.Sprintf("callout %s is never called for: option %s is never %s", o.ID, w.Option, w.Is), fmt.Sprintf("it goes from %d to %d", option.From, option.To))
			}
		}
	}
}

// sameValues complains about values of an option that everything treats alike.
func (c *linter) sameValues(o rules.Option, uses []func(string) string, at val) {
	first := map[string]string{}
	for _, v := range o.Values {
		var b strings.Builder
		for _, use := range uses {
			b.WriteString(use(v))
			b.WriteByte(0)
		}
		if same, ok := first[b.String()]; ok {
			at.fail("nothing uses the value "+v+" of option "+o.Name+": it makes no difference to "+same, "let something hang on it, or take it away")
			continue
		}
		first[b.String()] = v
	}
}

// usesOf lists what hangs on an option, each as what comes of a value.
func (c *linter) usesOf(o rules.Option) (uses []func(string) string) {
	count := func(n rules.Count) {
		if n.Option == o.Name {
			uses = append(uses, func(v string) string { return v })
		}
	}
	when := func(all []rules.Condition) {
		for _, w := range all {
			if w.Option == o.Name {
				uses = append(uses, func(v string) string { return fmt.Sprint(v == w.Is) })
			}
		}
	}
	for i := range c.spec.Callouts {
		k := &c.spec.Callouts[i]
		when(k.When)
		for _, a := range k.At {
			count(a.From)
			count(a.To)
		}
		all := []*rules.Limits{k.Limits}
		for _, a := range k.TakenAt {
			all = append(all, a.Limits)
		}
		for _, a := range amounts(all) {
			if a.By == o.Name {
				uses = append(uses, func(v string) string { return caseOf(a, v) })
			}
		}
	}
	for _, r := range c.spec.Rules {
		switch r := r.(type) {
		case *rules.StackOrder:
			count(r.Last)
		case *rules.Curve:
			count(r.Times)
		case *rules.PartChoice:
			if r.By == o.Name && r.Kinds != nil {
				uses = append(uses, func(v string) string { return kindOf(r, v) })
			}
		}
	}
	for _, it := range c.spec.Kit {
		when(it.When)
		if it.Many != nil && slices.Contains(it.Many.Names(), o.Name) {
			uses = append(uses, func(v string) string { return v })
		}
	}
	return uses
}

// amounts lists the numbers of limits.
func amounts(all []*rules.Limits) (out []*rules.Amount) {
	for _, l := range all {
		if l == nil {
			continue
		}
		for _, a := range []*rules.Amount{l.Nominal, l.Within, l.Min, l.Max} {
			if a != nil {
				out = append(out, a)
			}
		}
	}
	return out
}

func kindOf(r *rules.PartChoice, value string) string {
	for _, k := range r.Kinds {
		if k.Value == value {
			return k.Is
		}
	}
	return ""
}

func caseOf(a *rules.Amount, value string) string {
	for _, k := range a.Cases {
		if k.Is == value {
			return k.Value.String()
		}
	}
	return ""
}
