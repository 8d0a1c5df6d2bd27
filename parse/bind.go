package parse

import "slices"

// A note's items are bound in three steps: the items between two numbers form a
// group; groups are given to the number after them ("stage one forty eight stage two
// forty seven") or, where a number comes first, to the number before them ("forty
// seven newton metres on the second stage collar nut"); what is still open comes from
// context.

// group is what stands between two numbers: names, places, cues.
type group struct {
	names  []int // items
	places []int // items
	cues   []int // items
}

// bound is a number with what was said about it.
type bound struct {
	item   int    // of the number; -1 for a claim without one
	name   *Name  // nil where none was said
	guess  bool   // the name was nearly right, not right
	places []int  // items
	before *group // what came before the number, for doubts
	after  *group
}

// groups cuts the items at the numbers; there is one group more than numbers.
func (s *scan) groups() (groups []group, numbers []int) {
	groups = append(groups, group{})
	for k := range s.items {
		g := &groups[len(groups)-1]
		switch it := &s.items[k]; it.kind {
		case isNumber:
			numbers = append(numbers, k)
			groups = append(groups, group{})
		case isName:
			g.names = append(g.names, k)
		case isIndex:
			g.places = append(g.places, k)
		case isCue:
			g.cues = append(g.cues, k)
		case isWord, isFiller, isUnit, isChoice, isSlot, isThing, isWrong, isDrop:
		}
	}
	return groups, numbers
}

// isReading reports whether a name item takes a reading.
func (s *scan) isReading(k int) bool {
	n := s.nameOf(&s.items[k])
	return n.Kind == Reading && !n.Derived
}

// readingName returns the last name of a group that takes a reading.
func (s *scan) readingName(g *group) (n *Name, guess bool) {
	for _, k := range slices.Backward(g.names) {
		if s.isReading(k) {
			return s.nameOf(&s.items[k]), s.items[k].guess
		}
	}
	return nil, false
}

// bind gives every number its name and places.
func (s *scan) bind(groups []group, numbers []int) []bound {
	out := make([]bound, 0, len(numbers))
	if len(numbers) == 0 {
		return out
	}
	backward := s.isBackward(groups) || s.eachOnIts(groups, numbers)
	name, guess := s.readingName(&groups[0])
	places := s.real(groups[0].places)
	if !backward {
		name, guess, places = nil, false, nil
	}
	for j, k := range numbers {
		g := &groups[j]
		if backward {
			g = &groups[j+1]
		}
		own := s.ownPlaces(g, j, groups, numbers, backward)
		if n, near := s.readingName(g); n != nil {
			if n != name && (name == nil || name.Family != n.Family || n.Family == "") {
				places = places[:0:0]
			}
			name, guess = n, near
		}
		places = s.merge(s.unlessBare(places, g), own)
		if backward && s.twoNames(g) && j+1 < len(numbers) {
			s.items[k].num.Broken, s.items[k].num.Why = true, "two names stand between this value and the next"
			s.items[numbers[j+1]].num.Broken, s.items[numbers[j+1]].num.Why = true, s.items[k].num.Why
		}
		out = append(out, bound{item: k, name: name, guess: guess, places: places, before: &groups[j], after: &groups[j+1]})
	}
	if !backward {
		s.trailing(out, &groups[len(numbers)])
	}
	return out
}

// unlessBare drops the places of earlier values on an axis whose word stands without its index in
// the group: "duty two forty eight, duty point nine" is of some other duty.
func (s *scan) unlessBare(places []int, g *group) []int {
	if len(places) == 0 || s.hasCue(cueNext, cueSame) || s.points() {
		return places
	}
	return slices.DeleteFunc(slices.Clone(places), func(p int) bool {
		return slices.ContainsFunc(g.places, func(k int) bool { return s.items[k].bare && s.items[k].axis == s.items[p].axis })
	})
}

// twoNames reports whether a group holds the names of two callouts that take a reading.
func (s *scan) twoNames(g *group) bool {
	var first *Name
	for _, k := range g.names {
		if !s.isReading(k) {
			continue
		}
		if n := s.nameOf(&s.items[k]); first == nil {
			first = n
		} else if n != first {
			return true
		}
	}
	return false
}

// isBackward reports whether numbers come before what they are for.
func (s *scan) isBackward(groups []group) bool {
	first := &groups[0]
	if n, _ := s.readingName(first); n != nil || s.hasPlace(first) {
		return false
	}
	for i := range groups[1:] {
		if n, _ := s.readingName(&groups[i+1]); n != nil || s.hasPlace(&groups[i+1]) {
			return true
		}
	}
	return false
}

// eachOnIts reports whether behind each of several numbers, the last too, stands its place, and none
// on its axis before the first: "windings 1.24 on u v, 1.25 on v w", "pass three, twenty on rods
// one and three, twenty one on two and four".
func (s *scan) eachOnIts(groups []group, numbers []int) bool {
	if len(numbers) < 2 {
		return false
	}
	for j := range numbers {
		i := slices.IndexFunc(groups[j+1].places, func(k int) bool { return !s.items[k].bare })
		if i < 0 {
			return false
		}
		axis := s.items[groups[j+1].places[i]].axis
		if slices.ContainsFunc(groups[0].places, func(k int) bool { return !s.items[k].bare && (s.items[k].axis == axis || s.items[k].axis < 0) }) {
			return false
		}
	}
	return true
}

