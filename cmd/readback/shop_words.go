package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"

	"github.com/spf13/cobra"

	"readback/capture/hear"
	"readback/capture/hear/grammar"
	"readback/parse"
	"readback/parse/symptom"
)

// shopWords are a shop's own words for symptoms, parts and deeds, beside those that are built in.
type shopWords struct {
	own   *symptom.Own
	trade *parse.Trade
}

func wordsFlag(c *cobra.Command, file *string) {
	c.Flags().StringVar(file, "words", "", "the shop's own words for symptoms, parts and deeds: a YAML `file`")
}

// loadWords reads the file of a shop's own words; "" for none.
func loadWords(file string) (shopWords, error) {
	if file == "" {
		return shopWords{own: symptom.BuiltIn()}, nil
	}
	src, err := os.ReadFile(file)
	if errors.Is(err, fs.ErrNotExist) {
		return shopWords{}, hint(fmt.Errorf("there is no file of words %s", file), "name the YAML file of the shop's words")
	}
	if err != nil {
		return shopWords{}, hint(err, "name the file of the shop's words")
	}
	own, err := symptom.Extend(file, src)
	if err != nil {
		return shopWords{}, fmt.Errorf("the shop's words cannot be used:\n%w", err)
	}
	trade, err := parse.NewTrade(own)
	if err != nil {
		return shopWords{}, fmt.Errorf("the shop's words cannot be used:\n%w", err)
	}
	return shopWords{own, trade}, nil
}

// audible says which of the words an engine that listens for them cannot hear.
func (w shopWords) audible(e hear.Engine) error {
	if len(w.own.Forms) == 0 || alone(e) {
		return nil
	}
	d, err := dictionary()
	if err != nil {
		return fmt.Errorf("read the recogniser's dictionary: %w", err)
	}
	if err := grammar.LintOwn(w.own, d); err != nil {
		return fmt.Errorf("the shop's words cannot be heard:\n%w", err)
	}
	return nil
}
