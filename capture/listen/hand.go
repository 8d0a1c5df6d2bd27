package listen

import (
	"slices"

	"readback/capture/hear/grammar"
	"readback/capture/hear/judge"
	"readback/capture/wire"
	"readback/parse"
)

// notByVoice is said to a name that cannot be told by ear.
const notByVoice = "That name cannot be spoken here. Pick it on the sheet, under hand over."

// People sets to whom the bench may be handed by voice: names that no other sounds like. Without it to nobody.
func (l *Listener) People(names []string) { l.people = slices.Clone(names) }

// handedTo returns to whom words hand the bench, as the record writes the name; "" where they do not, or it is
// nobody who may be named so.
func (l *Listener) handedTo(text string) string {
	said, ok := parse.HandsBench(text)
	if !ok || l.desk != nil {
		return ""
	}
	if i := slices.IndexFunc(l.people, func(name string) bool { return grammar.Named(said, name) }); i >= 0 {
		return l.people[i]
	}
	return ""
}

// question asks before the bench is handed over, and before something is decided of what is out; "" for all else. It always
// does: nothing that is checked later would show that a name was misheard, and from then on it stands beside each note.
func (l *Listener) question(text string) string {
	if name := l.handedTo(text); name != "" {
		return "Hand the bench to " + name + "? Yes or no."
	}
	l.disposed = nil
	if is, of, aloud, wrong := l.disposes(l.ctx, text); is != "" && wrong == "" {
		return l.asksWhat(is, of, aloud)
	}
	return ""
}

// hand has the page hand the bench over, after a yes: nothing is kept of the words.
func (l *Listener) hand(d judge.Decision, name string) Outcome {
	l.asked = nil
	return Outcome{Verdict: d.Verdict, Text: d.Text, Do: wire.DoHand, Person: name}
}
