package seal

import (
	"fmt"
	"strings"

	"readback/capture/journal"
)

// toldShown is how many entries about the record itself are told one by one.
const toldShown = 50

// toldBy says what an entry tells of the record itself, "" for nothing: what was purged, and how the clock jumped.
func toldBy(text []byte) string {
	var e struct {
		Kind  journal.Kind    `json:"kind"`
		At    journal.Instant `json:"at"`
		Text  string          `json:"text"`
		Purge *journal.Purge  `json:"purge"`
	}
	if lenient(text, &e) != nil {
		return ""
	}
	switch {
	case e.Kind == journal.Clock:
		return fmt.Sprintf("%.300s", e.Text)
	case e.Kind == journal.Purged && e.Purge != nil:
		seqs := make([]string, len(e.Purge.Items))
		for i, it := range e.Purge.Items {
			seqs[i] = fmt.Sprint(it.Seq)
		}
		return fmt.Sprintf("the sounds or photos of entries %s were purged at %s (%.200s); their hashes stay in those entries", strings.Join(seqs, ", "), clock(e.At), e.Purge.Rule)
	}
	return ""
}

// tell adds what the entries tell of the record itself.
func (b *bundle) tell(r *Report) {
	more := 0
	for _, e := range b.entries {
		switch {
		case e.told == "":
		case len(r.Told) < toldShown:
			r.Told = append(r.Told, fmt.Sprintf("entry %d: %s", e.seq, e.told))
		default:
			more++
		}
	}
	if more > 0 {
		r.Told = append(r.Told, fmt.Sprintf("%d more such entries", more))
	}
}
