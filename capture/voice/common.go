package voice

// Common returns what a bench says all day, for [Speaker.Warm], in the usual voice at the
// usual speed: the verdicts and the short answers first, then the texts that are given,
// such as the cautions of the specs.
func Common(texts ...string) []Line {
	lines := make([]Line, 0, len(common)+len(texts))
	for _, text := range append(append([]string{}, common...), texts...) {
		lines = append(lines, Line{Text: text})
	}
	return lines
}

var common = []string{
	"In.", "Out.", "Close.", "Stop.", "Say again.", "Noted.", "Forgotten.", "Nothing is left to do.", "Yes or no?", "Say it again.", "Caution.", "Kept, not checked.",
	"Noted: the next person takes over.", "Nothing is taken back: say what, with its name and place.",
	"Collar nut three, forty-eight newton metres.", // what the page tries a voice with
}
