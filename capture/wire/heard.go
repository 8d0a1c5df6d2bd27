package wire

// Heard says what came of a spoken note that was not kept: it is asked about, to be said again, or
// nothing was said to us; or it only steered the listening. A note that was kept gets an [Answer]; a Heard behind that
// says what more came of it.
type Heard struct {
	ID      string `json:"id"`
	Verdict string `json:"verdict"`           // asked, refused, silent; taken where it steered the listening
	Text    string `json:"text"`              // the words, as they were heard
	Say     string `json:"say"`               // what is asked or said
	Do      string `json:"do,omitempty"`      // what the page is to do: [DoPhoto], [DoHand]; absent for nothing
	Person  string `json:"person,omitempty"`  // with [DoHand]: to whom
	Then    bool   `json:"then,omitempty"`    // the note was kept, and got its answer: this is said behind it
	Why     bool   `json:"why,omitempty"`     // the reason is awaited of what the words decide: they are done with
	Leave   bool   `json:"leave,omitempty"`   // the sheet is to be left for the jobs
	StandBy bool   `json:"standby,omitempty"` // from now on nothing is heard but what ends that: "resume"
}

// Checked says what would have come of a sentence that was read to try the microphone. Nothing of it is kept.
type Checked struct {
	ID      string  `json:"id"`
	Verdict string  `json:"verdict"` // taken, asked, refused: not understood; silent: nobody spoke
	Text    string  `json:"text"`    // the words, as they were heard
	Right   bool    `json:"right"`   // they were taken or asked about, and say what the sentence does
	Level   float64 `json:"level"`   // of the speech, dB below full scale
	Noise   float64 `json:"noise"`   // of what is around it
}

// MarshalJSON writes {"type":"checked",...}.
func (c Checked) MarshalJSON() ([]byte, error) {
	type plain Checked
	return encode(struct {
		Type string `json:"type"`
		plain
	}{"checked", plain(c)})
}

// ToRead is what GET /api/jobs/{id}/check and GET /api/check answer: what to read aloud to try the microphone.
type ToRead struct {
	Sentences []string `json:"sentences"` // three, in words alone
}

// DoPhoto has the page take a photo of what the last note was about.
const DoPhoto = "photo"

// DoHand has the page hand the bench over, as its form does. It was asked about, and a yes was heard.
const DoHand = "hand"

// MarshalJSON writes {"type":"heard",...}.
func (h Heard) MarshalJSON() ([]byte, error) {
	type plain Heard
	return encode(struct {
		Type string `json:"type"`
		plain
	}{"heard", plain(h)})
}

// Hearing is what can be shown while a note is spoken. Its words change and are no note yet.
type Hearing struct {
	ID    string   `json:"id"`
	State string   `json:"state"` // waiting, speaking, ended: what is said is being judged; or [Queued]
	Words []string `json:"words"`
	Level float64  `json:"level"` // dB below full scale

	Samples int `json:"samples,omitempty"` // of the note's sound, up to which State holds; 0 where there is none yet, or it is over
}

// Queued is the state of a note whose sound is kept until a recogniser is free.
const Queued = "queued"

// MarshalJSON writes {"type":"hearing",...}.
func (h Hearing) MarshalJSON() ([]byte, error) {
	type plain Hearing
	if h.Words == nil {
		h.Words = []string{}
	}
	return encode(struct {
		Type string `json:"type"`
		plain
	}{"hearing", plain(h)})
}

// Hears is what GET /api/hearing answers: by what spoken notes are heard.
type Hears struct {
	Engine string `json:"engine"` // as its package names it; "none" where nothing hears
	Why    string `json:"why"`    // why nothing hears, or not as wished; "" where all is well

	Warning string `json:"warning,omitempty"` // where what is spoken goes, if it leaves the shop's own net
	Again   bool   `json:"again,omitempty"`   // a remark that was kept can be heard again by a better engine
	LeadIn  string `json:"lead_in,omitempty"` // what a note of an open microphone begins with; "" for nothing
}

// People is what GET /api/jobs/{id}/people answers: to whom the bench can be handed without typing a name.
type People struct {
	People []Person `json:"people"` // whoever said a note last in the shop first
}

// Person is somebody whom the shop knows by notes.
type Person struct {
	Name   string `json:"name"`
	Unsaid string `json:"unsaid,omitempty"` // why the name cannot be spoken, as the end of a sentence; absent where it can
}

// HearAgain asks for a remark that was kept to be heard once more: the body of POST
// /api/jobs/{id}/notes/{seq}/hear.
type HearAgain struct {
	ID     string `json:"id"               validate:"required,canonical_ulid"` // of the entry that comes of it
	Person string `json:"person,omitempty" validate:"max=100,name"`
}

// DecodeHearAgain reads it. Every error is a *[Error].
func DecodeHearAgain(body []byte) (HearAgain, error) {
	var ask HearAgain
	if err := object(body, &ask); err != nil {
		return HearAgain{}, err
	}
	if err := checkShape(ask); err != nil {
		return HearAgain{}, err
	}
	return ask, nil
}
