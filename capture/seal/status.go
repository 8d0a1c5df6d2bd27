package seal

import (
	"fmt"
	"slices"
)

// Status says how the seal is.
type Status struct {
	Fingerprint Hash       `json:"fingerprint"`        // of the key that signs
	Log         Hash       `json:"log"`                // names the log
	Newest      SignedHead `json:"newest"`             // the zero SignedHead before the first
	Trouble     string     `json:"trouble,omitempty"`  // why nothing is sealed any more
	Behind      string     `json:"behind,omitempty"`   // why nothing is sealed for now; it is tried again
	Unsealed    []string   `json:"unsealed,omitempty"` // jobs that cannot be sealed to their end
	Witness     string     `json:"witness,omitempty"`  // why the witness gets no heads
}

// Say tells people what is wrong with the seal and what to do; nothing where all is well. Of jobs that cannot be
// sealed it names the one with that id, or all of them for "".
func (s Status) Say(job string) []string {
	var out []string
	switch {
	case s.Trouble != "":
		out = append(out, fmt.Sprintf("The record is not sealed any more (%s). Notes are still taken and kept. Let whoever runs the server run readback doctor on the data folder; what it says names the way on.", s.Trouble))
	case s.Behind != "":
		out = append(out, fmt.Sprintf("What is said is not being sealed for now (%s). Notes are taken and kept, and sealing is tried again by itself. If this stays, let whoever runs the server look at its disk and its log.", s.Behind))
	}
	for _, id := range s.Unsealed {
		if job == "" || job == id {
			out = append(out, fmt.Sprintf("Job %s is sealed up to an entry that cannot be sealed, and no further. Its notes are kept, but what is exported of it proves nothing behind that entry. Let whoever runs the server run readback doctor on the data folder, which names the entry.", id))
		}
	}
	if s.Witness != "" {
		out = append(out, fmt.Sprintf("The witness gets no heads (%s). The record is sealed all the same; without a witness nobody sees if it is put back from an older copy. Look whether its disk is there and has room.", s.Witness))
	}
	return out
}

// Status says how the seal is.
func (s *Sealer) Status() Status {
	s.mu.Lock()
	defer s.mu.Unlock()
	out := Status{Log: s.log, Newest: s.head, Unsealed: slices.Sorted(slices.Values(s.unsealed))}
	if len(s.chain) > 0 {
		out.Fingerprint = s.chain[len(s.chain)-1].Entry.Key.Fingerprint()
	}
	if s.trouble != nil {
		out.Trouble = s.trouble.Error()
	}
	if s.behind != nil {
		out.Behind = s.behind.Error()
	}
	if s.witness != nil {
		out.Witness = s.witness.Error()
	}
	return out
}

// setBehind notes why sealing fell behind, nil when it goes on.
func (s *Sealer) setBehind(err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.behind = err
}
