package parse

import (
	"regexp"
	"strings"
)

// HandBench is what stands before a name to give the bench to that person. With the name it is a whole
// note, and is none for the record: the page that has the bench does it.
const HandBench = "hand the bench to"

// handsBench is the same as web/ui/assets/person.js has.
var handsBench = regexp.MustCompile(`(?i)^[ .,;:!?]*hand +the +bench +to +([^ .,;:!?].*?)[ .,;:!?]*$`)

// HandsBench returns the name in such a note as it was written, whatever capitals and stops are around it.
func HandsBench(text string) (name string, ok bool) {
	m := handsBench.FindStringSubmatch(strings.Join(strings.Fields(text), " "))
	if m == nil {
		return "", false
	}
	return m[1], true
}
