package parse

import "slices"

// distribute gives each of several numbers its own place where one list of places was said
// before them, and there are as many numbers: "stages 1 and 2 nuts 48.1, 47.9". Words that
// run into each other are no list: "thirty five thirty six" stays one number, and is asked.
func (s *scan) distribute(bounds []bound) {
	list := s.oneList(bounds)
	if list < 0 {
		return
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
}

// oneList returns the item of the list of places that all numbers share, or -1.
func (s *scan) oneList(bounds []bound) int {
	if len(bounds) < 2 {
		return -1
	}
	for _, k := range bounds[0].places {
		it := &s.items[k]
		if len(it.places) != len(bounds) || it.whole || it.either || it.absent {
			continue
		}
		for _, b := range bounds {
			n := &s.items[b.item]
			if !slices.Contains(b.places, k) || n.num.Spoken && n.num.Broken || n.tol || n.ranged || k > b.item {
				return -1
			}
		}
		return k
	}
	return -1
}
