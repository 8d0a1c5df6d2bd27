package rules

// Pronunciation is how a word of a spec sounds, for the recogniser.
type Pronunciation struct {
	Word   string
	Sounds []string // ARPAbet phones, one text a way to say it: "R AH N AW T"
}
