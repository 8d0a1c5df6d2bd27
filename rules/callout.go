package rules

import (
	"math/big"
	"slices"
	"strconv"

	"readback/parse"
	"readback/parse/number"
)

// Corrected says that a reading is judged as it would be at another temperature. Its
// value there is the reading times 2^((t - To)/Halving): an insulation resistance
// halves with every Halving kelvin (IEEE Std 43-2013, 6.3, for thermoplastic insulation).
// With a Constant k it is the reading times (To + k)/(t + k): the resistance of copper with
// k = 234.5 (IEC 60228).
type Corrected struct {
	Taking   string        // what it is taken at: "temperature"
	To       number.Value  // in Cel
	Halving  number.Value  // in K
	Constant *number.Value // in Cel; nil for Halving
	Else     string        // the callout whose last reading counts where none was said; "" for none
}

// live is a callout as it is in one job: places, limits and conditions settled.
type live struct {
	*Callout
	axes   []string
	places []parse.Place // all, in order
	known  map[parse.Place]bool
	limits map[parse.Place]bounds // at every place; read-only
}

// settle resolves a callout for the options of a job; nil where it is not called for.
func settle(c *Callout, options map[string]string) *live {
	if !hold(c.When, options) {
		return nil
	}
	l := &live{Callout: c, places: []parse.Place{""}, known: map[parse.Place]bool{}}
	for _, a := range c.At {
		l.axes = append(l.axes, a.Axis)
		var next []parse.Place
		for _, p := range l.places {
			for _, v := range a.values(options) {
				next = append(next, p.With(a.Axis, v))
			}
		}
		l.places = next
	}
	l.limits = make(map[parse.Place]bounds, len(l.places))
	for _, p := range l.places {
		l.known[p] = true
		l.limits[p] = l.bounds(p, options)
	}
	return l
}

// limitsAt returns the limits at a place of the job.
func (l *live) limitsAt(p parse.Place) bounds { return l.limits[p] }

// hold reports whether all conditions are met.
func hold(when []Condition, options map[string]string) bool {
	for _, w := range when {
		if options[w.Option] != w.Is {
			return false
		}
	}
	return true
}

// values lists the places of an axis.
func (a Along) values(options map[string]string) []string {
	if a.Values != nil {
		return a.Values
	}
	var out []string
	for i := a.From.of(options); i <= a.To.of(options); i++ {
		out = append(out, strconv.Itoa(i))
	}
	return out
}

func (c Count) of(options map[string]string) int {
	if c.Option == "" {
		return c.N
	}
	n, err := strconv.Atoi(options[c.Option])
	if err != nil {
		return 0
	}
	return n
}

// at returns the amount for a place and the options of a job.
func (a *Amount) at(p parse.Place, options map[string]string) *big.Rat {
	if a == nil {
		return nil
	}
	if a.By == "" {
		return a.Value.Rat()
	}
	is := p.On(a.By)
	if is == "" {
		is = options[a.By]
	}
	for _, c := range a.Cases {
		if c.Is == is {
			return c.Value.Rat()
		}
	}
	return nil
}

// bounds are limits at one place, in the callout's unit; nil ends are open.
type bounds struct {
	min, max *big.Rat
	oneOf    [][2]*big.Rat
}

// bounds works the limits out, exactly.
func (l *live) bounds(p parse.Place, options map[string]string) bounds {
	return l.Limits.bounds(p, options)
}

func (lim *Limits) bounds(p parse.Place, options map[string]string) bounds {
	if lim == nil {
		return bounds{}
	}
	b := bounds{min: lim.Min.at(p, options), max: lim.Max.at(p, options)}
	within := lim.Within.at(p, options)
	if nominal := lim.Nominal.at(p, options); nominal != nil {
		d := new(big.Rat)
		if within != nil {
			d.Set(within)
		}
		if lim.Percent {
			d.Mul(d, nominal)
			d.Quo(d, big.NewRat(100, 1))
		}
		b.min, b.max = new(big.Rat).Sub(nominal, d), new(big.Rat).Add(nominal, d)
	}
	for _, v := range lim.OneOf {
		d := new(big.Rat)
		if within != nil {
			d.Set(within)
		}
		b.oneOf = append(b.oneOf, [2]*big.Rat{new(big.Rat).Sub(v.Rat(), d), new(big.Rat).Add(v.Rat(), d)})
	}
	return b
}

// holds reports whether y is inside. A value on a limit is inside.
func (b bounds) holds(y *big.Rat) bool {
	if b.min != nil && y.Cmp(b.min) < 0 || b.max != nil && y.Cmp(b.max) > 0 {
		return false
	}
	if b.oneOf == nil {
		return true
	}
	return slices.ContainsFunc(b.oneOf, func(r [2]*big.Rat) bool { return y.Cmp(r[0]) >= 0 && y.Cmp(r[1]) <= 0 })
}

// twoSided reports whether there are limits on both sides.
func (b bounds) twoSided() bool { return b.min != nil && b.max != nil || b.oneOf != nil }

// none reports whether nothing is limited.
func (b bounds) none() bool { return b.min == nil && b.max == nil && b.oneOf == nil }

// plausible reports whether y, in the callout's unit, can be at all.
func (l *live) plausible(y *big.Rat) bool {
	r := l.Plausible
	if r == nil {
		// Where limits lie above zero a value below it was misheard.
		b := l.limitsAt(l.places[0])
		return y.Sign() >= 0 || b.min == nil || b.min.Sign() < 0
	}
	return (r.Min == nil || y.Cmp(r.Min.Rat()) >= 0) && (r.Max == nil || y.Cmp(r.Max.Rat()) <= 0)
}

// in converts a value to the callout's unit; ok is false for another dimension.
func (l *live) in(v number.Value, code string) (y *big.Rat, ok bool) {
	return convert(v.Rat(), code, l.Unit)
}
