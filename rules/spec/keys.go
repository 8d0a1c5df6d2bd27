package spec

import "strings"

// key is one key of a mapping in a spec file. The loader takes from here which keys a
// mapping may have, [Schema] what may stand there and what it is for.
type key struct {
	name string
	must bool // a mapping without it is at fault
	is   shape
	help string
}

// keys are those of one kind of mapping, in the order in which they are named.
type keys []key

func (k keys) names() string {
	names := make([]string, len(k))
	for i := range k {
		names[i] = k[i].name
	}
	return strings.Join(names, ", ")
}

var specKeys = keys{
	{"spec", true, ident, "The name of the spec, as a job is opened with it."},
	{"revision", true, text, "The revision as the manual writes it: 1.10 is not 1.1."},
	{"title", false, text, "What is built, in words."},
	{"source", false, text, "The manual that the numbers come from."},
	{"invented", false, yesNo, "yes where the numbers are made up: nothing may be built by them."},
	{"options", false, mapOf(ref("option")), "What must be known of a unit before the work starts: its frame, its number of stages."},
	{"axes", false, mapOf(ref("axis")), "The ways in which places are told apart: stage, rod, pass, phase."},
	{"callouts", true, listOf(ref("callout")), "What the spec calls for: readings, confirmations, parts and events."},
	{"rules", false, listOf(ref("rule")), "What is checked beside the limits of each callout."},
	{"work", false, listOf(ref("step")), "The order in which the work is expected to go. Without it, that of the callouts."},
	{"cautions", false, listOf(ref("caution")), "The usual warnings of the trade, shown and spoken before a step."},
	{"decision", false, anyOf(oneWord("simple", "guarded"), ref("decision")), "What counts as close: simple judges the value alone, guarded minds the uncertainty of the instrument."},
	{"kit", false, listOf(ref("item")), "The parts and tools that a job needs."},
	{"pronounce", false, mapOf(listOf(phones)), "How words sound that the recogniser's dictionary lacks, in the phones of that dictionary: {runout: R AH N AW T}."},
}

var optionKeys = keys{
	{"values", false, texts, "What it may be, as [short, long]. Whole numbers count places as well: [\"6\", \"8\"]."},
	{"from", false, whole, "The smallest, for a whole number."},
	{"to", false, whole, "The largest, for a whole number."},
	{"default", false, text, "What it is where a job does not say. Without one a job must."},
	{"say", false, text, "Its name for people."},
}

var axisKeys = keys{
	{"say", false, texts, "How the axis is spoken; the first form is read back."},
	{"values", false, mapOf(texts), "Places that are no numbers, each with its spoken forms."},
}

var calloutKeys = keys{
	{"id", true, ident, "The name of the callout in rules and in the record. It stays the same from revision to revision."},
	{"kind", false, oneWord("reading", "confirm", "part", "event", "detail"), "reading (the usual): a quantity. confirm: something that is so. part: which part was fitted. event: something that happened. detail: something in words, such as a serial number or the complaint."},
	{"say", false, texts, "How it is spoken, in small letters; the first form is read back. Without it, the id."},
	{"many", false, text, "The first spoken form's plural: collar nuts."},
	{"short", false, texts, "Forms that count only once a fuller name of the same family was said: down."},
	{"denied", false, texts, "Forms that say it is not so, or no longer: cover off."},
	{"family", false, text, "What related callouts share: end play."},
	{"at", false, mapOf(texts), "Where it is: an axis with its places, as stage: 1..stages or phase: [uv, vw, wu]."},
	{"unit", false, text, "The UCUM code of a reading's unit: mm, N.m, MOhm."},
	{"also_in", false, texts, "Codes of other units in use for it at the bench."},
	{"limits", false, ref("limits"), "What a reading must be. A value on a limit is in."},
	{"plausible", false, span, "What a reading can be at all, as 60..110 or 0..; anything else is asked back."},
	{"corrected", false, ref("corrected"), "The reading is judged as it would be at another temperature."},
	{"taken_at", false, mapOf(anyOf(text, ref("taken"))), "What a reading is taken at, each with the UCUM code of its unit, as temperature: Cel, or with its own limits."},
	{"choices", false, mapOf(texts), "Of a part: which there are, each with its spoken forms."},
	{"is", false, text, "Computed and never said: an expression over ids of readings, as end_play_down - end_play_up."},
	{"owed", false, yesNo, "Whether the work calls for it. no for what only may happen; the usual is yes, and no for an event."},
	{"when", false, mapOf(text), "Called for only where an option has a value, as rebuild: \"yes\"."},
	{"source", false, text, "The page of the manual."},
}

var limitKeys = keys{
	{"nominal", false, amount, "The value that is called for; needs within."},
	{"within", false, anyOf(amount, percent), "How far off on either side, in the callout's unit or as 4 %."},
	{"min", false, amount, "The smallest that is in."},
	{"max", false, amount, "The largest that is in."},
	{"one_of", false, listOf(decimal), "One of these values, give or take within."},
}

var takenKeys = keys{
	{"unit", true, text, "The UCUM code of its unit: V."},
	{"limits", false, ref("limits"), "What it must be for the reading to count: nominal: 500, within: 50."},
	{"plausible", false, span, "What it can be at all, as 0..60; anything else is asked back."},
}

var correctedKeys = keys{
	{"by", true, text, "Which quantity under taken_at corrects it."},
	{"to", true, decimal, "The temperature of the limits, in degrees Celsius."},
	{"halving", false, decimal, "The value halves with every so many kelvin, as an insulation resistance does."},
	{"constant", false, decimal, "The constant of a winding's metal in degrees Celsius: 234.5 for copper (IEC 60228)."},
	{"else", false, text, "The callout whose last reading counts where none was said with it."},
}

var decisionKeys = keys{
	{"guard", true, decimal, "How much of the expanded uncertainty is kept from each limit, from 0 to 3."},
}

var stepKeys = keys{
	{"each", false, text, "An axis: the step is done in turn at each of its places."},
	{"do", true, texts, "Ids of callouts, in the order in which they are done."},
}

var cautionKeys = keys{
	{"before", true, text, "The id of the callout before which it is given."},
	{"text", true, text, "The warning, in a sentence or two. Local rules come first; say so."},
}

var kitKeys = keys{
	{"say", true, text, "What is needed, as it is read out: collar nuts."},
	{"one", false, text, "The same for one of them: collar nut."},
	{"many", false, anyOf(whole, text), "How many: a number, or one computed from options, as stages - cut_impellers."},
	{"when", false, mapOf(text), "Needed only where an option has a value, as base: long."},
}
