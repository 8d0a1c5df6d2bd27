package parse

import "readback/parse/number"

// Kind says what a note is. Of a note that is several things at once it is the first
// of correction, reading, event, part, confirm, instrument, symptom, question, remark.
type Kind string

// The kinds of a note.
const (
	Reading    Kind = "reading"    // holds a quantity for a callout
	Confirm    Kind = "confirm"    // says that something was done or is so: "seat clean"
	Event      Kind = "event"      // says that something happened: "cover on"
	Part       Kind = "part"       // says which part went where: "full impeller on stage one"
	Detail     Kind = "detail"     // of a callout, not of a note: what is kept in words, "serial number 4471"
	Instrument Kind = "instrument" // names what is measured with: "on wrench seven"
	Symptom    Kind = "symptom"    // says what was found: "thrust washer scored"
	Question   Kind = "question"   // wants an answer: "what's left"
	Correction Kind = "correction" // withdraws or replaces what was said: "scratch that"
	Remark     Kind = "remark"     // anything else that needs no answer
	Unclear    Kind = "unclear"    // something to ask back about
)

// Span is a half-open range of bytes of the note.
type Span struct {
	Start int `json:"start"`
	End   int `json:"end"`
}

// Quantity is a number and its unit as they were said.
type Quantity struct {
	Value number.Value `json:"value"` // keeps the spoken resolution
	Unit  string       `json:"unit"`  // UCUM code; "1" for a bare number
	Span               // the number and its unit together
}

// Utterance is a note as it was understood. It is stored with the note and folded
// again after a restart, so that it holds all that the fold needs: what context gave
// ("same again", a carried stage) is filled in, nothing is looked up later.
type Utterance struct {
	Text       string      `json:"text"`
	Kind       Kind        `json:"kind"`
	Withdrawn  []Target    `json:"withdrawn,omitempty"`  // what "scratch that" takes back, before all else
	Untold     []Condition `json:"untold,omitempty"`     // what the last note told of, and is taken back
	Claims     []Claim     `json:"claims,omitempty"`     // readings, in the order in which they were said
	Marks      []Mark      `json:"marks,omitempty"`      // confirmations, parts and events, in that order
	Asks       []Ask       `json:"asks,omitempty"`       // what is unclear and belongs to no claim
	Answers    bool        `json:"answers,omitempty"`    // replies to what was asked back
	Dropped    bool        `json:"dropped,omitempty"`    // says to forget what was asked back
	Forgets    []Target    `json:"forgets,omitempty"`    // what the questions were about that are dropped
	Instrument string      `json:"instrument,omitempty"` // as said: "wrench 7"
	Using      []string    `json:"using,omitempty"`      // of a note with readings: the instruments in use, the last named first
	Symptoms   []Condition `json:"symptoms,omitempty"`
	Question   *Query      `json:"question,omitempty"`
	Gauge      *Gauge      `json:"gauge,omitempty"`    // what it has to do with a gauge that types its readings
	Over       bool        `json:"over,omitempty"`     // says that another person takes over: what was said before ends here
	Mentions   bool        `json:"mentions,omitempty"` // it names a place, a number or a callout, whatever came of it
	Guarded    bool        `json:"guarded,omitempty"`  // it hands the job over only if nothing is out of limits and unsettled; so is every note of a live job that would
	Steps      []Step      `json:"-"`                  // how it was read, for the reader who wants to know why
}

// Target is one thing that the spec calls for, at one place.
type Target struct {
	Callout string `json:"callout"`
	At      Place  `json:"at,omitempty"`
}

// Claim is a reading that a note makes or tries to make. Whether it is recorded is
// for the rules to say; a claim with Doubts never is.
type Claim struct {
	Target
	Value    number.Value  `json:"value"`
	Unit     string        `json:"unit,omitempty"`    // UCUM code as said; "" for a bare number
	Other    *number.Value `json:"other,omitempty"`   // what the number may be instead: "two forty eight" as forty-eight
	Span     Span          `json:"span"`              // of number and unit in the note
	How      string        `json:"how,omitempty"`     // "set" for a click wrench's setting, [HowGauge] for what a gauge sent
	With     []Taken       `json:"with,omitempty"`    // what it was taken at
	Carried  []string      `json:"carried,omitempty"` // axes that were not said but carried over
	Slang    []string      `json:"slang,omitempty"`   // units that the word said may stand for ("mil"), likeliest first; Unit is "" then
	Words    string        `json:"words,omitempty"`   // what was not understood, for [Unknown]
	Doubts   []Doubt       `json:"doubts,omitempty"`  // why it may not be recorded as it stands
	Places   []Place       `json:"places,omitempty"`  // where it may belong, if in doubt
	Others   []string      `json:"others,omitempty"`  // callouts that it may belong to, if in doubt
	NoValue  bool          `json:"no_value,omitempty"`
	Rest     bool          `json:"rest,omitempty"`     // for those of Places that were not read yet: "the rest"
	Adds     bool          `json:"adds,omitempty"`     // says what the reading that stands was taken at
	Corrects bool          `json:"corrects,omitempty"` // replaces a reading that must be there: "should be"
}

