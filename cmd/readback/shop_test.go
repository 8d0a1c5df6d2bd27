package main

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"regexp"
	"strings"
	"syscall"
	"time"

	"github.com/oklog/ulid/v2"
	"github.com/rogpeppe/go-internal/testscript"

	"readback/capture/floor"
	"readback/capture/wire"
	"readback/capture/ws"
)

// shopCommands are what scripts do to a server beside the command itself:
//
//	server FOLDER      start one; $URL is its address, $ADDRESS the same without http://
//	stop               end it, which must be a good end
//	note JOB TEXT      say a note at a bench; the job is opened if it is not there
//	get PATH FILE      ask the server
//	key                $KEY is the fingerprint that the last command showed
//	edit FILE NEW A B  write another file, with B where A was
//	sql FILE WORDS     do what somebody who has the disk could do to a file of SQLite
//	status N COMMAND   run a command that must end with this status
var shopCommands = map[string]func(*testscript.TestScript, bool, []string){
	"server": serverCommand, "stop": stopCommand, "note": noteCommand, "get": getCommand, "key": keyOfCommand, "edit": editCommand, "sql": sqlCommand, "status": statusCommand,
}

// shopKey is where a script keeps its server.
type shopKey struct{}

// shopValue holds a script's server.
type shopValue struct{ *process }

func serverOf(ts *testscript.TestScript) *shopValue {
	v, ok := ts.Value(shopKey{}).(*shopValue)
	if !ok {
		ts.Fatalf("the script has no place for a server")
	}
	return v
}

func serverCommand(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: server FOLDER")
	}
	p, err := newProcess(context.Background(), ts.MkAbs(args[0]))
	ts.Check(err)
	ts.Defer(func() { _ = p.end(os.Kill) })
	if !p.serves() {
		ts.Fatalf("the server ended: %v: %s", p.end(nil), &p.log)
	}
	ts.Setenv("URL", p.address)
	ts.Setenv("ADDRESS", strings.TrimPrefix(p.address, "http://"))
	serverOf(ts).process = p
}

func stopCommand(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 0 {
		ts.Fatalf("usage: stop")
	}
	p := serverOf(ts)
	if err := p.end(syscall.SIGTERM); err != nil {
		ts.Fatalf("the server ended with %v: %s", err, &p.log)
	}
}

func noteCommand(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: note JOB TEXT")
	}
	ctx, p := context.Background(), serverOf(ts)
	ts.Check(post(ctx, p.address+"/api/jobs", wire.OpenJob{ID: args[0], Spec: "mr5"}))
	bench, err := ws.Dial(ctx, p.address, args[0], floor.Speaker{Bench: "bench 2", Person: "Ines"})
	ts.Check(err)
	id, err := ulid.New(ulid.Timestamp(time.Now()), ulid.DefaultEntropy())
	ts.Check(err)
	_, err = bench.Say(ctx, wire.Note{ID: id.String(), Text: strings.Join(args[1:], " ")})
	ts.Check(errors.Join(err, bench.Close()))
}

func getCommand(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: get PATH FILE")
	}
	text, err := (&source{server: serverOf(ts).address}).fetch(context.Background(), args[0])
	ts.Check(errors.Join(err, os.WriteFile(ts.MkAbs(args[1]), text, 0o600)))
}

var fingerprintShown = regexp.MustCompile(`(?m)^key +([0-9a-f]{64})$`)

func keyOfCommand(ts *testscript.TestScript, neg bool, args []string) {
	shown := fingerprintShown.FindStringSubmatch(ts.ReadFile("stdout"))
	if neg || len(args) != 0 || shown == nil {
		ts.Fatalf("usage: key, behind `key show`")
	}
	ts.Setenv("KEY", shown[1])
}

func editCommand(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 4 {
		ts.Fatalf("usage: edit FILE NEW A B")
	}
	text := ts.ReadFile(args[0])
	if !strings.Contains(text, args[2]) {
		ts.Fatalf("%s has no %s: %s", args[0], args[2], text)
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), []byte(strings.ReplaceAll(text, args[2], args[3])), 0o600))
}

func sqlCommand(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: sql FILE WORDS")
	}
	db, err := sql.Open("sqlite", ts.MkAbs(args[0]))
	ts.Check(err)
	_, err = db.ExecContext(context.Background(), args[1])
	ts.Check(errors.Join(err, db.Close()))
}

func statusCommand(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: status N COMMAND")
	}
	err := ts.Exec(args[1], args[2:]...)
	got := 0
	if end, ok := errors.AsType[*exec.ExitError](err); ok {
		got = end.ExitCode()
	} else {
		ts.Check(err)
	}
	if fmt.Sprint(got) != args[0] {
		ts.Fatalf("it ended with %d, want %s", got, args[0])
	}
}
