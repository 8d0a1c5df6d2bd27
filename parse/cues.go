package parse

import "strings"

// cue is a word of discourse: it says what the words around it are for.
type cue int32

const (
	cueNone     cue = iota
	cueScratch      // takes back what was said
	cueCorrect      // what follows replaces what was said
	cueNo           // "no": replaces, between two numbers
	cueNot          // denies what follows
	cueShould       // corrects a named reading; without one it is a target, not a reading
	cueSame         // the last reading once more
	cueNext         // the next place
	cueAgain        // measured again
	cueAbout        // not exact
	cueIsh          // not exact, said after
	cueBound        // a bound, not a value
	cueBetween      // opens a range
	cueDoubt        // the speaker is not sure
	cueNotYet       // not done
	cueHearsay      // not measured here and now
	cueQuestion     // opens a question
	cueRemark       // talk about something else
	cueSet          // a click wrench's setting
	cueDone         // work said done
	cueAll          // every place
	cueLast         // the last place
	cueFirst        // the first place
	cueOr
	cueAnd
	cueTo
	cueOn // binds a place to the number before it
	cuePlusMinus
	cueEach
	cueRest
	cueOff // backed off, loosened
	cueLeft
	cueLastSaid
	cueOpen
	cueNote
	cueRetight
	cueIf
	cueExcept // leaves out some of what was named: "all but two"
	cueFine   // an idiom that denies nothing: "can't complain"
)

