package listen

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"

	"readback/capture/floor"
	"readback/capture/hear"
	"readback/capture/sound"
	"readback/capture/wire"
)

// ErrNoSound says that what is to be heard again is not kept.
var ErrNoSound = errors.New("listen: the sound is not kept")

// Again hears remarks once more, from the sound that was kept of them, by an engine that came later or
// was away. Every field must be set.
type Again struct {
	Floor  *floor.Floor
	Sounds *sound.Store
	Engine interface {
		Again(ctx context.Context, pcm []int16) (hear.Guess, error)
	}
}

// Hear makes a new entry with the words that the engine hears in the sound of entry seq, whose words
// must be a guess. That entry stays as it is, and the new words are a guess as well.
func (a *Again) Hear(ctx context.Context, job string, seq int64, ask wire.HearAgain) (wire.Answer, error) {
	kept, err := a.Floor.Guess(ctx, job, seq)
	if err != nil {
		return wire.Answer{}, err
	}
	data, err := a.Sounds.Get(kept.Sound)
	if err != nil {
		return wire.Answer{}, fmt.Errorf("%w: %w", ErrNoSound, err)
	}
	pcm, err := sound.Decode(data)
	if err != nil {
		return wire.Answer{}, fmt.Errorf("%w: %w", ErrNoSound, err)
	}
	g, err := a.Engine.Again(ctx, pcm)
	if err != nil {
		return wire.Answer{}, fmt.Errorf("%w: %w", hear.ErrAway, err)
	}
	if g.Text == "" {
		g.Text = soundAlone
	}
	heard, err := json.Marshal(struct {
		Engine string `json:"engine"`
		Guess  string `json:"guess"`
	}{g.By, g.By})
	if err != nil {
		return wire.Answer{}, fmt.Errorf("record how a remark was heard again: %w", err)
	}
	seat, _, err := a.Floor.Sit(ctx, job, floor.Speaker{Bench: kept.Bench, Person: ask.Person}, func([]byte) {})
	if err != nil {
		return wire.Answer{}, err
	}
	defer seat.Leave()
	answer, _, err := seat.SayHeard(ctx, wire.Note{ID: ask.ID, Text: g.Text, Of: seq}, floor.Spoken{Heard: heard, Guess: true})
	return answer, err
}
