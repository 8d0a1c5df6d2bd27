// Package bench is one job being worked at one bench by one person: a note goes in,
// is parsed with what was said before, folded into the job, and an answer comes out.
// Nothing here touches a disk or a network; `readback check` and the server run the
// same code.
package bench

import (
	"readback/parse"
	"readback/rules"
)

// Bench is what one person at one bench has said so far, and the job that it is about.
// It is not safe for use by several goroutines at once.
type Bench struct {
	job   *rules.Job
	words *parse.Vocabulary
	said  parse.Context
}

// New returns a bench that works on job. Several benches may share a job and the
// vocabulary that [rules.Job.Words] makes; each keeps its own context.
func New(job *rules.Job, words *parse.Vocabulary) *Bench {
	return &Bench{job: job, words: words}
}

// Say takes one note: what was understood, and the answer to it.
func (b *Bench) Say(text string) (parse.Utterance, rules.Answer) {
	u := b.Read(text)
	return u, b.Fold(u)
}

// Sent takes what a gauge that types has sent.
func (b *Bench) Sent(text string) (parse.Utterance, rules.Answer) {
	u := parse.Sent(text, b.words, b.said)
	return u, b.Fold(u)
}

// Read understands a note with the context of this bench, and changes nothing.
func (b *Bench) Read(text string) parse.Utterance {
	return parse.Text(text, b.words, b.said)
}

// Lacks is [rules.Job.Lacks].
func (b *Bench) Lacks(instrument string) bool { return b.job.Lacks(instrument) }

// Explain understands a note as [Bench.Read] does and says which words became what. It changes
// nothing.
func (b *Bench) Explain(text string) parse.Utterance {
	return parse.Explain(text, b.words, b.said)
}

// Fold folds an utterance into the job and remembers it for the notes to come.
func (b *Bench) Fold(u parse.Utterance) rules.Answer {
	a := b.job.Fold(u)
	b.said = b.said.After(u, a.Heard)
	return a
}