// cuePhrases lists the phrases of every cue. To add a phrase, add it here; nothing else. A phrase
// stands once: a new cue goes into meansOf and [scan.isAside] as well.
func cuePhrases() []cuePhrase {
	return []cuePhrase{
		{cueScratch, "that's not right|that is not right|that isn't right|i misread that|i read that wrong|that can't be right|i got that wrong|read the wrong scale|i read the wrong scale|bin that|bin that one|lose that|cancel the|delete the|scratch the|strike the|void the|withdraw the|scrub the|forget the|take back the|scratch that|strike that|forget that|delete that|cancel that|undo that|ignore that|disregard|disregard that|take that back|scratch it|strike it|forget it|never mind|nevermind|scrub that|wipe that|withdraw that|scratch the last one|scratch last|strike the last one|belay that|scratch|take it back|that was wrong|that is wrong|that's wrong|undo|undo that one|undo the last one|take that one back|delete|cancel the last one|void that|void the last one|delete the last one"},
		{cueCorrect, "hold your horses|as you were|i beg your pardon|beg your pardon|i tell a lie|tell a lie|no i tell a lie|what am i saying|listen to me|let me look again|let me look|let me check|let me check again|let me see|let me have another look|oh no|oh no that's the short one|swap them|swap those|correction|i mean|i meant|i said it wrong|sorry|wait|no wait|wait no|hang on|hold on|make that|make it|no make it|no make that|rather|or rather|my mistake|my bad|oops|no sorry|sorry no|sorry i meant|sorry i mean|no wait make it|no wait make that|correct that to|change that to|change it to|that should be|that should have been|it should be|i misread|misread|actually|no actually|well actually|excuse me|read that wrong|i should have said|i mint|know wait|know make it|know make that|i misspoke|misspoke"},
		{cueNo, "no|nope|nah|know"},
		{cueNot, "not"},
		{cueShould, "should be|should have been|should read|ought to be|has to be corrected to|should've been|should've read|should have said"},
		{cueSame, "so is|and so is|so are|and so are|same a gain|same again|the same again|same|the same|same as before|same as the last|same as last|same as last one|same as last time|ditto|likewise|as before|same there|same here|same on|the same as before|same value|same figure|same reading|also the same|exactly the same"},
		{cueNext, "next one's|the next one's|next ones|next one is|the next one is|next one|the next one|next won|the next won|next|and the next|and the next one|next one along"},
		{cueAgain, "gone over again|went over again|remeas|a gain|re talked|retalked|rechecking|re checking|remeasuring|re measuring|went again|did it again|had another go|gave it another go|went round again|again|re torqued|retorqued|re-torqued|retorque|re measured|remeasured|re checked|rechecked|re-checked|re-measured|checked again|measured again|second reading|reread|re read|redone|re done|redid|once more|one more time|measured twice|checked twice|twice|redo|re do|clocked it again|clocked again|a second time|second time|a third time|second time around"},
		{cueRetight, "nipped back up to|nipped back up|tightened back up to|pulled back up to|taken back up to|torqued back up to|pulled it again|pulled it back up|torqued it again|tightened it again|brought it up again|took it up again|retightened|re tightened|re-tightened|tightened again|tightened back up|re torqued it|torqued back up|retorqued it|pulled back up|tightened up again|back up to|nipped up again|brought it back up to|brought back up to|took it back up to|brought it back to|back up again to"},
		{cueAbout, "about|roughly|around|approximately|approx|approximate|circa|somewhere near|somewhere around|somewhere about|near enough|nearly|almost|close to|give or take|just under|just over|just about|just below|just above|a bit over|a bit under|a little over|a little under|a shade under|a shade over|a touch over|a touch under|a hair over|a hair under|in the region of|of the order of|call it|ballpark|more or less|pretty much|say about|say|approximating|touching|getting on for|some|~|≈|well over|well under|not quite|slightly over|slightly under|slightly more than|slightly less than|a bit more than|a bit less than|as good as|best part of|the best part of|every bit of|a good|good for|round about|somewhere round|a couple of|couple of|a few|several|a bout"},
		{cueIsh, "ish|or so|or thereabouts|thereabouts|or something|or something like that|something like that|and a bit|and change|odd|or near enough|about that|near as damn it|near as|and a smidge|plus a smidge|a smidge|and a whisker|plus a whisker|a whisker|and a hair|plus a hair|a hair|and a touch|plus a touch|and a tad|plus a tad|a tad|plus a bit|and a shade|plus a shade|give a take|so far"},
		{cueBound, "at least|at most|no more than|no less than|not more than|not less than|more than|less than|better than|worse than|over|under|above|below|up to|greater than|fewer than|exceeds|exceeding|beyond|within|<|>|<=|>=|≤|≥|off the scale|over range|off scale|short of|north of|south of|upwards of|in excess of|shy of|infinite|infinity|overload|full scale|out of range|too high to read|too low to read|off the clock"},
		{cueBetween, "between|somewhere between|anywhere between|from|anywhere from|ranging from|varies from|varies between|wanders between"}, //nolint:dupword // phrases side by side
		{cueDoubt, "at first|no good|not good|for now|for the moment|temporarily|put it back|put back|wiped off|a side|per side|radially|this is a test|just a test|testing testing|i think|i guess|maybe|perhaps|probably|possibly|might be|might have been|could be|could have been|may be|may have been|not sure|i'm not sure|not certain|i reckon|i believe|i suppose|looks like|seems|seems like|apparently|supposedly|if i remember|as far as i remember|from memory|if memory serves|i'd say|i would say|guessing|a guess|unsure|don't trust|not convinced|can't be sure|don't know if|hard to read|hard to tell|slipped|slips|let go|gave way|jumped|skidded|lost count|something like|or was it|i assume|assume|assuming|presumably|must be|must have been|should be about|don't quote me|think it was|think it's|think it is|think|gave up at|gave up|condemned|spun|spun at|let go at|must've|might've|could've|seemed|i fancy|i'd guess|if i'm right|if i am right|or somewhere|looks wrong|wrong|torqued out|cracked|half turn|quarter turn"},
		{cueNotYet, "not yet|haven't|havent|hasn't|hasnt|didn't|didnt|isn't|isnt|aren't|arent|wasn't|wasnt|weren't|doesn't|doesnt|don't|dont|won't|can't|cant|cannot|couldn't|never|still to do|still to be|to do|yet to|still needs|still need|needs to be|need to be|still owed|still outstanding|forgot|forgot to|forgotten|skipped|skip|left undone|have not|has not|did not|is not|are not|was not|were not|does not|do not|will not|could not|without|nobody|nothing|no one|unable to|failed to|not done|undone|not been|still not|waiting for|waiting on|left to do|yet to be|not finished|unfinished|neither|nor|refused to|still has to|still have to|has to|have to|has yet to|have yet to|still wants|not there yet|not now|hold off|to be"},
		{cueHearsay, "down for|to check|is down for|takes|came out full|came out cut|written|wrote|copied|logged|would've|time to|hopefully|reckoned on|spec|manual calls for|the manual calls for|book calls for|the book calls for|chart|card|sheet|logbook|paperwork|in theory|theoretically|theory|on paper|estimated|estimate|predicted|calculated|expected|target|targets|spec says|spec is|manual says|the manual says|book says|the book says|sheet says|drawing says|calls for|called for|call for|supposed to be|supposed to|meant to be|want|wants|wanted|need|needs|needed|aim|aiming|aim for|aiming for|going to|gonna|will|will be|about to|nominal|limit is|limits are|the limit|limit|last time|yesterday|last week|last month|last year|last job|previous job|previously|other pump|the other pump|other job|old one|old pump|another pump|next pump|spare|spare pump|would be|would|required|requirement|specified|specification|according to|asks for|asked for|ought to|standard is|usually|normally|typically|always|used to|was meant|try|trying for|trying|let's|let us|plan|planned|instead of|rated|rating|nameplate|name plate|label says|data sheet|datasheet|apprentice|example|for example|imagine|suppose|pretend|told me|claims|heard|originally|before strip|before the strip|this morning|earlier|i'd have liked|i would have liked|would have liked|i'd like|i would like|would like|like to see|could do with|going for|go for|allowed|req|reqd|req'd|rqd|remember|remind|last pump|the last pump|last unit|the last unit|before|beforehand|had it at|it had been|used to be|previous|advised|recommended|recommends|suggested|suggests|says to|said to|should go to|should get|going to go|wants to be|lim|max|min|tgt|nom|minimum|maximum|should have gone|i'll|we'll|he'll|she'll|they'll|tomorrow|soon|later|tonight|in a minute|in a bit|in a moment|shall|is it|was it|as found|as it came in|as they came in|as received|on arrival|as it arrived|when it came in|as it was|as they were|my mate says|he says|she says|they say|he reckons"},
		{cueIf, "as long as|so long as|provided|until|once|till|if|unless|whether|in case|as soon as"},
		{cueQuestion, "anything still open|anything open|anything outstanding|what|what's|whats|what is|what was|which|how|how many|how much|when's|where|where's|who|who's|whose|why|tell me|remind me|read back|read that back|read it back|repeat|repeat that|say again|say that again|do i|do we|did i|did we|have i|have we|am i|are we|can i|can we|should i|should we|shall i|is that|is there|are there|does it|does the|give me|show me|list|read me|do you|could you|can you|can someone|can somebody|could someone|could somebody|will you|would you|did you see|do you know|reed back|reed that back|witch|watts left|watts still|watts next|watts the|owt left|nowt left|anything left"},                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                                        //nolint:dupword // phrases side by side
		{cueRemark, "in the post|on order|on its way|on back order|sorry about the|sorry about that|we run out|we ran out|i ran out|i run out|we've run out|i've run out|have run out|ran out of|running out of|running low on|order|order more|ordered|reorder|bring|fetch|get me|pass me|hand me|find me|grab me|buy|meeting|tea|break|lunch|dinner|breakfast|coffee|biscuit|back at|see drawing|o'clock|oclock|past|half past|quarter past|quarter to|quarter of ten|minutes late|late shift|night shift|phone|phoned|ring|invoice|delivery|delivered|store|stores|radio|weather|page|manual|handover at|shift|customer|van|lorry|truck|gasket set|part number|serial number|telephone|extension|email|holiday|birthday|football|bin|broom|door|canteen|toolbox|tool box|locker|overtime|drawing|section|chapter|paragraph|clause|figure|figures|volume on|number plate|post code|socket|spanner|spanners|sockets|bucket|order number|purchase order|arriving|arrives|arrived|next month|next week|next year|next door|next weekend|next friday|next monday|years old|year old|sugars|sugar|o rings|o-rings|rings|brew|beer|pub|match|telly|kids|wife|lad|lad's|daughter|son|dog|train|bus|traffic|rain|snow|weekend|appointment|dentist|doctor|euros|dollars|quid|pounds each|bucks|phone call|answer the phone|see you|off home|good night|goodnight|cheerio|same again for me|same time tomorrow|i'll be|be back in|back in five|back in ten|months ago|years ago|weeks ago|days ago"}, //nolint:dupword // phrases side by side
		{cueSet, "set the wrench to|set wrench to|clicked at|clicked|click at|set to|set at|wrench set to|wrench set at|clicks at|clicked off at|it clicked at|clicked over at|set on|wrench clicked at"},
		{cueDone, "torqued|tightened|done up|nipped up|measured|pulled up|done|tightened up|torqued up|torqued down|checked|finished|complete|completed|torqued to spec|all good|to spec|within spec|in spec|good|ok|okay|fine|passed"}, //nolint:dupword // phrases side by side
		{cueAll, "all|all of the|all of|all the|every|every one of the|both|the lot|everything|whole set|the whole lot"},
		{cueEach, "each|each of the|apiece|each one"},
		{cueRest, "the rest|the others|the other|the remaining|remaining|rest of the|the rest of the|all the others|the other ones|others"},
		{cueLast, "last|final|the last|the final"},
		{cueFirst, "first|the first"},
		{cueOr, "or|either"},
		{cueAnd, "and|plus|with|w/|&|,|;|then|also|followed by|+"},
		{cueTo, "to|through|thru"},
		{cueOn, "on|for|of|at|in|onto|on the|for the|of the|at the|in the|to the"},
		{cuePlusMinus, "plus or minus|plus minus|±|+/-|+-|tolerance"},
		{cueOff, "backed that one off|backed it off|backed that off|backed one off|undid that one|undid it|backed off|back off|backing off|slackened|slacked off|undid|slackened off|eased off|loosened|loosened off|unscrewed|cracked off|backed"},
		{cueLeft, "left|outstanding|missing|owed|still needed|to go"},
		{cueLastSaid, "last one|the last one|that back|it back|last reading|last note|last value|that again"},
		{cueOpen, "open|still open|findings|outstanding findings|wrong with|out of limits"},
		{cueExcept, "exc|excl|ex|except|except for|bar|apart from|other than|excluding|all but|save for|only|not counting|less"},
		{cueFine, "last but not least|bob on|bang on|spot on|dead on|smack on|in that order|in order|in turn|respectively|right off|if you want it in new money|if you want it in old money|wrong part|wrong size|off a touch|off a bit|off a hair|off a shade|off a little|off a tad|off a fraction|if you want it|if you want it in|if you like|if you prefer|you know|i know|as you know|let me know|you know what|to free the|to get at the|to get to the|went round|went round them|went round them all|gone round them all|went all round|mikes out at|mics out at|mikes at|mics at|mic says|mike says|micrometer says|caliper says|calliper says|calipers say|vernier says|clock says|tester says|megger says|the meter says|meter says|gauge says|gage says|the gauge says|it says|dial says|the dial says|display says|wrench says|the wrench says|indicator says|screen says|after all|after that|then after that|after which|unlike last time|unlike last week|this time|properly this time|had it upside down|i had it upside down|had it the wrong way round|had it the wrong way up|tell you|i can tell you|can tell you|dropped straight over|dropped straight on|dropped straight in|dropped over|dropped into place|dropped on|nothing to worry about|by mistake|over the dowels|on the dowels|nice and even|all round|all the way round|all the way home|can't complain|cannot complain|isn't bad|not bad|not bad at all|no problem|no problems|no problem at all|no bother|no worries|no trouble|no fuss|no drama|there we go|there you go|here we go|not too bad|no two ways about it|sweet as a nut|happy with that|i'm happy with that|that'll do|that will do|job done|bob's your uncle|as it goes|on the nose|on the money|on the button|to be exact|to be precise|by the way|as well by the way|as a whistle|a treat|like a glove|as you like|as it should be|as it should|as planned|in case you wondered|as expected|can't complain about that|another go|in old money|in new money|just to be sure|to be sure|at a guess there|for the record books|in one go|first go|first try|first time|second go|bang on the money|on the dot|to the dot|in the end|came back at|comes back at|came back as|came back with|spun it by hand|spun by hand|spun it round|spun it|mate|love|came out at|comes out at|came out|works out at|by hand|out of interest|from the bench|wrong one swapped it|wrong one|swapped it|swapped it over|starting the|starting with|starting on|trued it up|trued it|to start with|for a start|out of the way|off the bench"}, //nolint:dupword // phrases side by side
		{cueNote, "note|note that|remark|comment|for the record"},
	}
}

