package spec

import (
	"slices"
	"strconv"

	"readback/rules"
	"readback/rules/expr"
)

// kit reads what a job needs: {say: collar nuts, one: collar nut, many: stages},
// {say: long build spacer, when: {base: long}}.
func (l *loader) kit(v val) {
	for _, e := range v.items() {
		f := e.fields("an item of the kit", kitKeys)
		it := rules.Item{Say: f["say"].text("say"), One: f["one"].text("one")}
		if it.Say == "" {
			e.fail("an item of the kit has no name", "add say: collar nuts")
		}
		if f["many"].ok() {
			it.Many = l.howMany(f["many"])
		}
		c := rules.Callout{ID: it.Say}
		l.when(&c, f["when"])
		it.When = c.When
		l.spec.Kit = append(l.spec.Kit, it)
	}
}

// howMany reads a number computed from options: 4, stages, stages - cut_impellers.
func (l *loader) howMany(v val) *expr.Expr {
	e, err := expr.Parse(v.textOr())
	if err != nil {
		v.fail("many: "+err.Error(), "write a number, or one computed from options, such as stages - cut_impellers")
		return nil
	}
	for _, name := range e.Names() {
		i := slices.IndexFunc(l.spec.Options, func(o rules.Option) bool { return o.Name == name && len(wholes(o)) > 0 })
		if i < 0 {
			v.fail("there is no whole-number option "+strconv.Quote(short(name)), "use an option that has from: and to:, or whole numbers as values:")
			return nil
		}
	}
	return e
}
