package offline

import (
	"io"

	"readback/capture/hear"
)

// Pid is the worker's of an ear.
func Pid(e hear.Ear) int {
	return e.(*ear).process.cmd.Process.Pid
}

// Worn is how many grammars the worker of an ear has had.
func Worn(e hear.Ear) int {
	return e.(*ear).process.worn
}

// Misbehave is a worker that answers everything with nothing, and what is asked for in do not at
// all, too short, or as another version would.
func Misbehave(how, do string, in io.Reader, out io.Writer) error {
	r := reply{Version: version}
	if how == "version" {
		r.Version++
	}
	for {
		if err := writeFrame(out, r, nil); err != nil {
			return err
		}
		var asked request
		if _, err := readFrame(in, &asked); err != nil {
			return err
		}
		if asked.Do != do {
			continue
		}
		switch how {
		case "hang":
			select {}
		case "garbage":
			_, err := io.WriteString(out, "INFO: this is no frame at all\n")
			return err
		case "end":
			return nil
		}
	}
}

// Guesser is the worker that guesses, 0 while there is none.
func (e *Engine) Guesser() int {
	e.guessing <- struct{}{}
	defer func() { <-e.guessing }()
	if e.guesser == nil {
		return 0
	}
	return e.guesser.cmd.Process.Pid
}
