package guide

import "readback/rules"

// topic is the page of one kind of rule. Its example is the spec and the notes that have
// its name.
type topic struct {
	Kind   string // as a spec file names it; limit and derived stand with a callout
	Rule   string // as a finding names it
	Title  string
	Says   string // what the rule says of the work
	Raises string // what it raises, and when
	Closes string // what closes that
	Mind   string // what authors get wrong
}

var topics = []topic{
	{
		"limit", rules.RuleLimit, "Limits of a reading",
		"A reading has to lie between two values, under one, over one, or near one of a list. Limits stand with their callout, under limits. A value on a limit is in; values are compared exactly, before anything is rounded.",
		"A warning, as soon as a reading is outside. What is outside of plausible is not recorded at all but asked back, since it was hardly read so.",
		"A new reading in limits at the same place.",
		"Give plausible some room around the limits. Where it is too tight, a true reading that is out is asked back again and again instead of being told.",
	},
	{
		"derived", rules.RuleDerived, "A value computed from readings",
		"Some things are not read but worked out: end play is the depth down less the depth up. Write the expression under is. It may use ids of readings without places, numbers, + - * / and brackets; the units are checked when the spec is loaded.",
		"A warning, once all readings of the expression stand and the result is outside its limits.",
		"Taking one of the readings again, so that the result is in limits.",
		"Sums need one quantity on both sides. Where you divide by a reading, give that one a plausible range without 0.",
	},
	{
		"part_choice", rules.RulePartChoice, "The right part for the options",
		"A size shows which part was taken: the short base has one spacer, the long base another. The limits hang on the option, and the rule knows the size of the part that belongs elsewhere.",
		"A stop, where the reading is out for this job and in for another value of the option. Beside it the limit warns.",
		"A reading of the right part.",
		"The limits of the callout must hang on that option, as in nominal: {base: {...}}. Two parts whose limits overlap cannot be told apart.",
	},
	{
		"stack_order", rules.RuleStackOrder, "Which kind of part goes where in a stack",
		"Parts of one kind fill the stack, and another kind belongs in its last places. How many those are may be a number, or an option.",
		"A stop, as soon as a part of the wrong kind is put at a place.",
		"The right part put at that place.",
		"The callout is of the kind part and has both choices. The stack counts upwards along the axis: its last places are those with the highest numbers.",
	},
	{
		"step_order", rules.RuleStepOrder, "A step that needs others before it",
		"A step may be done only after others: at one place (at), after the same work at the place before (after_each), or after all of something. A need may name a place of its own, such as the last pass.",
		"A warning when the step is done before one that it needs. Within one note the order of the words says nothing.",
		"The missing step done, and then this one again.",
		"What is not called for with a job's options is not needed either. Steps that need each other in a circle can never be done; lint finds them.",
	},
	{
		"hold_point", rules.RuleHoldPoint, "A point that may not be passed with checks open",
		"What comes next would hide the work: a cover, a guard, a seal. Before it is passed, everything that the rule names has to stand at every place.",
		"A stop, when the step past it is done while something is missing.",
		"Doing what is missing. If the cover must come off for that, a form under denied says so.",
		"The callout under past has no places. A reading that is out of limits stands: its own warning stays open beside the hold point.",
	},
	{
		"pass_order", rules.RulePassOrder, "Rounds of a staged tightening",
		"A joint is tightened in rounds, each whole before the next begins, and within a round the positions go in an order: the manual's, or diagonal for any even number from four on.",
		"A warning for a round that began too early or left the order.",
		"The round taken again, whole and in order.",
		"The manual's order is only good for its own number of positions. Where an option gives the number, list the values that there are.",
	},
	{
		"spread", rules.RuleSpread, "Readings that should be alike",
		"The same thing at several places has to read nearly the same: rods after the last pass, the phases of a winding. Either the largest may be so far from the smallest (at_most), or none so far from the mean of all (from_mean).",
		"A warning, for at_most from the second reading on, for from_mean once all places are read.",
		"A new reading that brings them together.",
		"With more than one axis, say with at which round is meant; else the rounds are compared with each other.",
	},
	{
		"void", rules.RuleVoid, "Work that makes readings worthless",
		"After rods were loosened, what was read at them means nothing any more. The rule takes those readings away, and they are owed again.",
		"A warning that names what no longer stands, when the event is said.",
		"Taking the readings again.",
		"Write the event with all the words that people have for it, and owed: no, since nobody is to do it.",
	},
	{
		"missing", rules.RuleMissing, "What is left at hand-over",
		"Up to the end, what is left to do is no fault. At hand-over it is.",
		"A warning for each callout that is owed and not done, once the event was said.",
		"Doing it.",
		"Give the event owed: no, and no places.",
	},
	{
		"wear", rules.RuleLimit, "A part that was found worn",
		"A clearance is measured as found. Past its limits the part is worn, and measuring it again mends nothing: it has to be renewed. The limits of the as-found reading are those of wear.",
		"A warning of the rule limit that says what is owed, when the reading is out.",
		"The renewal confirmed at the same place, or the as-left reading taken in limits.",
		"Both callouts have the same axes. What was worn stays in the record after the renewal.",
	},
	{
		"curve", rules.RuleDerived, "A reading that lies on a curve",
		"What is right for one reading hangs on another: head on flow. Give points of the curve; between two of them it goes straight. The curve may be that of one stage, times an option.",
		"A warning of the rule derived, once both readings stand at a place and the one is too far off the curve, or where the curve does not reach.",
		"A reading on the curve.",
		"The points are in the order of their first number, in the units of the two callouts.",
	},
}
