package parse_test

import (
	"testing"

	"readback/parse"
)

func TestHandsBench(t *testing.T) {
	for text, want := range map[string]string{
		"hand the bench to Martin Hale":       "Martin Hale",
		" Hand the bench  to martin hale. ":   "martin hale",
		"HAND THE BENCH TO T. Okafor!":        "T. Okafor",
		"hand the bench to O\u2019Brien-Lunt": "O\u2019Brien-Lunt",
		"hand the bench to Ω":                 "Ω",
		"hand the bench to":                   "",
		"hand the bench to .":                 "",
		"hand me the bench":                   "",
		"hand the bench tomas":                "",
		"note hand the bench to Martin":       "",
		"handing over to Martin Hale":         "",
		"":                                    "",
	} {
		if name, ok := parse.HandsBench(text); name != want || ok != (want != "") {
			t.Errorf("%q hands the bench to %q, %t; want %q", text, name, ok, want)
		}
	}
}
