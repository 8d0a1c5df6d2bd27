package spec

import (
	"slices"

	"readback/rules"
)

// The kinds of a rule that stand in a file under names of their own.
const (
	wearRule  = "wear"
	curveRule = "curve"
)

// ruleKind is one kind of a rule: what it says, and its keys beside "rule".
type ruleKind struct {
	name string
	says string
	keys keys
}

// ruleKinds lists every kind that a file may hold, in the order in which they are named.
var ruleKinds = []ruleKind{
	{rules.RulePartChoice, "A part that this job does not call for stops the work.", keys{
		{"callout", true, text, "The reading of its size, whose limits hang on the option, or the part."},
		{"by", false, text, "The option that decides. A part of which one kind always belongs needs none."},
		{"is", false, anyOf(text, mapOf(text)), "For a part: the kind that belongs, as sealed, or by the option's values, as {short: narrow, long: wide}."},
	}},
	{rules.RuleStackOrder, "A part of the wrong kind for its place in the stack stops the work.", keys{
		{"part", true, text, "The part, which has choices."},
		{"along", true, text, "The axis along which the stack runs."},
		{"last", true, anyOf(whole, text), "How many places at the end: a number, or an option that is one."},
		{"is", true, text, "The choice that belongs at the end."},
		{"else", true, text, "The choice that belongs before."},
	}},
	{rules.RuleStepOrder, "A step was done before one that it needs.", keys{
		{"step", true, text, "The callout that needs something."},
		{"at", false, mapOf(text), "Only the step at this place, as stage: 1."},
		{"after_each", false, text, "An axis: what the step needs is that of the place before on it."},
		{"needs", true, listOf(anyOf(text, mapOf(mapOf(text)))), "What must stand before: ids, or an id with a place as {tie_rod_torque: {pass: 3}}."},
	}},
	{rules.RuleHoldPoint, "Work went past a point that may not be passed with checks open.", keys{
		{"past", true, text, "The callout that goes past it: cover_on."},
		{"needs", true, texts, "Ids of what must stand at every place before."},
	}},
	{rules.RulePassOrder, "A round began before the last was whole, or a position was taken out of its order.", keys{
		{"callout", true, text, "The reading that is taken in rounds."},
		{"rounds", true, text, "The axis of the rounds: pass."},
		{"over", true, text, "The axis of the positions: rod."},
		{"order", false, texts, "The order of the positions, as [1, 3, 2, 4], or diagonal. Without it any will do."},
	}},
	{rules.RuleSpread, "Readings of one callout differ too much between the places of an axis.", keys{
		{"callout", true, text, "The reading."},
		{"over", true, text, "The axis of the places that are compared."},
		{"at", false, mapOf(text), "Only at this place of the other axes, as pass: 3."},
		{"at_most", false, decimal, "How far the largest may be from the smallest, in the callout's unit."},
		{"from_mean", false, percent, "How far any may be from the mean of all, as 3 %."},
	}},
	{rules.RuleVoid, "Later work made readings worthless; they are owed again.", keys{
		{"when", true, text, "The event, part or confirmation that does so."},
		{"is", false, text, "Only where this choice of a part was fitted."},
		{"voids", true, texts, "Ids of what no longer stands."},
		{"same", false, text, "An axis: only what is at the same place on it is voided."},
	}},
	{rules.RuleMissing, "At hand-over something that is owed was not done.", keys{
		{"when", true, text, "The event of the hand-over."},
	}},
	{wearRule, "A part was found worn past its limits and not renewed.", keys{
		{"found", true, text, "The as-found reading; its limits are those of wear."},
		{"left", true, text, "The renewal, or the as-left reading."},
	}},
	{curveRule, "A reading is off the curve that it should lie on.", keys{
		{"callout", true, text, "What is judged: head."},
		{"of", true, text, "What it hangs on: flow."},
		{"points", true, listOf(listOf(decimal)), "Points of the curve as [flow, head], in the order of the first number."},
		{"times", false, anyOf(whole, text), "The curve is multiplied by this: a number, or an option that is one."},
		{"within", true, percent, "How far off the curve is in, as 5 %."},
	}},
}

// Kinds lists the kinds of a rule that a spec file may hold.
func Kinds() []string {
	names := make([]string, len(ruleKinds))
	for i, k := range ruleKinds {
		names[i] = k.name
	}
	return names
}

// ruleKeys returns the keys of a rule of a kind.
func ruleKeys(kind string) keys {
	i := slices.IndexFunc(ruleKinds, func(k ruleKind) bool { return k.name == kind })
	if i < 0 {
		return nil
	}
	return append(keys{{"rule", true, shape{"const": kind}, ruleKinds[i].says}}, ruleKinds[i].keys...)
}
