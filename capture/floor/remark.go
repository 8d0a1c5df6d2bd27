package floor

import (
	"context"
	"encoding/json"
	"fmt"

	"readback/capture/journal"
	"readback/capture/wire"
	"readback/parse"
)

// A remark is a note in free words that was spoken: what is kept is its sound, and its words are a
// guess. Neither they nor what they are put right to is ever read: a number in them is no reading.

// GuessSay is what a remark is answered.
const GuessSay = "Kept as sound. Its words are a guess, and no reading."

// wordsSay is what one is answered of which no sound is kept, such as one that a browser has heard.
const wordsSay = "Kept in words. They are a guess, and no reading."

// entry makes the entry of a note: of a remark, of words that put one right, or of any other note.
func (j *job) entry(ctx context.Context, who Speaker, note wire.Note, spoken Spoken) (journal.Entry, error) {
	unread := parse.Utterance{Text: note.Text, Kind: parse.Remark}
	at := journal.InstantOf(j.floor.Now())
	switch {
	case note.Of > 0:
		if _, err := j.floor.Guess(ctx, j.id, note.Of); err != nil {
			return journal.Entry{}, err
		}
		return j.fold(who, note, unread, at, func(s *said) {
			s.Of, s.Kind, s.Guess = note.Of, parse.Correction, spoken.Guess
			if s.Guess {
				s.Say = fmt.Sprintf("Note %d was heard again. Its words are still a guess, and no reading.", note.Of)
				return
			}
			s.Say = fmt.Sprintf("The words of note %d are put right. What was heard first is kept.", note.Of)
		})
	case spoken.Guess:
		return j.fold(who, note, unread, at, func(s *said) {
			s.Guess = true
			s.Say = GuessSay
			if spoken.Sound == "" {
				s.Say = wordsSay
			}
		})
	}
	return j.understand(who, note)
}

// Guess returns a remark: an entry whose words are a guess. The error says why it is none.
func (f *Floor) Guess(ctx context.Context, job string, seq int64) (journal.Entry, error) {
	entries, err := f.Reader.Entries(ctx, job, seq-1, 1)
	if err != nil {
		return journal.Entry{}, fmt.Errorf("read entry %d of job %s: %w", seq, job, err)
	}
	if len(entries) == 1 && entries[0].Seq == seq {
		if guess, _ := remarkOf(entries[0]); guess {
			return entries[0], nil
		}
	}
	return journal.Entry{}, &RefusalError{
		Wrong: fmt.Sprintf("note %d of job %s is none whose words are a guess", seq, job),
		Do:    "give the number of a spoken remark; a reading is put right by saying correction and the right value",
		Why:   ErrNoGuess,
	}
}

// remarkOf says whether the words of an entry are a guess, and of which entry they put the words right,
// 0 for none.
func remarkOf(e journal.Entry) (guess bool, of int64) {
	var body struct {
		Guess bool  `json:"guess"`
		Of    int64 `json:"of"`
	}
	if len(e.Answer) == 0 || json.Unmarshal(e.Answer, &body) != nil {
		return false, 0
	}
	return body.Guess, body.Of
}
