package main

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync"

	"github.com/rs/zerolog"
	"github.com/spf13/cobra"

	"readback/capture/floor"
	"readback/capture/hear"
	"readback/capture/hear/grammar"
	"readback/capture/hear/judge"
	"readback/capture/hear/offline"
	"readback/capture/hear/service"
	"readback/capture/listen"
	"readback/capture/opening"
	"readback/capture/sound"
	"readback/capture/wire"
	"readback/parse/symptom"
	"readback/rules"
)

// The engines of --stt, beside the address of a transcription service.
const (
	offlineEngine = "offline"
	noEngine      = "none"
)

const sttUsage = "`engine` that hears spoken notes: offline, none, or the http address of a transcription service that the shop runs; offline if it is installed and this is left out"

func sttFlag(c *cobra.Command, stt *string) { c.Flags().StringVar(stt, "stt", "", sttUsage) }

func leadFlag(c *cobra.Command, lead *string) {
	c.Flags().StringVar(lead, "lead-in", "", "`words` that a note begins with where a microphone is left open, such as \"bench seven\"; none if left out")
}

// isAddress reports whether an engine is named by where it is.
func isAddress(stt string) bool { return strings.Contains(stt, "://") }

// openEngine starts what hears: so many ears of the offline recogniser, 0 for as many as there are
// processors, and beside it the service whose address is given. A service works alone where nothing
// else is installed.
func openEngine(ctx context.Context, stt string, workers int, log zerolog.Logger) (hear.Engine, error) {
	if stt != "" && stt != offlineEngine && !isAddress(stt) {
		return nil, hint(fmt.Errorf("there is no engine %s", stt), "it may be %s, %s, or an address such as http://127.0.0.1:9000/hear", offlineEngine, noEngine)
	}
	beside, err := offline.New(offline.Config{Workers: workers, Log: log})
	switch {
	case !isAddress(stt) && err != nil:
		return nil, err
	case !isAddress(stt):
		return beside, nil
	case err != nil && !errors.Is(err, hear.ErrMissing):
		return nil, err
	}
	c := service.Config{URL: stt, Log: log}
	if err == nil {
		c.Beside = beside
	} else {
		log.Warn().Err(err).Msg("the transcription service hears alone, and every note that records is asked about")
	}
	e, wrong := service.New(ctx, c)
	if wrong != nil {
		wrong = hint(wrong, "give --stt the http address to which the service takes sound by POST")
		if c.Beside != nil {
			wrong = errors.Join(wrong, beside.Close())
		}
		return nil, wrong
	}
	if w := e.Warning(); w != "" {
		log.Warn().Msg(w)
	}
	return e, nil
}

// listensFor returns what an engine listens for in a job whose bench may be handed to these people.
func listensFor(e hear.Engine, lead string, own *symptom.Own) func(j *rules.Job, people []string) (hear.Words, error) {
	if alone(e) {
		return noGrammar
	}
	return grammarOf(lead, own)
}

// alone reports whether an engine is a service that has nothing beside it.
func alone(e hear.Engine) bool {
	s, ok := e.(*service.Engine)
	return ok && s.Alone()
}

// dictionary is read once: it is large.
var dictionary = sync.OnceValues(func() (*grammar.Dictionary, error) { return grammar.Load(grammar.Path) })

// grammarOf makes what to listen for in a job, with a shop's own words and behind a lead-in if there is one.
func grammarOf(lead string, own *symptom.Own) func(j *rules.Job, people []string) (hear.Words, error) {
	return func(j *rules.Job, people []string) (hear.Words, error) {
		d, err := dictionary()
		if err != nil {
			return hear.Words{}, fmt.Errorf("read the recogniser's dictionary: %w", err)
		}
		return grammar.Served(j, own, people, lead, d)
	}
}

// noGrammar is for an engine that listens for nothing of ours.
func noGrammar(*rules.Job, []string) (hear.Words, error) { return hear.Words{}, nil }

