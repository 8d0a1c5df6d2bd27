package parse

import (
	"slices"
	"strings"

	"readback/parse/token"
)

// briefs lists the ways to ask how the job stands as a whole. Such a note is nothing else:
// "where did I leave the spacer" and "state of the thrust washer" ask or tell of one thing.
const briefs = "where are we|where am i|where was i|where were we|where are we at|where am i at|where was i at|where were we at|where we are|where i am|where i was|where we were|" +
	"where are we up to|where am i up to|where did we get to|where did i get to|where had we got to|where had i got to|where have we got to|where have i got to|" +
	"where've we got to|where we got to|where i got to|where we've got to|where we'd got to|where did he get to|where did she get to|where did they get to|where do we stand|" +
	"where do things stand|where does it stand|where does this job stand|where does the job stand|where we stand|how do things stand|how do we stand|how does it stand|" +
	"how does this job stand|how does the job stand|how things stand|how things are|how it stands|where did we leave off|where did i leave off|where did we stop|" +
	"where did i stop|where did they leave off|" +
	"where did he leave off|where did she leave off|where we left off|where i left off|where they left off|where he left off|where she left off|how far are we|" +
	"how far am i|how far along are we|how far along am i|how far along is it|how far along is this|how far along is this job|how far along is the job|how far is it along|" +
	"how far on are we|how far on is it|how far in are we|how far through are we|how far through am i|how far is this job|how far is the job|how far have we got|" +
	"how far have i got|how far have we gotten|how far have we come|how far did we get|how far did i get|how far did they get|how far did he get|how far did she get|" +
	"how far has it got|how far had we got|how far had i got|how far had they got|how far we are|how far we got|how far we've got|how are we doing|how are we getting on|" +
	"how's this job going|how is this job going|how's the job going|how is the job going|how's the job|how is the job|brief me|brief us|give me a brief|give me the brief|" +
	"give me a briefing|give me the briefing|give me a quick brief|give me a quick briefing|briefing|quick briefing|a briefing|job briefing|state|the state|the state of things|" +
	"state of things|the state of play|state of play|what is the state|what's the state|whats the state|what state is it in|what state are we in|what state is the job in|" +
	"what state is this job in|the job's state|job state|status|the status|job status|the job status|the job's status|status report|a status report|status update|" +
	"a status update|current status|the current status|an update|update me|give me an update|what has been done|what's been done|whats been done|what have we done|" +
	"what have i done|what've we done|what did we do|what did i do|what have they done|what has he done|what has she done|what did they do|what is done|what's done|" +
	"whats done|what was done|what all has been done|what's been done to this|what has been done to this|what's been done to it|what has been done to it|what was i doing|" +
	"what were we doing|what was i up to|what were we up to|what are we doing|what was i on|what were we on|what was he doing|what was she doing|what were they doing|" +
	"what was i in the middle of|what were we in the middle of|bring me up to date|bring me up to speed|get me up to speed|catch me up|fill me in|put me in the picture|" +
	"run me through it|walk me through it|give me the picture|give me the story|the story|sum up|sum it up|summarise|summarize|a summary|summary|a quick summary|" +
	"quick summary|recap|a recap|a quick recap|quick recap|overview|an overview|job summary|wear are we|wear was i|ware are we|where are wee|where our we|where are we app to"

// asking are the words that may open such a question.
const asking = "can you tell me|could you tell me|can you give me|could you give me|can you remind me|could you remind me|tell me|give me|show me|remind me of|tell us|remind me|let me know|let me have|say|what's|whats|what is|what was|can you|could you|would you|will you|i need|i want|i'd like|let's have|let's hear|let's see"

// tails may end it: they name the job, and nothing in it.
const tails = "so far|with it|with this|with this one|with this job|with the job|with that job|on this|on this one|on this job|on the job|on it|of this job|of the job"

// besides may stand round such a question and change nothing.
var besides = strings.Split("um|uh|er|erm|ah|okay|ok|so|well|right|and|hey|now|please|then|again|just|quickly|mate|thanks|thank|you|currently|exactly|today|actually|anyway|here|sorry|,|.|?|!|:|;", "|")

var briefForms, askingForms, tailForms = formsOf(briefs), formsOf(asking), formsOf(tails)

func formsOf(list string) [][]string {
	var out [][]string
	for form := range strings.SplitSeq(list, "|") {
		out = append(out, strings.Fields(form))
	}
	return out
}

// longestBrief is how many words such a note has at most.
const longestBrief = 20

// asksBrief reports whether the note asks how the job stands, and nothing more.
func (s *scan) asksBrief() bool {
	if len(s.toks) > longestBrief || slices.ContainsFunc(s.items, func(it item) bool { return it.kind == isName && !it.guess }) {
		return false
	}
	toks := aside(s.toks)
	return isBrief(toks) || slices.ContainsFunc(askingForms, func(f []string) bool {
		return len(toks) > len(f) && opens(toks, f) && isBrief(aside(toks[len(f):]))
	})
}

// aside cuts off what stands round the question.
func aside(toks []token.Token) []token.Token {
	for len(toks) > 0 && slices.Contains(besides, toks[0].Text) {
		toks = toks[1:]
	}
	for len(toks) > 0 && slices.Contains(besides, toks[len(toks)-1].Text) {
		toks = toks[:len(toks)-1]
	}
	return toks
}

// isBrief reports whether the words are one of the forms, with or without a tail.
func isBrief(toks []token.Token) bool {
	if slices.ContainsFunc(briefForms, func(f []string) bool { return len(f) == len(toks) && opens(toks, f) }) {
		return true
	}
	return slices.ContainsFunc(tailForms, func(f []string) bool {
		rest := len(toks) - len(f)
		return rest > 0 && opens(toks[rest:], f) && isBrief(aside(toks[:rest]))
	})
}

// opens reports whether the tokens begin with the words.
func opens(toks []token.Token, words []string) bool {
	for i, w := range words {
		if toks[i].Text != w {
			return false
		}
	}
	return true
}
