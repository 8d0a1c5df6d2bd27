package main

import (
	"errors"
	"fmt"
	"sync"

	"github.com/rs/zerolog"
	"github.com/spf13/cobra"

	"readback/capture/floor"
	"readback/capture/hear"
	"readback/capture/hear/grammar"
	"readback/capture/hear/judge"
	"readback/capture/hear/offline"
	"readback/capture/listen"
	"readback/capture/opening"
	"readback/rules"
)

// The engines of --stt.
const (
	offlineEngine = "offline"
	noEngine      = "none"
)

func sttFlag(c *cobra.Command, stt *string) {
	c.Flags().StringVar(stt, "stt", "", "`engine` that hears spoken notes: offline or none; offline if it is installed and this is left out")
}

// openEngine starts the offline recogniser for so many ears; 0 for as many as there are processors.
func openEngine(s *std, ears int) (hear.Engine, error) {
	e, err := offline.New(offline.Config{Workers: ears, Log: s.logger()})
	if err != nil {
		return nil, hint(err, "install them, or type the notes: readback check")
	}
	return e, nil
}

// dictionary is read once: it is large.
var dictionary = sync.OnceValues(func() (*grammar.Dictionary, error) { return grammar.Load(grammar.Path) })

// grammarOf makes what to listen for in a job.
func grammarOf(j *rules.Job) (hear.Words, error) {
	d, err := dictionary()
	if err != nil {
		return hear.Words{}, fmt.Errorf("read the recogniser's dictionary: %w", err)
	}
	return grammar.Of(j, j.Shop(), d)
}

// openingOf makes what to listen for where jobs are opened. What cannot be heard is logged: it can
// be typed.
func openingOf(specs []*rules.Spec, log zerolog.Logger) func(heads []string) (hear.Words, error) {
	var once sync.Once
	return func(heads []string) (hear.Words, error) {
		d, err := dictionary()
		if err != nil {
			return hear.Words{}, fmt.Errorf("read the recogniser's dictionary: %w", err)
		}
		w, unsaid := grammar.Opening(grammar.Desk{Specs: specs, Phrases: opening.Phrases(), Heads: heads, Letters: opening.Letters}, d)
		once.Do(func() {
			for _, m := range unsaid {
				log.Warn().Str("word", m.Word).Str("in", m.Form).Msg("cannot be heard where jobs are opened; give its phones under pronounce: in the spec")
			}
		})
		return w, nil
	}
}

// ears is how a server hears, or why it does not.
type ears struct {
	hearing *listen.Hearing // nil: it does not
	why     string
	close   func() error
}

// openEars starts what a server hears with. An engine that is named must be there; else the server
// says to the pages, and the log, what is missing.
func openEars(s setup, specs floor.Specs, kept *keptFiles) (*ears, error) {
	deaf := &ears{why: "this server was started without hearing", close: func() error { return nil }}
	switch s.stt {
	case noEngine:
		return deaf, nil
	case "", offlineEngine:
	default:
		return nil, hint(fmt.Errorf("there is no engine %s", s.stt), "it may be %s or %s", offlineEngine, noEngine)
	}
	engine, err := offline.New(offline.Config{Log: s.log})
	if err != nil && (s.stt != "" || !errors.Is(err, hear.ErrMissing)) {
		return nil, hint(err, "or leave --stt out, or give --stt none")
	}
	if err != nil {
		s.log.Info().Err(err).Msg("notes are not heard")
		deaf.why = err.Error()
		return deaf, nil
	}
	return &ears{hearing: &listen.Hearing{Engine: engine, Grammar: grammarOf, Opening: openingOf(specs.All(), s.log), Policy: judge.Usual(), Sounds: kept.sounds}, close: engine.Close}, nil
}

// names says what the pages are told.
func (e *ears) names() (engine, why string) {
	if e.hearing == nil {
		return noEngine, e.why
	}
	return e.hearing.Engine.Name(), ""
}
