package parse

import (
	"cmp"
	"slices"
	"strconv"
)

// family finds what a number may be for where only the name of a computed value was
// said: "end play eighty two point six" is down or up.
func (s *scan) family(b *bound) (n *Name, others []string) {
	for _, g := range []*group{b.before, b.after} {
		for _, k := range g.names {
			said := s.nameOf(&s.items[k])
			if !said.Derived {
				continue
			}
			for i := range s.v.names {
				if o := &s.v.names[i]; o.Kind == Reading && !o.Derived && o.Family == said.Family && said.Family != "" {
					n = cmp.Or(n, o)
					others = append(others, o.Callout)
				}
			}
		}
	}
	return n, others
}

// homeless handles a number that no name and no place gives a home: it replies,
// repeats, corrects, or is asked back.
func (s *scan) homeless(out []claimed, base Claim, b *bound, codes []string, fix amends) []claimed {
	last := s.lastClaim()
	discourse := fix.record || fix.should || s.hasCue(cueAgain, cueRetight)
	if len(codes) == 0 && s.has(isWord, isThing, isSlot) {
		return out // "make that three sugars"
	}
	if fix.should && !fix.record {
		base.Doubts = append(base.Doubts, Hearsay) // "should be forty seven": was it, or is it called for?
	}
	switch {
	case last != nil && s.hasCue(cueNext):
		n, _ := s.v.name(last.Callout)
		if n == nil || s.ctx.Gone || len(s.ctx.Asked) > 0 {
			break // next after what was asked, or taken back?
		}
		s.setUnit(&base, n, codes)
		base.Callout = n.Callout
		if p, ok := s.nextPlace(n); ok {
			base.At = p
		} else {
			base.Doubts = append(base.Doubts, NoSuchPlace)
		}
		return append(out, claimed{base, b.item})
	case last != nil && discourse && len(s.ctx.Asked) == 0 && !s.bareSlot() && !s.ctx.Else:
		return s.onLast(out, base, b, codes)
	}
	if !s.wantsHome(codes) {
		return out
	}
	base.Doubts = append(base.Doubts, NoHome)
	if len(codes) == 1 {
		base.Unit = codes[0]
	} else {
		base.Slang = codes
	}
	return append(out, claimed{base, b.item})
}

// bareSlot reports whether a slot word stands in the note without an index: "stage for
// again" is some stage, and not the last one.
func (s *scan) bareSlot() bool {
	for k := range s.items {
		if s.items[k].kind == isIndex && s.items[k].bare {
			return true
		}
	}
	return false
}

// onLast puts a number where the last reading was.
func (s *scan) onLast(out []claimed, base Claim, b *bound, codes []string) []claimed {
	last := s.lastClaim()
	n, ok := s.v.name(last.Callout)
	if !ok {
		return out
	}
	s.setUnit(&base, n, codes)
	if len(codes) == 0 {
		base.Unit = last.Unit
	}
	base.Target = last.Target
	if k, whole := s.items[b.item].isBareWhole(); whole && len(n.Axes) > 0 && s.hasValue(n.Axes[0], strconv.FormatInt(k, 10)) {
		if was, plain := last.Value.Whole(); !plain || was > 2*k {
			base.Doubts = append(base.Doubts, TwoNumbers) // "no, that was two": the place, or the value?
		}
	}
	if len(s.ctx.Last) > 1 {
		base.Doubts = append(base.Doubts, TwoPlaces)
		for i := range s.ctx.Last {
			base.Places = append(base.Places, s.ctx.Last[i].At)
		}
		base.At = ""
	}
	return append(out, claimed{base, b.item})
}

// wantsHome reports whether a number without a home sounds like a reading: it has a
// unit that the spec uses, or nothing but small words around it.
func (s *scan) wantsHome(codes []string) bool {
	if s.hasCue(cueRemark, cueNote) || s.has(isWrong) || s.talked || s.saysAny("ago") {
		return false
	}
	for _, code := range codes {
		if s.v.dims[dimension(code)] {
			return true
		}
	}
	return !s.has(isWord, isThing, isSlot) && !s.foreignName() && (len(codes) == 0 || s.alone())
}

// foreignName reports whether a name that takes no reading stands in the note.
func (s *scan) foreignName() bool {
	for k := range s.items {
		if s.items[k].kind == isName && !s.isReading(k) {
			return true
		}
	}
	return false
}

// alone reports whether the note is a number and small words.
func (s *scan) alone() bool { return !s.has(isWord, isName, isThing, isWrong, isSlot) }

