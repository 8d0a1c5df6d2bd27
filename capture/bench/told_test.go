package bench_test

import (
	"strings"
	"testing"

	"readback/capture/bench"
	"readback/parse"
	"readback/rules"
)

// What a note has told of is taken back as a reading is, and nothing that was said before it goes along.
func TestWhatWasToldIsTakenBack(t *testing.T) {
	for _, tt := range []struct{ name, notes, say, told string }{
		{"scratched", "thrust washer scored / scratch that", "Taken back: thrust washer scored.", ""},
		{"denied", "thrust washer scored / no that's wrong", "Taken back: thrust washer scored.", ""},
		{"after a question", "thrust washer scored / what's next / scratch that", "Taken back: thrust washer scored.", ""},
		{"two of one note", "thrust washer scored and shaft bent / scratch that", "Taken back: thrust washer scored and shaft bent.", ""},
		{"put right", "impeller worn / no, badly cracked", "Taken back: impeller worn. Noted: impeller cracked.", "impeller cracked"},
		{"put right by a word of its own", "impeller worn / correction shaft bent", "Taken back: impeller worn. Noted: shaft bent.", "shaft bent"},
		{"more found", "impeller worn / no cracks", "Noted: not cracked.", "impeller worn"},
		{"the reading before stands", "collar nut one forty eight newton metres / sleeve bent / scratch that", "Taken back: shaft sleeve bent.", ""},
		{"the mark before stands", "seat clean / shaft scored / scratch that", "Taken back: shaft scored.", ""},
		{"and once more", "seat clean / shaft scored / scratch that / scratch that", "Scratch that: which one? Say it again with one place.", ""},
		{"with the mark of its note", "seat clean, shaft scored / scratch that", "Taken back: seat clean. Taken back: shaft scored.", ""},
		{"another note between", "thrust washer scored / order the rings / scratch that", "", "thrust washer scored"},
		{"named", "collar nut one forty eight newton metres / sleeve bent / scratch collar nut one", "Taken back: collar nut one.", "shaft sleeve bent"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			shop := demo(t, nil)
			job, err := rules.NewJob(shop.spec, shop.options)
			if err != nil {
				t.Fatal(err)
			}
			b := bench.New(job, parse.NewVocabulary(job.Words()))
			var told []parse.Condition
			var said string
			for note := range strings.SplitSeq(tt.notes, " / ") {
				u, a := b.Say(note)
				for range u.Untold {
					told = told[:len(told)-1]
				}
				for _, c := range u.Symptoms {
					if !c.Absent {
						told = append(told, c)
					}
				}
				said = a.Say
			}
			var left []string
			for _, c := range told {
				left = append(left, c.Part+" "+c.Condition)
			}
			if strings.Join(left, ", ") != tt.told || tt.say != "" && said != tt.say {
				t.Errorf("answered %q, told are %q", said, left)
			}
		})
	}
}
