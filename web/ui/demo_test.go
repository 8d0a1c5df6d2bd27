package ui_test

import (
	"testing"
)

// TestDemoJob plays the demo's job into the field of a live sheet.
func TestDemoJob(t *testing.T) {
	options, notes := demoNotes(t)
	for _, screen := range screens {
		t.Run(screen.name, func(t *testing.T) {
			s := newShop(t)
			s.openJob("MW-1041", options)
			p := newDevice(t, screen, "light").open(s.address + "/jobs/MW-1041")
			p.await(drawn)
			p.shoot("sheet-00-empty")
			for i, note := range notes {
				p.say(note)
				p.await(`document.querySelector("#notes > li .text")?.textContent === ` + quote(note) + ` && document.querySelector("#notes > li").dataset.word !== "kept" && document.getElementById("slab").dataset.id === document.querySelector("#notes > li").dataset.id`)
				word := eval[string](p, `document.getElementById("slab").dataset.word`)
				t.Log(i, note, word)
				p.shoot("demo-" + two(i) + "-" + word)
			}
		})
	}
}
func quote(s string) string { return "\"" + s + "\"" }
func two(i int) string      { return string(rune('0'+i/10)) + string(rune('0'+i%10)) }
