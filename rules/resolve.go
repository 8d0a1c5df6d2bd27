package rules

import (
	"fmt"
	"math/big"
	"slices"

	"readback/parse"
)

// reason says why a claim was not recorded.
type reason struct {
	text   string // the question to the technician
	spoken string // the same as spoken; "" for text
	doubts []parse.Doubt
	units  []string
}

// resolve finds the unit of a claim and whether it can be what was said. A claim that
// cannot be recorded comes back with the reason.
func (j *Job) resolve(c parse.Claim) (parse.Claim, *reason) {
	l := j.byID[c.Callout]
	if l == nil || len(c.Doubts) > 0 {
		return c, j.doubtful(c, l)
	}
	if !l.known[c.At] {
		c.Doubts = append(c.Doubts, parse.NoSuchPlace)
		return c, j.doubtful(c, l)
	}
	if why := j.hardly(l, &c); why != nil {
		return c, why
	}
	if c.Adds {
		why := j.added(&c)
		return c, why
	}
	if c.Corrects && j.readings[c.Target] == nil {
		c.Doubts = append(c.Doubts, parse.Hearsay)
		return c, j.doubtful(c, l)
	}
	b := l.limitsAt(c.At)
	if c.Unit == "" || c.Unit == "1" && l.Unit != "1" {
		code, why := j.unitOf(l, b, &c)
		if why != nil {
			return c, why
		}
		c.Unit, c.Slang = code, nil
	}
	y, ok := l.in(c.Value, c.Unit)
	if !ok {
		why := j.wrongDimension(l, &c)
		return c, why
	}
	if why := j.tenfold(b, &c, y); why != nil {
		return c, why
	}
	if why := j.otherwise(l, b, &c, y); why != nil {
		return c, why
	}
	if !l.plausible(y) {
		why := j.implausible(l, &c)
		return c, why
	}
	if why := j.carriedOff(l, b, &c, y); why != nil {
		return c, why
	}
	return c, nil
}

// added asks where what is added to was taken back or read anew meanwhile, perhaps by another.
func (j *Job) added(c *parse.Claim) *reason {
	if k := j.readings[c.Target]; k != nil && k.claim.Value.Same(c.Value) && k.claim.Unit == c.Unit {
		return nil
	}
	return &reason{text: fmt.Sprintf("%s: the reading that this was said of no longer stands. Say the reading whole.", j.where(c.Target)), doubts: []parse.Doubt{parse.NoHome}}
}

// unitOf settles the unit of a bare number or of slang.
func (j *Job) unitOf(l *live, b bounds, c *parse.Claim) (code string, why *reason) {
	if len(c.Slang) > 0 {
		return j.slangOf(l, b, c)
	}
	y := c.Value.Rat()
	if !b.twoSided() || b.holds(y) {
		return l.Unit, nil
	}
	var fits []string
	for _, code := range l.AlsoIn {
		if y, ok := l.in(c.Value, code); ok && b.holds(y) {
			fits = append(fits, code)
		}
	}
	if len(fits) == 0 {
		return l.Unit, nil
	}
	return "", j.whichUnit(c, append([]string{l.Unit}, fits...))
}

// slangOf settles a word that stands for several units: the callout's own where that
// is plausible, else the only plausible one, else it is asked.
func (j *Job) slangOf(l *live, b bounds, c *parse.Claim) (code string, why *reason) {
	var same []string
	for _, code := range c.Slang {
		if _, ok := l.in(c.Value, code); ok {
			same = append(same, code)
		}
	}
	if len(same) == 0 {
		c.Unit = c.Slang[0]
		return "", j.wrongDimension(l, c)
	}
	var fits []string
	for _, code := range same {
		if y, _ := l.in(c.Value, code); l.likely(b, y) {
			fits = append(fits, code)
		}
	}
	switch {
	case slices.Contains(fits, l.Unit):
		return l.Unit, nil
	case len(fits) == 1 && slices.Contains(same, l.Unit):
		return fits[0], nil
	case len(same) == 1:
		return same[0], nil
	}
	return "", j.whichUnit(c, same)
}

