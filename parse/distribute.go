package parse

import (
	"slices"

	"readback/parse/number"
)

// distribute gives each of several numbers its own place where one list of places was said
// before them, and there are as many numbers: "stages 1 and 2 nuts 48.1, 47.9". Two that run into
// each other ("thirty five thirty six") are parted where one is missing, else they stay one
// number, and are asked.
func (s *scan) distribute(bounds []bound) []bound {
	if list := s.oneList(bounds, 1); list >= 0 {
		bounds = s.part(bounds)
	}
	list := s.oneList(bounds, 0)
	if list < 0 {
		return bounds
	}
	it := &s.items[list]
	for j := range bounds {
		own := item{kind: isIndex, axis: it.axis, from: it.from, to: it.to, places: it.places[j : j+1]}
		s.items = append(s.items, own)
		places := []int{len(s.items) - 1}
		for _, k := range bounds[j].places {
			if k != list {
				places = append(places, k)
			}
		}
		bounds[j].places = places
		if n := &s.items[bounds[j].item].num; n.Torn && !n.Spoken {
			n.Torn, n.Broken, n.Why = false, false, ""
		}
	}
	return bounds
}

// part makes two of the one number that is two tens words with their digits, run into each other.
// There must be one such number, and no more.
func (s *scan) part(bounds []bound) []bound {
	at, cut := -1, 0
	for j := range bounds {
		n := &s.items[bounds[j].item].num
		for i := n.Start + 1; n.Spoken && i < n.End; i++ {
			if s.nums[n.Start].Class != number.Tens || s.nums[i].Class != number.Tens {
				continue
			}
			if at >= 0 {
				return bounds
			}
			at, cut = j, i
		}
	}
	if at < 0 {
		return bounds
	}
	it := s.items[bounds[at].item]
	head, ok := s.r.Head(it.num.Start, cut)
	tail, ok2 := s.r.At(cut)
	if !ok || !ok2 || tail.End != it.num.End {
		return bounds
	}
	first := it
	first.num, first.value, first.to, first.codes = head, head.Value, cut, nil
	it.num, it.value, it.from = tail, tail.Value, cut
	s.items[bounds[at].item] = first
	s.items = append(s.items, it)
	second := bounds[at]
	second.item = len(s.items) - 1
	return slices.Insert(bounds, at+1, second)
}

// oneList returns the item of the list of places that all numbers share, or -1. There must be
// as many numbers as places, but for those missing.
func (s *scan) oneList(bounds []bound, missing int) int {
	if len(bounds)+missing < 2 || len(bounds) == 0 {
		return -1
	}
	for _, k := range bounds[0].places {
		it := &s.items[k]
		if len(it.places) != len(bounds)+missing || it.whole || it.either || it.absent {
			continue
		}
		if s.hasCue(cueRetight, cueOff, cueNo, cueCorrect) {
			return -1
		}
		for j, b := range bounds {
			n := &s.items[b.item]
			if b.name != bounds[0].name || !slices.Equal(b.places, bounds[0].places) || !s.unitsAgree(bounds, j) {
				return -1 // two readings of the same places, not one of each
			}
			if !slices.Contains(b.places, k) || n.num.Spoken && n.num.Broken || n.tol || n.ranged || k > b.item {
				return -1
			}
		}
		return k
	}
	return -1
}

// unitsAgree reports whether the unit of number j fits a list: all have the same, or the last alone
// has one.
func (s *scan) unitsAgree(bounds []bound, j int) bool {
	last := s.meanings(&s.items[bounds[len(bounds)-1].item])
	own := s.meanings(&s.items[bounds[j].item])
	first := s.meanings(&s.items[bounds[0].item])
	return len(own) == 0 && len(first) == 0 || slices.Equal(own, last) || len(own) == 0 && len(last) > 0 && len(first) == 0
}
