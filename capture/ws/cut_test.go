package ws_test

import (
	"testing"

	"github.com/gorilla/websocket"

	hearing "readback/capture/hear"
	"readback/capture/hear/heartest"
	"readback/capture/journal/journaltest"
	"readback/capture/listen"
)

// A note that the page has cut off, or that has grown too long while somebody spoke, is asked about and not lost.
func TestANoteThatIsCutOff(t *testing.T) {
	prepare, _ := speaking(t, &heartest.Engine{})
	s := openShop(t, prepare)
	c := s.connect(t, "bench 1")
	asked := func(n int) {
		t.Helper()
		if m, _ := outcome(t, c, n); m.Type != "heard" || m.Verdict != "asked" || m.Say != "Did you say build spacer sixty four millimetres? Yes or no." {
			t.Fatalf("%+v", m)
		}
	}
	confirmed := func(n int) {
		t.Helper()
		speak(t, c, n, "yes", "")
		if m, _ := outcome(t, c, n); m.Type != "answer" || m.Text != "build spacer sixty four millimetres" {
			t.Errorf("after a yes: %+v", m)
		}
	}
	begin(t, c, 1, "")
	letters(t, c, "build spacer sixty four millimetres")
	endCut(t, c, 1)
	asked(1)
	confirmed(2)
	begin(t, c, 3, "")
	said := heartest.Say("build spacer sixty four millimetres")
	said = said[:len(said)-hearing.Rate]
	samples(t, c, append(make([]int16, listen.MaxNote-len(said)), said...)) // up to the last moment
	asked(3)
	confirmed(4)
}

// So is one that waited for its recogniser.
func TestANoteThatIsCutOffWhileItWaits(t *testing.T) {
	for _, long := range []bool{false, true} {
		prepare, _ := speaking(t, &heartest.Engine{Ears: 1})
		s := openShop(t, prepare)
		one, two := s.connect(t, "bench 1"), s.connect(t, "bench 2")
		hold(t, one, 1)
		begin(t, two, 2, "")
		queued(t, two, 2)
		letters(t, two, "seat clean")
		if long {
			for range 12 { // what comes then is not kept
				letters(t, two, "")
			}
			end(t, two, 2)
		} else {
			endCut(t, two, 2)
		}
		typed(t, two, 3) // all that was said is there
		end(t, one, 1)
		if m, _ := outcome(t, two, 2); m.Type != "heard" || m.Verdict != "asked" {
			t.Errorf("longer than a note %t: %+v", long, m)
		}
	}
}

// endCut ends a note in the middle.
func endCut(t *testing.T, c *websocket.Conn, n int) {
	t.Helper()
	if err := c.WriteJSON(map[string]any{"type": "sound-end", "id": journaltest.ID(n), "cut": true}); err != nil {
		t.Fatal(err)
	}
}