// nextPlace returns the place after the last reading's.
func (s *scan) nextPlace(n *Name) (Place, bool) {
	last := s.lastClaim()
	if last == nil || last.Callout != n.Callout || len(n.Axes) == 0 {
		return "", false
	}
	if len(n.Axes) > 1 {
		for _, t := range s.ctx.Next {
			if t.Callout == n.Callout {
				return t.At, true
			}
		}
		return "", false // which comes next in a round the job says
	}
	i := s.axisIndex(n.Axes[0])
	if i < 0 {
		return "", false
	}
	values := s.v.axes[i].Values
	for k := range values {
		if values[k].Value == last.At.On(n.Axes[0]) && k+1 < len(values) {
			return last.At.With(n.Axes[0], values[k+1].Value), true
		}
	}
	return "", false
}

// home finds the callout of a number without a name, by its places and unit: "rod two
// fourteen newton metres".
func (s *scan) home(b *bound, codes []string) (n *Name, others []string) {
	axes := s.axesOf(b.places)
	if len(axes) == 0 {
		return nil, nil
	}
	fits := func(n *Name) bool {
		return len(codes) == 0 || len(fitting(codes, dimension(n.Unit))) > 0
	}
	s.names = s.v.readingsOn(axes, fits, s.names[:0])
	if len(s.names) == 0 {
		s.names = s.v.readingsOn(axes, func(*Name) bool { return true }, s.names)
	}
	switch len(s.names) {
	case 0:
		return nil, nil
	case 1:
		return &s.v.names[s.names[0]], nil
	}
	for _, i := range s.names {
		if last := s.lastClaim(); last != nil && s.v.names[i].Callout == last.Callout {
			return &s.v.names[i], nil
		}
	}
	for _, i := range s.names {
		others = append(others, s.v.names[i].Callout)
	}
	return &s.v.names[s.names[0]], others
}

// lastClaim returns the last reading of the context.
func (s *scan) lastClaim() *Claim {
	if s.ctx == nil || len(s.ctx.Last) == 0 {
		return nil
	}
	return &s.ctx.Last[len(s.ctx.Last)-1]
}

// carry fills in axes that were not said from the last reading of the same callout:
// all but the first, which tells one place from the next.
func (s *scan) carry(n *Name, p Place, missing []string, repeat bool) (Place, []string, bool) {
	last := s.lastClaim()
	var carried []string
	for _, axis := range missing {
		i := s.axisIndex(axis)
		switch {
		case i >= 0 && len(s.v.axes[i].Values) == 1:
			p = p.With(axis, s.v.axes[i].Values[0].Value)
		case axis == n.Axes[0] && s.pointed(n) != "":
			p = p.With(axis, s.pointed(n))
			carried = append(carried, axis)
		case last != nil && last.Callout == n.Callout && (repeat || axis != n.Axes[0] && p != ""):
			p = p.With(axis, last.At.On(axis))
			carried = append(carried, axis)
		default:
			return p, carried, false
		}
	}
	return order(n, p), carried, true
}

// pointed returns where "that one" or "this stage" points: the place on the first axis of n that
// the last recording note was all about, or "".
func (s *scan) pointed(n *Name) (at string) {
	if s.ctx == nil || s.ctx.Fresh || !s.points() {
		return ""
	}
	for _, t := range s.ctx.Undo {
		switch on := t.At.On(n.Axes[0]); {
		case on == "", at != "" && at != on:
			return ""
		default:
			at = on
		}
	}
	return at
}

// points reports whether the note points at what was spoken of before: "on that one".
func (s *scan) points() bool {
	for i := range s.toks[:max(0, len(s.toks)-1)] {
		switch s.toks[i].Text {
		case "that", "this", "same":
			if t := s.toks[i+1].Text; t == "one" || s.hasSlot(i+1) {
				return true
			}
		}
	}
	return false
}

// order puts the axes of p in the order of the callout's.
func order(n *Name, p Place) Place {
	var out []Index
	for _, a := range n.Axes {
		if v := p.On(a); v != "" {
			out = append(out, Index{a, v})
		}
	}
	return At(out...)
}

// strayPlace reports whether the note has an index that the job does not have, on an axis
// that the callout does not have either: then it was no index, and a number is missing.
func (s *scan) strayPlace(n *Name) bool {
	for k := range s.items {
		it := &s.items[k]
		if it.kind != isIndex || it.bare || it.axis < 0 || slices.Contains(n.Axes, s.v.axes[it.axis].ID) {
			continue
		}
		if it.absent || !slices.ContainsFunc(s.items, func(o item) bool { return o.kind == isName && s.nameOf(&o) != n }) && len(n.Axes) == 0 {
			return true
		}
	}
	return false
}
