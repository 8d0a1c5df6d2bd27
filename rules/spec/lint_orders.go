package spec

import (
	"fmt"
	"slices"
	"strings"

	"readback/parse"
	"readback/rules"
)

// orders looks for steps that need each other in a circle.
func (c *linter) orders() {
	told := map[rules.Rule]bool{}
	for _, j := range c.jobs {
		g := c.graph(j)
		for _, circle := range g.circles() {
			r := circle[len(circle)-1].by
			if told[r] {
				continue
			}
			told[r] = true
			c.ruleAt[r].member("needs").fail("the order of the work goes in a circle"+c.with(j)+": "+g.words(circle), "take one of these needs away")
		}
	}
}

// graph holds what must be done before what. Beside things to do it has gates, one for
// what a rule needs at a place, so that its size stays that of the spec.
type graph struct {
	names  []string // of things to do; "" for a gate
	ids    map[parse.Target]int
	before [][]edge // by node: what it needs
	places map[string][]parse.Place
}

// edge is a need, and the rule that says so.
type edge struct {
	to int
	by rules.Rule
}

func (c *linter) graph(j job) *graph {
	g := &graph{ids: map[parse.Target]int{}, places: map[string][]parse.Place{}}
	for _, s := range j.State() {
		for _, p := range s.Places {
			g.places[s.ID] = append(g.places[s.ID], p.At)
		}
	}
	for _, r := range c.spec.Rules {
		if !c.ruleAt[r].ok() {
			continue
		}
		switch r := r.(type) {
		case *rules.HoldPoint:
			gate := g.node("")
			for _, id := range r.Needs {
				g.need(gate, id, "", r)
			}
			g.stands(r.Past, "", gate, r)
		case *rules.StepOrder:
			g.step(r)
		}
	}
	return g
}

// step adds what a step needs: at each place of the chain what belongs to the place
// before, or all of it at once.
func (g *graph) step(r *rules.StepOrder) {
	if r.Chain == "" {
		gate := g.node("")
		for _, n := range r.Needs {
			g.need(gate, n.Callout, n.At, r)
		}
		g.stands(r.Step, r.At, gate, r)
		return
	}
	var values []string
	for _, p := range g.places[r.Step] {
		if v := p.On(r.Chain); !slices.Contains(values, v) {
			values = append(values, v)
		}
	}
	for i := 1; i < len(values); i++ {
		gate := g.node("")
		for _, n := range r.Needs {
			g.need(gate, n.Callout, n.At.With(r.Chain, values[i-1]), r)
		}
		g.stands(r.Step, r.At.With(r.Chain, values[i]), gate, r)
	}
}

func (g *graph) node(name string) int {
	g.names, g.before = append(g.names, name), append(g.before, nil)
	return len(g.names) - 1
}

func (g *graph) target(t parse.Target) int {
	if n, ok := g.ids[t]; ok {
		return n
	}
	words := []string{plainName(t.Callout)}
	for _, x := range t.At.Indexes() {
		words = append(words, x.Axis, x.Value)
	}
	g.ids[t] = g.node(strings.Join(words, " "))
	return g.ids[t]
}

// need lets a gate wait for a callout at the places that have the coordinates of at.
func (g *graph) need(gate int, id string, at parse.Place, by rules.Rule) {
	for _, p := range g.places[id] {
		if has(p, at) {
			g.before[gate] = append(g.before[gate], edge{g.target(parse.Target{Callout: id, At: p}), by})
		}
	}
}

// stands lets a callout wait for a gate.
func (g *graph) stands(id string, at parse.Place, gate int, by rules.Rule) {
	for _, p := range g.places[id] {
		if has(p, at) {
			n := g.target(parse.Target{Callout: id, At: p})
			g.before[n] = append(g.before[n], edge{gate, by})
		}
	}
}

func has(p, part parse.Place) bool {
	return !slices.ContainsFunc(part.Indexes(), func(x parse.Index) bool { return p.On(x.Axis) != x.Value })
}

// hop is a node on the way round a circle, and the rule that leads on.
type hop struct {
	node int
	by   rules.Rule
}

// circles walks the needs, deepest first, and returns a circle for each rule that closes
// one. It keeps its own stack: a chain may be long.
func (g *graph) circles() (out [][]hop) {
	const fresh, open, closed = 0, 1, 2
	state, next := make([]int, len(g.names)), make([]int, len(g.names))
	for start := range g.names {
		if state[start] != fresh {
			continue
		}
		path := []hop{{node: start}}
		state[start] = open
		for len(path) > 0 {
			at := &path[len(path)-1]
			if next[at.node] == len(g.before[at.node]) {
				state[at.node] = closed
				path = path[:len(path)-1]
				continue
			}
			e := g.before[at.node][next[at.node]]
			next[at.node]++
			at.by = e.by
			switch state[e.to] {
			case open:
				i := slices.IndexFunc(path, func(h hop) bool { return h.node == e.to })
				out = append(out, slices.Clone(path[i:]))
			case fresh:
				state[e.to] = open
				path = append(path, hop{node: e.to})
			}
		}
	}
	return out
}

// words writes a circle: "a needs b, which needs a".
func (g *graph) words(circle []hop) string {
	var names []string
	for _, h := range circle {
		if g.names[h.node] != "" {
			names = append(names, g.names[h.node])
		}
	}
	if len(names) == 0 {
		return ""
	}
	names = append(names, names[0])
	if len(names) > 6 {
		names = append(names[:3], append([]string{fmt.Sprintf("%d more", len(names)-5)}, names[len(names)-2:]...)...)
	}
	return names[0] + " needs " + strings.Join(names[1:], ", which needs ")
}
