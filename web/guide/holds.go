package guide

import "readback/rules"

// moreTopics is what a spec holds beside its rules, in the order in which an author comes
// to it.
var moreTopics = []topic{
	{
		Name: "options", Title: "What must be known of a unit",
		Says: "Two units of one model are not alike: this one has the long base and eight stages. What must be known before the work starts is an option. It has `values`, or goes `from` one whole number `to` another; `say` is its name for people, else its id is. With a `default` it need not be said.",
		More: []passage{{
			"hangs", "What hangs on it",
			"The places of a callout, as `at: {stage: 1..stages}`; its limits, as `nominal: {base: {short: 64.0, long: 88.5}}`; whether it is called for at all, as `when: {rebuild: \"yes\"}`; and numbers in rules and in the kit. A rule sees only what is called for in the job that it looks at.",
		}, {
			"opening", "How it is said",
			"When a job is opened, its options are said in any order. A number needs the word of its option beside it, behind or before. A yes or no is said by the option's name: rebuild, no rebuild. What is not understood, and what is missing, is asked, and the job is opened once all is there.",
		}},
		Raises: "Questions at the opening. Afterwards a place that this job does not have is asked back.",
		Closes: "Saying the options again; at the bench, saying the place that was meant.",
		Mind:   "Write yes and no in quotes, since many an editor takes them bare for true and false. Two options of numbers must not share a word in their names, or a number beside that word could be either. Leave `default` away where a wrong guess would cost a strip-down: then it has to be said.",
	},
	{
		Name: "confirm", Title: "What is so, and what happens",
		Says: "Not everything is a number. `kind: confirm` is something that is so: the inlet turns freely. `kind: event` is something that happens: the cover went on. Forms under `denied` say that it is not so, or no longer.",
		More: []passage{{
			"owed", "What is left to do",
			"A confirmation is left to do until it was said, an event is not: much that happens ought not to. `owed: yes` makes an event a step of the work, `owed: no` takes a confirmation out of it, such as a renewal that only a worn part calls for.",
		}},
		Raises: "Of itself nothing. Denied, it is owed again, and rules that need it see that it is not there: `step_order`, `hold_point`, and at hand-over `missing`, as here.",
		Closes: "Saying that it is so, or that it happened.",
		Mind:   "Write the words that people have when it went wrong under `denied`: sticks, tight, caught. A plain not in a note (inlet not free) is understood without. Words that a part is described with, as worn or noisy, are kept as remarks and need no callout.",
	},
	{
		Name: "detail", Title: "What is kept in words",
		Says:   "A job has facts that are neither number nor part: the serial number, what the customer complains of, what it pumped. `kind: detail` keeps the words that stand behind its name. The name opens the note; several may stand in one, each behind a comma or an and.",
		Raises: "Nothing but a question: where no words follow, where it has other words already, or where a reading or a step was said in the same breath, which would be lost among the words.",
		Closes: "Saying it in one note with its name. To change one, say correction before it; the record keeps both.",
		Mind:   "A detail has no places. Letters and digits said one by one are put together: m r dash four seven is MR-47. Choose names that no ordinary remark begins with, since whatever follows is taken as it was said.",
	},
	{
		Name: "kit", Title: "Parts, and what a job needs",
		Says:   "`kind: part` is which of several parts was fitted. Its `choices` are named by id, each with all its spoken forms. The `kit` lists what a job needs: `say` for several, `one` for one, `many` computed from options, and `when` for what only some jobs need.",
		Raises: "What do I need is answered from the kit. A part of the wrong kind at its place is for the rule `stack_order`; without a rule any choice is taken.",
		Mind:   "`many` takes whole numbers, options that are whole numbers, + - * / and brackets. What it gives none of is left out of the list; one is said as `one`. No two choices may share a form, or nobody can tell which was fitted.",
	},
	{
		Name: "cautions", Title: "What can hurt someone",
		Says:   "Where the work lifts, turns, holds pressure or puts a test voltage on, the trade has its usual warning. A caution stands `before` a callout, and `text` is the warning. It stands on the sheet as long as that step is next, and beside its callout at all times. The first time that the step comes up, the record keeps it with the note after which it came, or with the opening; a step that is done before its turn brings it with the answer.",
		Raises: "Nothing that would have to be closed: it forbids nothing and asks for no answer. What may not be passed is for the rule `hold_point`.",
		Mind:   "Say what can happen, what to do against it, and end with what comes first: local codes, and licensed practice where a licence is called for. A spec knows neither the site nor its law. Write it as the trade says it, two sentences at most: what is too long is not read.",
	},
	{
		Name: "ask", Rule: rules.RuleAsk, Title: "When a note is asked back",
		Says: "A reading is recorded only where its value, its unit, its name and its place are beyond doubt. Else it is asked back, and nothing is recorded before the answer. The words of a spec decide how often that is.",
		More: []passage{{
			"keys", "What an author can do",
			"`plausible` is what a reading can be at all: what is outside was hardly read so. It lets the program tell a slip of the tongue from a reading that is out. `also_in` names the other units in use at the bench: a bare number that is in limits in one of them is asked about, and a unit said is converted. `family` ties callouts that are read together, and `short` are forms that count once a fuller name of the family was said: down, up.",
		}},
		Raises: "A note of the rule `ask`: for what is hardly possible, a number without its unit or its place, one that was about so much, a point that may have been missed, a name that could be two callouts, or a reading that somebody else told of.",
		Closes: "The answer alone (stage two, foot pounds), the reading said whole, or scratch that.",
		Mind:   "Give every callout that people will name in a hurry the short name that they use, and give no two callouts the same: lint finds those. Write `plausible` from what the tool can show and the part can be, not from the limits. Without `also_in` a bare number is always in the callout's own unit.",
	},
	{
		Name: "instrument", Rule: rules.RuleInstrument, Title: "What it was measured with",
		Says: "Instruments are the shop's, not the spec's: they stand in a register beside the specs, the second file here, and the server and check take it with `--shop`. Each has the names that it is spoken by, a tool with its number, and says what it `measures`, in which `range`, to which `accuracy` (a part of the reading, or so much in its unit), in which `step`, and until when it is calibrated. A spec needs nothing for it.",
		More: []passage{{
			"on", "On wrench seven",
			"Said with a reading or alone, it holds for what follows, until another that measures the same is named. A wrench and a dial indicator may both be in use: each counts for its own quantity. Where no instrument was named, nothing is said of one.",
		}, {
			"types", "A gauge that types",
			"A wrench, a depth gauge or a calliper with a keyboard output `types` its numbers, with the unit that is written here. Said is gauge on collar nuts from stage one, and each number lands on the next. Where it is the only one of the register that types this quantity, it need not be named. A unit that it sends with a number wins.",
		}},
		Raises: "A warning, where the instrument is not in the register, measures something else, does not reach the value, was past its calibration on the day of the note, or is too coarse to prove the limits: twice its expanded uncertainty fills all that lies between them.",
		Closes: "The reading taken again with an instrument that is fit.",
		Mind:   "The last day of the calibration is still good. Give the tool the number that is painted on it. The accuracy is that of the certificate; the page on `decision` tells what is made of it.",
	},
	{
		Name: "decision", Title: "How close is close",
		Says: "No instrument reads exactly. `decision` says what that means for a reading inside its limits. `simple`, the usual, judges the value alone. With `guarded` it is close where its expanded uncertainty reaches a limit. `{guard: 0.5}` minds half of that, and so on from 0 to 3. What is outside is out either way.",
		More: []passage{{
			"uncertainty", "How uncertain a reading is",
			"The accuracy a of the instrument means that the true value is anywhere within a either way, which is a standard uncertainty of a/√3; a step d of the display adds d/√12. The root of the sum of their squares is u, and U = 2u is the expanded uncertainty: so the guide to uncertainty, JCGM 100 (GUM), has it. The guard band that is kept from each limit is the guard times U, as in JCGM 106.",
		}, {
			"figures", "In figures",
			"Wrench seven is good to 2 % and shows steps of 0.1 N·m. Of 49.5 N·m, a is 0.99 N·m, u is 0.572 N·m and U is 1.14 N·m. The limit, 49.92 N·m, is 0.42 N·m away, which is less than U: close. The probability that the true value is in limits is 0.768.",
		}},
		Raises: "The verdict close, with the likelihood that the reading is in. It is no finding, and nothing has to close it: whether that is good enough is for people to decide. With each reading the record keeps its probability of conformity.",
		Mind:   "It needs the register, and an accuracy in it. A reading whose instrument was not named is judged as it was said. A computed value is as uncertain as its readings together, where each has an instrument. Of a corrected reading that of its temperature is left out.",
	},
	{
		Name: "taken_at", Rule: rules.RuleLimit, Title: "What a test is taken at",
		Says:   "An insulation resistance means little without its test voltage and its time. `taken_at` names such quantities, each with its unit. Where one has to be right for the reading to count, write it with limits of its own: `voltage: {unit: V, limits: {nominal: 500, within: 10 %}}`. A note may say it with the reading or right behind it.",
		Raises: "A warning of the rule limit where the reading was taken at something else, whatever it read. A question where it was not said.",
		Closes: "The reading taken again as it should be, or what was left out said: at five hundred volts for one minute.",
		Mind:   "A number's unit says which it is, so that a reading has one temperature and one time, and none of its own quantity. `plausible` bounds what is taken at all, as it does for a reading; without it a temperature goes from -60 to 300 degrees. What has no limits here is kept with the reading and asked of nobody. A test voltage is dangerous: give the callout a caution that puts local codes and licensed practice first.",
	},
	{
		Name: "pronounce", Title: "How its words sound",
		Says: "What is spoken is heard with a dictionary, which has the words of the language and many of the trade. For one that it lacks, a spec says how it sounds, under `pronounce` at the top: a word and its phones, as `peen: P IY N`, or several ways to say it in a list. What is said for a word here counts in place of what the dictionary has.",
		More: []passage{{
			"phones", "The phones",
			"They are those of the CMU Pronouncing Dictionary, in capitals and without marks of stress. Vowels: AA (odd), AE (at), AH (hut), AO (ought), AW (cow), AY (hide), EH (bet), ER (hurt), EY (ate), IH (it), IY (eat), OW (oat), OY (toy), UH (hood), UW (two). Consonants: B CH D F G HH JH K L M N P R S SH T V W Y Z as written, and DH (thee), NG (ping), TH (theta), ZH (seizure).",
		}, {
			"lint", "What lint says",
			"Where the dictionary is installed, `readback spec lint` names each word that nothing says the sound of, with its line, and names of two callouts that sound the same. A job whose words cannot all be heard is typed.",
		}},
		Raises: "Nothing at the bench: it is for the ear alone, and a typed note is read without it.",
		Mind:   "Say the word aloud, slowly, and write what you say and not what is written: a knurl begins with N. Write an abbreviation as it is spoken, in letters (u v), beside the written one. Digits in a name are heard as numbers, and a hyphen parts two words, so that o-ring is two.",
	},
	{
		Name: "corrected", Rule: rules.RuleLimit, Title: "A reading that hangs on its temperature",
		Says: "Insulation and windings read otherwise when they are warm, and their limits hold at one temperature. `taken_at` names what a reading is taken at, each with its unit: the temperature, the test voltage, the time. `corrected` says `by` which of them, and `to` which temperature; the limits are those there.",
		More: []passage{{
			"halving", "An insulation",
			"`halving: 10` halves the value with every 10 kelvin: common practice for an insulation, no source; take the number from the manual. 300 MΩ at 20 degrees are 75 MΩ at 40.",
		}, {
			"constant", "A winding",
			"`constant: 234.5` is that of copper in degrees Celsius (IEC 60228): the value goes as the constant plus the temperature. 2 Ω at 50 degrees are 2 × 254.5 / 284.5 = 1.79 Ω at 20.",
		}},
		Raises: "A warning of the rule limit where the value at that temperature is out. Where no temperature is known, the reading is judged as it was read, and a note asks for the temperature. The record keeps what was read; the correction is for the verdict alone.",
		Closes: "The temperature, said right behind (at twenty degrees) or with the reading said again; or a reading in limits.",
		Mind:   "`else` names a callout whose last reading counts where none is said with it, and the first that is read after it where there was none. What is read later still changes no verdict. An insulation test puts a dangerous voltage on the winding: give the callout a caution, and let local codes and licensed practice come first.",
	},
}
