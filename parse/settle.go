package parse

import "slices"

// contradictions marks claims that give one place two values.
func (s *scan) contradictions(out []claimed) []claimed {
	again := s.hasCue(cueRetight, cueAgain) && twoValues(out)
	for i := range out {
		for j := range out[:i] {
			a, b := &out[j], &out[i]
			if a.item < 0 || b.item < 0 || a.Callout == "" || a.Target != b.Target || a.item == b.item && a.At == b.At {
				continue
			}
			if again {
				a.item = -1 // measured again: the later one stands
				continue
			}
			if a.Value == b.Value && !s.adds(a.item, b.item) && (a.Unit == b.Unit && len(a.Slang) == len(b.Slang) || a.Unit == "" && len(a.Slang) == 0) {
				a.item = -1 // said twice: "fifteen, one five, newton metres"
				continue
			}
			if !slices.Contains(a.Doubts, Range) {
				a.doubt(TwoNumbers)
				b.doubt(TwoNumbers)
			}
		}
	}
	return slices.DeleteFunc(out, func(c claimed) bool { return c.item < 0 })
}

// move takes the last reading back where the same value was said for another place:
// "sorry I meant stage ten".
func (s *scan) move(u *Utterance, out []claimed, fix amends) {
	last := s.lastClaim()
	if !fix.record || last == nil || s.foreignName() || len(out) != 1 || len(s.ctx.Last) != 1 || len(s.ctx.Undo) == 0 {
		return
	}
	c := &out[0]
	if len(c.Doubts) == 0 && c.Callout == last.Callout && c.At != last.At && c.Value.Same(last.Value) {
		u.Withdrawn = append(u.Withdrawn, last.Target)
	}
}

// shareUnits lends a unit within the note among claims of one callout or one family:
// "end play down 82.6 up 81.25 millimetres", "stage two 35 foot pounds stage three 36".
func (s *scan) shareUnits(claims []Claim) {
	kin := func(a, b *Claim) bool {
		if a.Callout == b.Callout {
			return true
		}
		m, ok := s.v.name(a.Callout)
		n, ok2 := s.v.name(b.Callout)
		return ok && ok2 && m.Family != "" && m.Family == n.Family
	}
	for i := range claims {
		if claims[i].Unit != "" || len(claims[i].Slang) > 0 || claims[i].NoValue || claims[i].Callout == "" {
			continue
		}
		for _, j := range nearest(i, len(claims)) {
			if (claims[j].Unit != "" || len(claims[j].Slang) > 0) && kin(&claims[i], &claims[j]) {
				claims[i].Unit, claims[i].Slang = claims[j].Unit, claims[j].Slang
				break
			}
		}
	}
}

// nearest lists the indexes after i, then those before it, nearest first.
func nearest(i, n int) []int {
	var out []int
	for j := i + 1; j < n; j++ {
		out = append(out, j)
	}
	for j := i - 1; j >= 0; j-- {
		out = append(out, j)
	}
	return out
}

// settle drops the claims that the note itself replaced: the one for the same place
// where the correction names one, else the one just before.
func settle(claims []claimed, fix amends) []claimed {
	for _, pair := range fix.replaced {
		victim := -1
		for i := range claims {
			if claims[i].item == pair[0] {
				victim = i
			}
		}
		for i := range claims {
			if claims[i].item == pair[1] {
				for j := range claims[:i] {
					if claims[j].item <= pair[0] && claims[j].Target == claims[i].Target {
						victim = j
					}
				}
			}
		}
		if victim >= 0 {
			item := claims[victim].item
			kept := claims[:0]
			for _, c := range claims {
				if c.item != item {
					kept = append(kept, c)
				}
			}
			claims = kept
		}
	}
	return claims
}

// claimed is a claim and the number item that it came from.
type claimed struct {
	Claim
	item int
}

// adds reports whether the words between two numbers may add them: "thirty then another thirty".
func (s *scan) adds(a, b int) bool {
	for i := s.items[a].to; i < s.items[b].from && i < len(s.toks); i++ {
		switch s.toks[i].Text {
		case "then", "plus", "and", "another", "+", "more", "again":
			return true
		}
	}
	return false
}

// twoValues reports whether the claims come of two numbers and no more.
func twoValues(claims []claimed) bool {
	items := map[int]bool{}
	for i := range claims {
		items[claims[i].item] = true
	}
	return len(items) == 2
}

// doubt adds a doubt that is not there yet.
func (c *claimed) doubt(d Doubt) {
	if !slices.Contains(c.Doubts, d) {
		c.Doubts = append(c.Doubts, d)
	}
}
