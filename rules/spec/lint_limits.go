package spec

import (
	"errors"
	"fmt"
	"maps"
	"math/big"
	"slices"
	"strings"

	"readback/rules"
	"readback/rules/expr"
	"readback/rules/say"
)

// limitsMeet looks for limits that no reading can meet, and for readings in limits that
// would be asked back as implausible.
func (c *linter) limitsMeet() {
	for i := range c.spec.Callouts {
		o := &c.spec.Callouts[i]
		if o.Limits == nil {
			continue
		}
		for _, is := range cases(o.Limits) {
			if c.meet(o, is) {
				break // one complaint a callout
			}
		}
	}
}

// meet looks at the limits for one case, and reports whether it complained.
func (c *linter) meet(o *rules.Callout, is map[string]string) bool {
	at, where := c.at(o, "limits"), caseWords(is)
	low, high := ends(o.Limits, is)
	if low != nil && high != nil && low.Cmp(high) > 0 {
		if hangs(o.Limits.Min, o.Limits.Max, o.Limits.Within) { // else the loader has told
			at.fail("no value is in the limits of callout "+o.ID+where+": from "+show(low)+" down to "+show(high), "put the smaller number in min; a within counts to both sides")
		}
		return true
	}
	for _, v := range o.Limits.OneOf {
		if low != nil && v.Rat().Cmp(low) < 0 || high != nil && v.Rat().Cmp(high) > 0 {
			at.fail("the limits of callout "+o.ID+" exclude each other"+where+": "+v.String()+" is one of its values, and outside of min and max", "keep one way to say it")
			return true
		}
	}
	if o.Corrected != nil {
		return false // limits are those of the corrected value, plausible that of the reading
	}
	if len(o.Limits.OneOf) > 0 {
		for _, v := range o.Limits.OneOf {
			if c.outside(o, v.Rat(), where) {
				return true
			}
		}
		return false
	}
	return low != nil && c.outside(o, low, where) || high != nil && c.outside(o, high, where)
}

// hangs reports whether one of the amounts hangs on something.
func hangs(amounts ...*rules.Amount) bool {
	return slices.ContainsFunc(amounts, func(a *rules.Amount) bool { return a != nil && a.By != "" })
}

// outside complains about an end of the limits that is not plausible.
func (c *linter) outside(o *rules.Callout, end *big.Rat, where string) bool {
	p := o.Plausible
	if p == nil || (p.Min == nil || end.Cmp(p.Min.Rat()) >= 0) && (p.Max == nil || end.Cmp(p.Max.Rat()) <= 0) {
		return false
	}
	c.at(o, "plausible").fail("the limits of callout "+o.ID+" reach "+show(end)+where+", which lies outside what is plausible ("+spanText(p)+")",
		"a reading there would be asked back; widen plausible, or mend the limits")
	return true
}

func spanText(p *rules.Range) string {
	from, to := "", ""
	if p.Min != nil {
		from = p.Min.String()
	}
	if p.Max != nil {
		to = p.Max.String()
	}
	return from + ".." + to
}

func show(r *big.Rat) string {
	if v, ok := say.Exact(r); ok {
		return v.String()
	}
	return say.Near(r, 3).String()
}

// ends works out the ends of limits for one case; nil ends are open.
func ends(l *rules.Limits, is map[string]string) (low, high *big.Rat) {
	low, high = amountOf(l.Min, is), amountOf(l.Max, is)
	nominal, within := amountOf(l.Nominal, is), amountOf(l.Within, is)
	if nominal == nil || within == nil {
		return low, high
	}
	d := new(big.Rat).Set(within)
	if l.Percent {
		d.Mul(d, nominal).Quo(d, big.NewRat(100, 1))
	}
	return new(big.Rat).Sub(nominal, d), new(big.Rat).Add(nominal, d)
}

func amountOf(a *rules.Amount, is map[string]string) *big.Rat {
	if a == nil {
		return nil
	}
	if a.By == "" {
		return a.Value.Rat()
	}
	for _, k := range a.Cases {
		if k.Is == is[a.By] {
			return k.Value.Rat()
		}
	}
	return nil
}

// maxCases bounds how many cases of limits are tried.
const maxCases = 1000

// cases lists every combination of what limits hang on.
func cases(l *rules.Limits) []map[string]string {
	out := []map[string]string{{}}
	for _, a := range []*rules.Amount{l.Nominal, l.Within, l.Min, l.Max} {
		if a == nil || a.By == "" || out[0][a.By] != "" {
			continue
		}
		var next []map[string]string
		for _, is := range out {
			for _, k := range a.Cases {
				more := maps.Clone(is)
				more[a.By] = k.Is
				if next = append(next, more); len(next) == maxCases {
					return next
				}
			}
		}
		if len(next) == 0 {
			continue
		}
		out = next
	}
	return out
}

func caseWords(is map[string]string) string {
	var parts []string
	for _, name := range slices.Sorted(maps.Keys(is)) {
		parts = append(parts, name+" "+is[name])
	}
	if len(parts) == 0 {
		return ""
	}
	return " where it is " + strings.Join(parts, " and ")
}

// divisors looks for computed callouts that divide by what may be nothing.
func (c *linter) divisors() {
	for i := range c.spec.Callouts {
		o := &c.spec.Callouts[i]
		if o.Derived == nil || dividesByZero(o.Derived, "") {
			continue // the loader tells of what is nothing always
		}
		for _, name := range o.Derived.Names() {
			by := c.find(name)
			if by == nil || !dividesByZero(o.Derived, name) {
				continue
			}
			if p := by.Plausible; p == nil || (p.Min == nil || p.Min.Sign() <= 0) && (p.Max == nil || p.Max.Sign() >= 0) {
				c.at(o, "is").fail(fmt.Sprintf("callout %s divides by %s, which may be 0", o.ID, name), "give "+name+" a plausible range without 0, as 0.1..")
			}
		}
	}
}

// dividesByZero reports whether an expression cannot be computed where one name is 0 and
// all others are not; with name "", whether it never can.
func dividesByZero(e *expr.Expr, name string) bool {
	primes := [][]int64{{2, 3, 5, 7, 11, 13}, {101, 89, 83, 79, 73, 71}, {17, 97, 31, 59, 43, 53}}
	for _, list := range primes {
		given := map[string]*big.Rat{}
		_, err := e.Eval(func(n string) (*big.Rat, error) {
			if n == name {
				return new(big.Rat), nil
			}
			if given[n] == nil {
				given[n] = big.NewRat(list[len(given)%len(list)]+int64(len(given)/len(list))*211, 1)
			}
			return given[n], nil
		})
		if !errors.Is(err, expr.ErrZero) {
			return false
		}
	}
	return true
}
