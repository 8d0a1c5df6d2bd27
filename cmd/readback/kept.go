package main

import (
	"context"
	"fmt"
	"path/filepath"
	"time"

	"github.com/rs/zerolog"
	"github.com/spf13/cobra"

	"readback/capture/evidence"
	"readback/capture/journal"
	"readback/capture/photo"
	"readback/capture/sound"
)

// soundFolder and photoFolder are where the sounds and photos of notes lie in the data folder.
const (
	soundFolder = "sounds"
	photoFolder = "photos"
)

// mostDays is the longest age that a purge may be given: a hundred years.
const mostDays = 36_500

// keptFiles is what lies beside the journal.
type keptFiles struct {
	sounds *sound.Store
	photos *evidence.Files
}

func openKept(data string) (*keptFiles, error) {
	sounds, err := sound.Open(filepath.Join(data, soundFolder))
	var photos *evidence.Files
	if err == nil {
		photos, err = evidence.Open(filepath.Join(data, photoFolder), photo.Ext)
	}
	if err != nil {
		return nil, hint(err, "make the folder writable for this user, or name another with --data")
	}
	return &keptFiles{sounds, photos}, nil
}

// purger removes what lies there.
func (k *keptFiles) purger(from evidence.Source, record func(context.Context, journal.Entry) error, log zerolog.Logger) *evidence.Purger {
	return &evidence.Purger{
		Source: from, Record: record, Program: version(), Now: time.Now, Log: log,
		Folders: map[evidence.Sort]evidence.Folder{evidence.Sound: k.sounds, evidence.Photo: k.photos},
	}
}

// days is how long something is kept; 0 for good.
type days int

// String is the number as it is given.
func (d *days) String() string { return fmt.Sprint(int(*d)) }

// Type names what is given, for --help.
func (d *days) Type() string { return "days" }

// Set reads a number of days.
func (d *days) Set(text string) error {
	var n int
	var rest string
	if got, _ := fmt.Sscanf(text, "%d%s", &n, &rest); got != 1 || n < 1 || n > mostDays {
		return fmt.Errorf("%q is not a number of days from 1 to %d", text, mostDays)
	}
	*d = days(n)
	return nil
}

func (d *days) age() time.Duration { return time.Duration(*d) * 24 * time.Hour }

// keepFlags say how long a server keeps sounds and photos.
type keepFlags struct{ sound, photos days }

func (k *keepFlags) register(c *cobra.Command) {
	c.Flags().Var(&k.sound, "keep-sound", "purge the sounds of notes that are older, each day; for good if left out")
	c.Flags().Var(&k.photos, "keep-photos", "the same for photos")
}

func (k *keepFlags) rule() evidence.Rule {
	return evidence.Rule{Sounds: k.sound.age(), Photos: k.photos.age()}
}
