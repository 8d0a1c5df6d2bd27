package service

import (
	"errors"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"
)

func TestPlain(t *testing.T) {
	for in, want := range map[string]string{
		"Collar nut, stage 3: 48 N.m.":      "collar nut stage 3 48 N.m",
		"Forty-eight newton-metres":         "forty eight newton metres",
		"YES.":                              "yes",
		"Insulation 500 MOhm, 20 mA":        "insulation 500 MOhm 20 mA",
		"End play up 0.85 mm!":              "end play up 0.85 mm",
		"-3 °C, 3/4 turn":                   "-3 °C 3/4 turn",
		"[cough] No, (laughter) that's it.": "no that's it",
		"That’s “right”…":                   "that's right",
		"(somebody speaks in the back) 48":  "48",
		"Note: it rattles when cold":        "note it rattles when cold",
		"1,200 rpm":                         "1,200 rpm",
		"Ünder É":                           "ünder é",
		"... - — !":                         "",
		"":                                  "",
	} {
		if got := Plain(in); got != want {
			t.Errorf("Plain(%q) = %q, want %q", in, got, want)
		}
	}
}

func FuzzReadAnswer(f *testing.F) {
	for _, s := range []string{
		`{"text":"collar nut"}`, ` {"text" : "a\nb\u0000c" , "x":[1,{}]} `, `{"text":"a"}{"text":"b"}`, `{"text":null}`, `{"text":["a"]}`,
		`{}`, `[]`, ``, `null`, `{"text":"\ud800"}`, `{"text":"a","text":"b"}`, `{"text":"` + strings.Repeat("x", 2001) + `"}`, "{\"text\":\"\xff\"}", `{"text":"a",}`, `{"TEXT":"a"}`,
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		text, err := readAnswer(data)
		if err != nil {
			if text != "" || !errors.Is(err, ErrAnswer) {
				t.Fatalf("%q beside error %v", text, err)
			}
			return
		}
		if !strings.Contains(string(data), "text") && !strings.Contains(string(data), `\u00`) {
			t.Fatalf("%q gives a text: %q", data, text)
		}
		for _, s := range []string{text, Plain(text)} {
			if !utf8.ValidString(s) || utf8.RuneCountInString(s) > mostText || strings.ContainsFunc(s, unicode.IsControl) ||
				strings.Join(strings.Fields(s), " ") != s {
				t.Fatalf("%q gives %q", data, s)
			}
		}
		if once := Plain(text); len(once) > 2*len(text)+2 {
			t.Fatalf("Plain(%q) = %q", text, once)
		}
	})
}