func (s *scan) hasPlace(g *group) bool {
	return slices.ContainsFunc(g.places, func(k int) bool { return !s.items[k].bare })
}

// ownPlaces returns the places of a group that belong to number j. In forward order a
// place after "on" right behind the number before belongs to that one.
func (s *scan) ownPlaces(g *group, j int, groups []group, numbers []int, backward bool) []int {
	var own []int
	for _, k := range g.places {
		if s.items[k].bare {
			continue
		}
		if !backward && j > 0 && s.bindsBack(k, numbers[j-1]) && !s.hasPlace(&groups[j-1]) {
			continue
		}
		own = append(own, k)
	}
	return own
}

// bindsBack reports whether the place item k stands right behind number item n, with
// only "on" or "for" between.
func (s *scan) bindsBack(k, n int) bool {
	for i := n + 1; i < k; i++ {
		if s.items[i].kind != isCue && s.items[i].kind != isFiller || s.items[i].cue == cueAnd {
			return false
		}
	}
	return k > n+1
}

// merge lays the new places over those carried within the note: a new place on an
// axis replaces the old one.
func (s *scan) merge(old, own []int) []int {
	out := make([]int, 0, len(old)+len(own))
	for _, k := range old {
		if !slices.ContainsFunc(own, func(o int) bool { return s.items[o].axis == s.items[k].axis || s.items[o].axis < 0 }) {
			out = append(out, k)
		}
	}
	return append(out, own...)
}

// trailing gives what stands behind the last number to it, where it lacks it.
func (s *scan) trailing(out []bound, g *group) {
	last := &out[len(out)-1]
	if last.name == nil {
		for i := range out {
			if out[i].name == nil {
				out[i].name, out[i].guess = s.readingName(g)
			}
		}
	}
	for _, k := range g.places {
		if s.items[k].bare {
			continue
		}
		nobody := !slices.ContainsFunc(out, func(b bound) bool { return s.onAxis(b.places, s.items[k].axis) })
		for j := range out {
			if j == len(out)-1 || nobody || !s.hasPlaceFor(&out[j]) {
				out[j].places = append(slices.Clone(out[j].places), k)
			}
		}
	}
	// A place behind an earlier number that "on" bound back.
	for j := range out[:len(out)-1] {
		for _, k := range out[j].after.places {
			if !s.items[k].bare && s.bindsBack(k, out[j].item) && !s.hasPlaceFor(&out[j]) {
				out[j].places = append(slices.Clone(out[j].places), k)
			}
		}
	}
}

// onAxis reports whether one of the items is a place on an axis.
func (s *scan) onAxis(items []int, axis int) bool {
	return slices.ContainsFunc(items, func(k int) bool { return s.items[k].axis == axis })
}

func (s *scan) hasPlaceFor(b *bound) bool { return len(b.places) > 0 }

// spots returns the places that a claim on a callout is for. Axes that were not said
// stay out; doubt is set where the places are unclear.
func (s *scan) spots(n *Name, items []int) (places []Place, missing []string, doubt Doubt) {
	places = []Place{""}
	for _, axis := range n.Axes {
		values, either, absent, said := s.on(n, axis, items)
		if !said {
			missing = append(missing, axis)
			continue
		}
		if absent {
			doubt = NoSuchPlace
		} else if either && doubt == "" {
			doubt = TwoPlaces
		}
		var next []Place
		for _, p := range places {
			for _, v := range values {
				next = append(next, p.With(axis, v))
			}
		}
		places = next
	}
	return places, missing, doubt
}

// on returns the values said for one axis of a callout.
func (s *scan) on(n *Name, axis string, items []int) (values []string, either, absent, said bool) {
	for _, k := range items {
		it := &s.items[k]
		if len(it.places) == 0 {
			continue // "all four pass": which pass was not said
		}
		id := ""
		if it.axis >= 0 {
			id = s.v.axes[it.axis].ID
		} else if len(n.Axes) > 0 {
			id = n.Axes[0] // "first collar nut"
		}
		if id != axis {
			continue
		}
		given := it.places
		if it.axis < 0 && !s.hasValue(axis, given[0]) {
			absent = true
		}
		if said && !it.whole && !slices.Equal(values, given) {
			either = true
			values = append(slices.Clone(values), given...)
		} else if !said {
			values = given
		}
		said, either, absent = true, either || it.either, absent || it.absent
	}
	return values, either, absent, said
}

func (s *scan) hasValue(axis, value string) bool {
	i := s.axisIndex(axis)
	return i >= 0 && slices.ContainsFunc(s.v.axes[i].Values, func(v AxisValue) bool { return v.Value == value })
}

// axesOf returns the axes that items speak of.
func (s *scan) axesOf(items []int) (axes []string) {
	for _, k := range items {
		if a := s.items[k].axis; a >= 0 && !slices.Contains(axes, s.v.axes[a].ID) {
			axes = append(axes, s.v.axes[a].ID)
		}
	}
	return axes
}

// isBareWhole reports whether the item is a bare whole number, which may be an index.
func (it *item) isBareWhole() (n int64, ok bool) {
	if it.kind != isNumber || len(it.codes) > 0 || !it.num.Whole {
		return 0, false
	}
	n, ok = it.value.Whole()
	return n, ok && n > 0
}