type cuePhrase struct {
	cue     cue
	phrases string // separated by |
}

// fillers are words without weight. They never make a note a remark.
const fillers = "chk|chkd|chk'd|pls|meas|msrd|rdg|during|starting|sun|shade|draught|torch|lamp|rag|rags|gloves|apron|kettle|stool|um|uh|er|erm|ah|hmm|well|please|okay|ok|right|so|now|is|are|was|were|be|been|being|has|have|had|it|it's|its|that|that's|this|these|there|here|the|a|an|my|our|i|i've|i'm|we|we've|he|she|they|you|on|at|to|in|for|of|with|by|as|just|up|came|come|comes|reads|read|reading|readings|got|get|gets|getting|gave|gives|made|makes|went|goes|going|showing|shows|showed|torqued|tightened|torque|measured|measures|measure|measurement|checked|check|taken|took|take|set|value|figure|number|no|exactly|nice|good|fine|yes|yeah|yep|aye|alright|first|last|only|still|put|done|finished|complete|fitted|fit|installed|all|each|every|both|then|next|also|doing|see|sir|depth|test|tested|down|proper|properly|nicely|correctly|final|finally|tir|total|steady|stable|over|into|onto|and|or|but|resistance|gap|clearance|position|lift|play|one|ones|before|wiped|rod's|held|holding|holds|side|end|new|same|cleaned|looking|looks|look|sat|sits|sitting|pulled|reached|hits|hit|do|does|did|tight|using|long|short|big|small|large|little|phew|blimey|lovely|cheers|ta|lads|sweet|beauty|grand|smashing|champion|righto|hey|yo|hi|hello|folks|boss|chief|buddy|pal|very|really|solid|snug|today|thanks|thank|cool|great|perfect|perfectly|excellent|bang|smack|even|dead|home|it'll|he's|she's|what's|let's|him|her|them|me|us|your|his|their|mine|yours|ours|we're|you're|they're|am|easy|easily|smoothly|gently|slowly|meter|display|dial|needle|gauge|screen|indicated|indicates|indicating|registered|registers|shown|lo|behold|w/|found|brought|grabbed|picked|fetched|straight|across|round|smooth|spot|another|anyway|said|coming|myself|sure|certain|absolutely|definitely|indeed|precisely|bear|clocked|ended|landed|lands|settled|settles|stood|stands|topped|metric|imperial|fully|tidy|flush"

func fillerWords() []string { return strings.Split(fillers, "|") }

// inners may stand inside the name of a confirmation and leave it what it is: "seat is all clean
// now", "cover went on". Whatever tells of a plan or a part of it ("to be", "half") must not.
const inners = "is|are|was|were|been|has|have|had|it|it's|its|that|that's|this|these|the|a|an|my|our|i|i've|we|we've|he|she|they|there|here|up|all|now|nice|nicely|proper|properly|fully|well|good|very|really|both|each|just|also|smooth|smoothly|easy|easily|correctly|done|right|straight|round|in|on|of|with|by|as|down|back|over|into|onto|and|um|uh|er|erm|ah|so|okay|ok|new|sat|sits|went|got|put|made|still|quite|lovely|solid|tight|snug|flush|perfectly|completely|today|off|out|one|ones|side"

// denials may stand inside the name of a confirmation, and turn it round: "seat isn't
// clean".
const denials = "not|doesn't|doesnt|won't|can't|cannot|isn't|isnt|aren't|arent|hasn't|hasnt|haven't|wasn't|weren't|never|yet"

var denialWords = strings.Split(denials, "|")
