package main

import (
	"context"
	"path/filepath"
	"strings"

	"github.com/rs/zerolog"
	"github.com/spf13/cobra"

	"readback/capture/floor"
	"readback/capture/voice"
)

// noVoice is the --speak of a server that does not speak.
const noVoice = "none"

func speakFlag(c *cobra.Command, speak *string) {
	c.Flags().StringVar(speak, "speak", "", "`program` that speaks the verdicts: "+strings.Join(voice.Names(), ", ")+" or none; what is installed if left out")
}

// findVoice returns the program that speaks; nil for none. One that is named must be there.
func findVoice(ctx context.Context, speak string) (voice.Renderer, error) {
	if speak == noVoice {
		return nil, nil //nolint:nilnil // none was wished, which is no error
	}
	p, err := voice.Find(ctx, speak)
	if err != nil {
		return nil, err
	}
	return p, nil
}

// openVoice makes the speaker of a server. Where nothing is installed and nothing was
// asked for, it says so to the pages, and the log.
func openVoice(ctx context.Context, s setup) (*voice.Speaker, error) {
	program, err := findVoice(ctx, s.speak)
	if err != nil && s.speak != "" {
		return nil, hint(err, "or leave --speak out, or give --speak none")
	}
	if err != nil {
		s.log.Info().Err(err).Msg("verdicts are not spoken")
	}
	cache, err := voice.OpenCache(filepath.Join(s.data, speechFolder), speechBytes)
	if err != nil {
		return nil, hint(err, "make the folder writable for this user, or name another with --data")
	}
	return voice.New(program, cache), nil
}

// hears returns why a demo does not speak though it was not told to be silent.
func hears(ctx context.Context, speak string) error {
	_, err := findVoice(ctx, speak)
	return err
}

// warm renders what is said all day before somebody waits for it.
func warm(ctx context.Context, speaker *voice.Speaker, specs floor.Specs, log zerolog.Logger) {
	if err := speaker.Warm(ctx, voice.Common(specs.Cautions()...)); err != nil && ctx.Err() == nil {
		log.Warn().Err(err).Msg("sentences are not rendered beforehand")
	}
}
