package parse_test

import (
	"testing"

	"readback/parse"
)

func TestDisposition(t *testing.T) {
	for text, want := range map[string]string{
		"use the part as is":                "use as is",
		" Use it, as is. ":                  "use as is",
		"REWORK THE PART!":                  "rework",
		"scrap the part":                    "scrap",
		"scrap that part":                   "",
		"scratch that":                      "",
		"scrap":                             "",
		"use the part as is on stage three": "",
		"note use the part as is":           "",
		"do not use the part as is":         "",
		"":                                  "",
	} {
		if is, ok := parse.Disposition(text); is != want || ok != (want != "") {
			t.Errorf("%q disposes %q, %t; want %q", text, is, ok, want)
		}
	}
}