// likely reports whether y is plausible, or where nothing says what is, within twice
// and half the limits.
func (l *live) likely(b bounds, y *big.Rat) bool {
	if l.Plausible != nil {
		return l.plausible(y)
	}
	if b.none() {
		return false
	}
	twice, half := new(big.Rat).Add(y, y), new(big.Rat).Quo(y, big.NewRat(2, 1))
	return b.holds(y) || (b.min == nil || twice.Cmp(b.min) >= 0) && (b.max == nil || half.Cmp(b.max) <= 0)
}

// tenfold asks about a value outside limits on both sides of which a tenth or the
// tenfold would be inside: a point that was missed.
func (j *Job) tenfold(b bounds, c *parse.Claim, y *big.Rat) *reason {
	if !b.twoSided() || b.holds(y) {
		return nil
	}
	ten := big.NewRat(10, 1)
	if b.holds(new(big.Rat).Quo(y, ten)) {
		return j.tenTimes(c, -1)
	}
	if b.holds(new(big.Rat).Mul(y, ten)) {
		return j.tenTimes(c, 1)
	}
	return nil
}

// otherwise asks about a value that is outside limits, or hardly possible, where the
// other value that the words may stand for is neither.
func (j *Job) otherwise(l *live, b bounds, c *parse.Claim, y *big.Rat) *reason {
	if c.Other == nil || b.holds(y) && l.plausible(y) {
		return nil
	}
	other, ok := l.in(*c.Other, c.Unit)
	if !ok || !b.holds(other) || !l.plausible(other) || b.none() && l.Plausible == nil {
		return nil
	}
	return j.orOther(c)
}

// carriedOff asks about a value that is out where the place was carried over from an
// earlier note, and would be in at another value of that axis: "which pass?"
func (j *Job) carriedOff(l *live, b bounds, c *parse.Claim, y *big.Rat) *reason {
	if b.none() || b.holds(y) {
		return nil
	}
	var places []parse.Place
	for _, axis := range c.Carried {
		for _, p := range l.places {
			if p.On(axis) != c.At.On(axis) && p.With(axis, c.At.On(axis)) == c.At && l.limitsAt(p).holds(y) {
				places = append(places, p)
			}
		}
	}
	if len(places) == 0 {
		return nil
	}
	c.Places = append([]parse.Place{c.At}, places...)
	return j.whichPlace(c)
}

// rests puts a claim for each place that was not read yet where "the rest" was said. With none of
// them left it is asked which was meant.
func (j *Job) rests(claims []parse.Claim) []parse.Claim {
	if !slices.ContainsFunc(claims, func(c parse.Claim) bool { return c.Rest }) {
		return claims
	}
	var out []parse.Claim
	for _, c := range claims {
		if !c.Rest || len(c.Doubts) > 0 {
			out = append(out, c)
			continue
		}
		one, left := c, 0
		one.Rest, one.Places = false, nil
		for _, p := range c.Places {
			if one.At = p; j.readings[one.Target] == nil {
				out, left = append(out, one), left+1
			}
		}
		if left == 0 {
			one.At, one.Doubts = "", []parse.Doubt{parse.NoPlace}
			out = append(out, one)
		}
	}
	return out
}

// ordered sorts the readings of one note that were said as a set of places into the
// order that the work calls for. All else stays as it was said.
func (j *Job) ordered(claims []parse.Claim) []parse.Claim {
	out := slices.Clone(claims)
	for i := 0; i < len(out); {
		n := i + 1
		for n < len(out) && out[n].Callout == out[i].Callout && out[n].Span == out[i].Span && out[i].Span != (parse.Span{}) {
			n++
		}
		if o := j.passOrder(out[i].Callout); o != nil && n > i+1 {
			slices.SortStableFunc(out[i:n], func(a, b parse.Claim) int { return o.compare(j.byID[a.Callout], a.At, b.At) })
		}
		i = n
	}
	return out
}

func (j *Job) passOrder(callout string) *PassOrder {
	for _, r := range j.spec.Rules {
		if p, ok := r.(*PassOrder); ok && p.Callout == callout {
			return p
		}
	}
	return nil
}
