package guide

import "readback/rules"

// topic is a page about one thing that a spec holds. Its example is the spec, the notes and
// the register that have its name. In a text, what stands in backquotes is shown as it is
// written in a file.
type topic struct {
	Name   string // of its page; of a rule as a spec file names it, limit and derived stand with a callout
	Rule   string // as a finding names it; "" where no finding is of it alone
	Title  string
	Says   string    // what a spec says with it
	More   []passage // what else there is to tell of it
	Raises string    // what comes of it, and when
	Closes string    // what closes that; "" where nothing has to be
	Mind   string    // what authors get wrong
}

// passage is a paragraph under its heading.
type passage struct{ ID, Head, Text string }

// list is the topics that stand under one heading beside the text.
type list struct {
	Title  string
	Path   string // of its pages, without their names
	Topics []topic
}

// lists holds every page of the guide but the first.
var lists = []list{
	{"Kinds of rules", "/guide/rules/", ruleTopics},
	{"What else a spec holds", "/guide/spec/", moreTopics},
}

var ruleTopics = []topic{
	{
		Name: "limit", Rule: rules.RuleLimit, Title: "Limits of a reading",
		Says:   "A reading has to lie between two values, under one, over one, or near one of a list: `nominal` and `within`, `min` and `max`, or `one_of` and `within`. Limits stand with their callout, under `limits`. A value on a limit is in; values are compared exactly, before anything is rounded.",
		Raises: "A warning, as soon as a reading is outside. What is outside of `plausible` is not recorded at all but asked back, since it was hardly read so.",
		Closes: "A new reading in limits at the same place.",
		Mind:   "Give `plausible` some room around the limits. Where it is too tight, a true reading that is out is asked back again and again instead of being told.",
	},
	{
		Name: "derived", Rule: rules.RuleDerived, Title: "A value computed from readings",
		Says:   "Some things are not read but worked out: end play is the depth down less the depth up. Write the expression under `is`. It may use ids of readings without places, numbers, + - * / and brackets; the units are checked when the spec is loaded.",
		Raises: "A warning, once all readings of the expression stand and the result is outside its limits.",
		Closes: "Taking one of the readings again, so that the result is in limits.",
		Mind:   "Sums need one quantity on both sides. Where you divide by a reading, give that one a `plausible` range without 0.",
	},
	{
		Name: "part_choice", Rule: rules.RulePartChoice, Title: "The right part for the options",
		Says: "A size shows which part was taken: the short base has one spacer, the long base another. The limits hang on the option, and the rule knows the size of the part that belongs elsewhere.",
		More: []passage{{
			"kinds", "A part by its kind",
			"Where the part is named and not measured, `is` says which of its choices belongs for each value of the option: `is: {short: narrow, long: wide}`. One that always belongs needs no option: `is: sealed`.",
		}},
		Raises: "A stop, where the reading is out for this job and in for another value of the option; beside it the limit warns. A stop too, where a part of another kind is named.",
		Closes: "A reading of the right part, or the right kind named.",
		Mind:   "The limits of the callout must hang on that option, as in `nominal: {base: {...}}`. Two parts whose limits overlap cannot be told apart.",
	},
	{
		Name: "stack_order", Rule: rules.RuleStackOrder, Title: "Which kind of part goes where in a stack",
		Says:   "Parts of one kind fill the stack, and another kind belongs in its last places. How many those are may be a number, or an option.",
		Raises: "A stop, as soon as a part of the wrong kind is put at a place.",
		Closes: "The right part put at that place.",
		Mind:   "The callout is of `kind: part` and has both choices. The stack counts upwards along the axis: its last places are those with the highest numbers.",
	},
	{
		Name: "step_order", Rule: rules.RuleStepOrder, Title: "A step that needs others before it",
		Says:   "A step may be done only after others: at one place (`at`), after the same work at the place before (`after_each`), or after all of something. A need may name a place of its own, such as the last pass.",
		Raises: "A warning when the step is done before one that it needs. Within one note the order of the words says nothing.",
		Closes: "The missing step done, and then this one again.",
		Mind:   "What is not called for with a job's options is not needed either. Steps that need each other in a circle can never be done; lint finds them.",
	},
	{
		Name: "hold_point", Rule: rules.RuleHoldPoint, Title: "A point that may not be passed with checks open",
		Says:   "What comes next would hide the work: a cover, a guard, a seal. Before it is passed, everything that the rule names has to stand at every place.",
		Raises: "A stop, when the step past it is done while something is missing.",
		Closes: "Doing what is missing. If the cover must come off for that, a form under `denied` says so.",
		Mind:   "The callout under `past` has no places. A reading that is out of limits stands: its own warning stays open beside the hold point.",
	},
	{
		Name: "pass_order", Rule: rules.RulePassOrder, Title: "Rounds of a staged tightening",
		Says:   "A joint is tightened in rounds, each whole before the next begins, and within a round the positions go in an order: the manual's, or `diagonal` for any even number from four on.",
		Raises: "A warning for a round that began too early or left the order.",
		Closes: "The round taken again, whole and in order.",
		Mind:   "The manual's order is only good for its own number of positions. Where an option gives the number, list the values that there are.",
	},
	{
		Name: "spread", Rule: rules.RuleSpread, Title: "Readings that should be alike",
		Says:   "The same thing at several places has to read nearly the same: rods after the last pass, the phases of a winding. Either the largest may be so far from the smallest (`at_most`), or none so far from the mean of all (`from_mean`).",
		Raises: "A warning, for `at_most` from the second reading on, for `from_mean` once all places are read.",
		Closes: "A new reading that brings them together.",
		Mind:   "With more than one axis, say with `at` which round is meant; else the rounds are compared with each other.",
	},
	{
		Name: "void", Rule: rules.RuleVoid, Title: "Work that makes readings worthless",
		Says:   "After rods were loosened, what was read at them means nothing any more. The rule takes those readings away, and they are owed again.",
		Raises: "A warning that names what no longer stands, when the event is said.",
		Closes: "Taking the readings again.",
		Mind:   "Write the event with all the words that people have for it, and `owed: no`, since nobody is to do it. With `same` only what is at the same place on that axis is taken away, with `is` only where that choice of a part was fitted.",
	},
	{
		Name: "missing", Rule: rules.RuleMissing, Title: "What is left at hand-over",
		Says:   "Up to the end, what is left to do is no fault. At hand-over it is.",
		Raises: "A warning for each callout that is owed and not done, once the event was said.",
		Closes: "Doing it.",
		Mind:   "Give the event `owed: no`, and no places.",
	},
	{
		Name: "wear", Rule: rules.RuleLimit, Title: "A part that was found worn",
		Says:   "A clearance is measured as found. Past its limits the part is worn, and measuring it again mends nothing: it has to be renewed. The limits of the as-found reading are those of wear.",
		Raises: "A warning of the rule limit that says what is owed, when the reading is out.",
		Closes: "The renewal confirmed at the same place, or the as-left reading taken in limits.",
		Mind:   "Both callouts have the same axes. What was worn stays in the record after the renewal.",
	},
	{
		Name: "curve", Rule: rules.RuleDerived, Title: "A reading that lies on a curve",
		Says:   "What is right for one reading hangs on another: head on flow. Give points of the curve; between two of them it goes straight. The curve may be that of one stage, times an option.",
		Raises: "A warning of the rule derived, once both readings stand at a place and the one is too far off the curve, or where the curve does not reach.",
		Closes: "A reading on the curve.",
		Mind:   "The points are in the order of their first number, in the units of the two callouts.",
	},
}