// namesOf parts people into those whose names can be told by ear on a job and the others. Without the
// recogniser's dictionary nobody knows which names sound alike.
func namesOf(j *rules.Job, people []string) (said []string, unsaid []grammar.Unsaid) {
	d, err := dictionary()
	if err != nil {
		for _, name := range people {
			unsaid = append(unsaid, grammar.Unsaid{Name: name, Why: "the recogniser's dictionary is not installed"})
		}
		return nil, unsaid
	}
	return grammar.Names(people, d.With(grammar.Given(j.Spec())))
}

// checkLead says whether a lead-in can be heard.
func checkLead(lead string) error {
	d, err := dictionary()
	if err != nil {
		return hint(err, "install it, or leave --lead-in out")
	}
	if err := grammar.CheckLead(lead, d); err != nil {
		return hint(err, "give --lead-in words of the dictionary, such as \"bench seven\"")
	}
	return nil
}

// listensForJobs returns what an engine listens for where jobs are opened, behind a lead-in if there is
// one. What cannot be heard is logged: it can be typed.
func listensForJobs(e hear.Engine, specs []*rules.Spec, lead string, log zerolog.Logger) func(heads []string) (hear.Words, error) {
	if alone(e) {
		return func([]string) (hear.Words, error) { return hear.Words{}, nil }
	}
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
		return grammar.Led(w, lead, d)
	}
}

// ears is how a server hears, or why it does not.
type ears struct {
	hearing *listen.Hearing // nil: it does not
	why     string
	sounds  *sound.Store
	close   func() error
}

// openEars starts what a server hears with. An engine that is named must be there; else the server
// says to the pages, and the log, what is missing.
func openEars(ctx context.Context, s setup, specs floor.Specs, words shopWords, kept *keptFiles) (*ears, error) {
	deaf := &ears{why: "this server was started without hearing", close: func() error { return nil }}
	if s.stt == noEngine {
		return deaf, nil
	}
	engine, err := openEngine(ctx, s.stt, 0, s.log)
	switch {
	case err != nil && !errors.Is(err, hear.ErrMissing):
		return nil, err
	case err != nil && s.stt != "":
		return nil, hint(err, "or leave --stt out, or give --stt none")
	case err != nil:
		s.log.Info().Err(err).Msg("notes are not heard")
		deaf.why = err.Error()
		return deaf, nil
	}
	if s.lead != "" && !alone(engine) {
		if err := checkLead(s.lead); err != nil {
			return nil, errors.Join(err, engine.Close())
		}
	}
	if err := words.audible(engine); err != nil {
		return nil, errors.Join(err, engine.Close())
	}
	s.log.Info().Str("engine", engine.Name()).Str("lead-in", s.lead).Msg("notes are heard")
	return &ears{
		hearing: &listen.Hearing{
			Engine: engine, Grammar: listensFor(engine, s.lead, words.own), Names: namesOf, Opening: listensForJobs(engine, specs.All(), s.lead, s.log),
			Policy: judge.Usual(), Sounds: kept.sounds, LeadIn: s.lead,
		},
		sounds: kept.sounds,
		close:  engine.Close,
	}, nil
}

// tell says what the pages are told.
func (e *ears) tell() wire.Hears {
	if e.hearing == nil {
		return wire.Hears{Engine: noEngine, Why: e.why}
	}
	h := wire.Hears{Engine: e.hearing.Engine.Name(), LeadIn: e.hearing.LeadIn}
	if s, ok := e.hearing.Engine.(*service.Engine); ok {
		h.Why, h.Warning, h.Again = s.Trouble(), s.Warning(), true
	}
	return h
}

// names returns who may be named aloud; nil where nothing hears.
func (e *ears) names() func(*rules.Job, []string) ([]string, []grammar.Unsaid) {
	if e.hearing == nil {
		return nil
	}
	return e.hearing.Names
}

// again returns how remarks are heard once more by a service; nil where there is none.
func (e *ears) again(shop *floor.Floor) func(context.Context, string, int64, wire.HearAgain) (wire.Answer, error) {
	if e.hearing == nil {
		return nil
	}
	s, ok := e.hearing.Engine.(*service.Engine)
	if !ok {
		return nil
	}
	return (&listen.Again{Floor: shop, Sounds: e.sounds, Engine: s}).Hear
}
