package main

import (
	"context"
	"errors"
	"os"
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
var shopCommands = map[string]func(*testscript.TestScript, bool, []string){
	"server": serverCommand, "stop": stopCommand, "note": noteCommand,
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
