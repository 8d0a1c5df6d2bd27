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
		Purge *struct {
			Rule  string `json:"rule"`
			Items []struct {
				Seq int64 `json:"seq"`
			} `json:"items"`
		} `json:"purge"`
	}
	if lenient(text, &e) != nil {
		return ""
	}
	switch {
	case e.Kind == journal.Clock:
		return plain(cut(e.Text, wordsLong))
	case e.Kind == journal.Purged && e.Purge != nil:
		var seqs []string
		for i, it := range e.Purge.Items {
			if i == faultsShown {
				seqs = append(seqs, fmt.Sprintf("%d more", len(e.Purge.Items)-i))
				break
			}
			seqs = append(seqs, fmt.Sprint(it.Seq))
		}
		return fmt.Sprintf("the sounds or photos of entries %s were purged at %s (%s); their hashes stay in those entries", strings.Join(seqs, ", "), clock(e.At), plain(cut(e.Purge.Rule, wordsLong)))
	}
	return ""
}

// hear keeps what an entry tells of the record itself, of the first such entries.
func (b *bundle) hear(e *entry, text []byte) {
	switch told := toldBy(text); {
	case told == "":
	case len(b.told) < toldShown:
		b.told = append(b.told, fmt.Sprintf("entry %d: %s", e.seq, told))
	default:
		b.untold++
	}
}

// tell adds what the entries tell of the record itself.
func (b *bundle) tell(r *Report) {
	r.Told = append(r.Told, b.told...)
	if b.untold > 0 {
		r.Told = append(r.Told, fmt.Sprintf("%d more such entries", b.untold))
	}
}
