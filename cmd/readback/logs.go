package main

import (
	"fmt"

	"github.com/rs/zerolog"
)

// logs holds what is logged. Logs go to standard error; they are for whoever runs the
// program, and hold no note's text.
type logs struct{ level level }

// level is the --log flag.
type level struct {
	zerolog.Level
	set bool
}

// Set reads the flag.
func (l *level) Set(text string) error {
	parsed, err := zerolog.ParseLevel(text)
	if err != nil || parsed < zerolog.DebugLevel || parsed > zerolog.ErrorLevel {
		return fmt.Errorf("%q is not debug, info, warn or error", text)
	}
	l.Level, l.set = parsed, true
	return nil
}

// String returns the level in force.
func (l *level) String() string {
	if !l.set {
		return zerolog.WarnLevel.String()
	}
	return l.Level.String()
}

// Type names the flag's value in --help.
func (l *level) Type() string { return "level" }

// logger returns the logger of a run: readable on a terminal, JSON elsewhere.
func (s *std) logger() zerolog.Logger {
	out := s.err
	if isTerminal(s.err) {
		out = zerolog.ConsoleWriter{Out: s.err, TimeFormat: "15:04:05"}
	}
	at := zerolog.WarnLevel
	if s.log.level.set {
		at = s.log.level.Level
	}
	return zerolog.New(out).Level(at).With().Timestamp().Logger()
}