// Taken is what a reading was taken at: its temperature.
type Taken struct {
	Name  string       `json:"name"` // "temperature"
	Value number.Value `json:"value"`
	Unit  string       `json:"unit"` // UCUM code
}

// Doubt says why a claim may not be recorded, as the parser sees it. The rules add
// their own reasons, which need limits.
type Doubt string

// The parser's doubts.
const (
	NoHome      Doubt = "no home"       // nothing says which callout it is for
	TwoHomes    Doubt = "two homes"     // it may be for several callouts: Claim.Others
	TwoPlaces   Doubt = "two places"    // it may be for several places: Claim.Places
	NoPlace     Doubt = "no place"      // the callout has places and none was said
	NoSuchPlace Doubt = "no such place" // the job does not have the place
	TwoNumbers  Doubt = "two numbers"   // the words make more than one number
	Approximate Doubt = "approximate"   // "about", "ish"
	Doubtful    Doubt = "doubtful"      // "I think"
	Negated     Doubt = "negated"       // "not yet"
	Hearsay     Doubt = "hearsay"       // a target, a manual's value, another job's: not measured here
	Range       Doubt = "range"         // two ends or a bound where one value is called for
	Missing     Doubt = "no value"      // work said done, or a name said, without its value
	TooLong     Doubt = "too long"      // more characters than anybody speaks in one note
	OddUnit     Doubt = "odd unit"      // the unit is cut short or unknown: "litres per" what
	Twice       Doubt = "sent twice"    // a gauge sent the same once more, sooner than anybody measures
	NoNumber    Doubt = "no number"     // what a gauge sent is no single number with a unit at most
	Unknown     Doubt = "unknown words" // the note holds words that may change what was said: Claim.Words
)

// Ask is something unclear that is no claim for any callout.
type Ask struct {
	Doubt Doubt  `json:"doubt"`
	Words string `json:"words"`          // the part of the note that is meant
	Mark  *Mark  `json:"mark,omitempty"` // the mark that it would be; Is or At may be missing
}

// Mark is a confirmation, a part, an event or a detail.
type Mark struct {
	Target
	Corrects bool   `json:"corrects,omitempty"` // of a detail: its words take the place of others
	Reply    bool   `json:"reply,omitempty"`    // completes what was asked about
	Is       string `json:"is"`                 // "done", "undone", which part: "full", "cut"; or the words of a detail
	Span     Span   `json:"span"`
}

// Condition is a symptom: what is wrong with which part.
type Condition struct {
	Part      string `json:"part,omitempty"`   // "thrust washer"
	Condition string `json:"condition"`        // "scored"
	Where     string `json:"where,omitempty"`  // "inlet side"
	Degree    string `json:"degree,omitempty"` // "badly"
	Absent    bool   `json:"absent,omitempty"` // "no wear"
	Span      Span   `json:"span"`
}

// Query is what a question wants to know.
type Query struct {
	About   About    `json:"about"`
	Axis    string   `json:"axis,omitempty"`
	Words   []string `json:"words,omitempty"`   // what is asked about, where it is no name: "collar washers"
	Targets []Target `json:"targets,omitempty"` // the callouts asked about; At may be partial
}

// About is the subject of a question.
type About string

// What can be asked.
const (
	AboutCallout About = "callout" // what is called for: limits, part, how many
	AboutLast    About = "last"    // what was said last
	AboutReading About = "reading" // what was read there
	AboutLeft    About = "left"    // what is left to do; of the callouts, or before Query.Words, where there are any
	AboutOpen    About = "open"    // which findings are open
	AboutNext    About = "next"    // what comes next; on Query.Axis where there is one
	AboutCount   About = "count"   // how many there are: of Query.Words, or places of Query.Axis
	AboutNeed    About = "need"    // the parts that the job needs; of Query.Words alone where there are any
	AboutOrder   About = "order"   // in which order the places of Query.Axis or of the callouts are taken
	AboutTool    About = "tool"    // what the callouts, or what comes next, may be measured with
	AboutWhy     About = "why"     // what the last finding rests on
	AboutBrief   About = "brief"   // how the job stands: for who takes it up again
	AboutOther   About = "other"   // a question that has no answer here
)

// Step is one line of the explanation of an utterance: which words became what.
type Step struct {
	Span
	Words string // as they stand in the note
	Is    string // "number 48", "unit N.m", "name collar_nut_torque", "filler"
	Why   string // why it was taken so, or why another reading was dropped
}
