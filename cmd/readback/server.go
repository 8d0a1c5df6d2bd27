package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"runtime/debug"
	"syscall"
	"time"

	"github.com/rs/zerolog"
	"golang.org/x/sync/errgroup"

	"readback/capture/backup"
	"readback/capture/floor"
	"readback/capture/journal"
	"readback/capture/journal/sqlite"
	"readback/capture/query"
	"readback/capture/seal"
	"readback/capture/voice"
	"readback/capture/wall"
	"readback/capture/ws"
	"readback/search"
	"readback/search/saved"
	"readback/testdata"
	"readback/web"
	"readback/web/counts"
	"readback/web/guide"
	"readback/web/lead"
	"readback/web/trend"
	"readback/web/ui"
)

// stopWithin is how long requests may take to end when the server stops.
const stopWithin = 5 * time.Second

// speechFolder is where spoken sentences are kept in the data folder, and speechBytes how
// much of them: some hours.
const (
	speechFolder = "speech"
	speechBytes  = 256 << 20
)

// indexFolder is where the search index lies in the data folder.
const indexFolder = "search"

// searchesFile is where searches that were kept by name lie in the data folder.
const searchesFile = "searches.json"

// setup is what a server is started with.
type setup struct {
	data   string // folder of the journal and the index
	listen string // host:port, on loopback
	specs  string // folder of specs, "" for the demo's
	shop   string // file of the register, "demo" for the demo's, "" for none
	speak  string // name of the program that speaks, "none" for none, "" for what is found
	stt    string // the engine that hears, "none" for none, "" for what is installed
	lead   string // the lead-in of open microphones, "" for none
	words  string // file of the shop's own words, "" for none
	keep   keepFlags
	seal   sealFlags
	log    zerolog.Logger
	past   func(context.Context, journal.Store) error // fills the new journal of a demo; nil: nothing does
}

// serve runs a server until ctx is done. ready gets the address that it serves at, once it
// does. A stop is no error.
func serve(ctx context.Context, s setup, ready func(address string) error) (err error) {
	if err := web.CheckListen(s.listen); err != nil {
		return hint(err, "listen on this machine alone: --listen 127.0.0.1:7425")
	}
	listener, err := listenOn(ctx, s.listen) // first: an address that is taken leaves no folder behind
	if err != nil {
		return err
	}
	defer func() { _ = listener.Close() }() // a server that has served has closed it
	var specs floor.Specs
	var register floor.Register
	var reading errgroup.Group // a bench waits for a server that starts: read and open at the same time
	reading.Go(func() (err error) {
		if specs, err = loadSpecs(s.specs); err == nil && s.shop != "" {
			register, err = loadRegister(s.shop)
		}
		return err
	})
	words, err := loadWords(s.words)
	if err != nil {
		return errors.Join(err, reading.Wait())
	}
	store, err := openStore(ctx, s.data)
	if err = errors.Join(reading.Wait(), err); err != nil {
		if store != nil {
			err = errors.Join(err, store.Close())
		}
		return err
	}
	defer func() { err = errors.Join(err, store.Close()) }()
	var filling errgroup.Group // beside what else is opened, and before the first job is
	if s.past != nil {
		filling.Go(func() error { return s.past(ctx, store) })
	}
	defer func() { _ = filling.Wait() }() // before the store is closed, whatever else fails
	index, err := openIndex(s.data)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, index.Close()) }()
	index.Use(words.own.Groups)
	speaker, err := openVoice(ctx, s)
	if err != nil {
		return err
	}
	kept, err := openKept(s.data)
	if err != nil {
		return err
	}
	ears, err := openEars(ctx, s, specs, words, kept)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, ears.close()) }()
	if err := filling.Wait(); err != nil {
		return err
	}
	return work(ctx, s, specs, words, register, store, index, speaker, ears, kept, listener, ready)
}

// work runs the writer, the search index and the HTTP server. They end in the order in
// which they need each other: first the benches, then the writer, which keeps what they
// had said.
func work(ctx context.Context, s setup, specs floor.Specs, words shopWords, register floor.Register, store *sqlite.Store, index *search.Index, speaker *voice.Speaker, ears *ears, kept *keptFiles, listener net.Listener, ready func(string) error) error {
	writer := journal.NewWriter(store)
	sealer, err := s.seal.open(ctx, s, store, writer.Notice)
	if err != nil {
		return errors.Join(err, listener.Close())
	}
	sealing, sealed := inBackground(ctx, sealer.Run)
	background, stop := context.WithCancel(context.WithoutCancel(ctx))
	defer stop()
	var behind errgroup.Group
	behind.Go(func() error { return stopped(writer.Run(background)) })
	follower := search.Follower{Source: store, Index: index, Notice: writer.Notice, Log: s.log}
	behind.Go(func() error { return stopped(follower.Run(background)) })
	behind.Go(func() error { warm(background, speaker, specs, s.log); return nil })

	shop := floor.New(floor.Config{Reader: store, Writer: writer, Specs: specs, Shop: register, Trade: words.trade, Program: version(), Now: time.Now, Log: s.log})
	purger := kept.purger(store, shop.Record, s.log)
	behind.Go(func() error { return stopped(purger.Run(background, s.keep.rule())) })
	behind.Go(func() error { return stopped(shop.ClockWatch(floor.SystemClocks()).Run(background)) })
	walls := wall.New(wall.Config{Source: store, Benches: shop, Notice: writer.Notice, Now: time.Now, Log: s.log})
	behind.Go(func() error { return stopped(walls.Run(background)) })
	err = front(ctx, s, shop, store, index, speaker, ears, kept, walls, sealer, listener, ready)
	stop()
	err = errors.Join(err, behind.Wait())
	sealing() // when all that was said is kept, so that all of it is sealed
	return errors.Join(err, stopped(<-sealed), sealer.Close())
}

// front serves HTTP until ctx is done, then says goodbye to every bench.
func front(ctx context.Context, s setup, shop *floor.Floor, store *sqlite.Store, index *search.Index, speaker *voice.Speaker, ears *ears, kept *keptFiles, walls *wall.Hub, sealer *seal.Sealer, listener net.Listener, ready func(string) error) error {
	pages, err := ui.Handler(knows(shop))
	if err != nil {
		return err
	}
	help, err := guide.Handler()
	if err != nil {
		return errors.Join(err, listener.Close())
	}
	asked := query.New(store, shop, shop.Trade)
	charts, err := trend.Handler(asked, s.log)
	if err != nil {
		return errors.Join(err, listener.Close())
	}
	jobs, err1 := lead.Handler(shop, func(job string) []string { return sealer.Status().Say(job) }, s.log)
	compare, err2 := lead.Comparison(shop, s.log)
	common, err3 := counts.Handler(asked, shop.Specs.Names, s.log)
	if err := errors.Join(err1, err2, err3); err != nil {
		return errors.Join(err, listener.Close())
	}
	benches := ws.New(shop, s.log, web.WriteProblem)
	benches.Hear(ears.hearing)
	searches, err := saved.Open(filepath.Join(s.data, searchesFile))
	if err != nil {
		return errors.Join(hint(err, "mend that file, or move it away to begin with none"), listener.Close())
	}
	handler := web.New(web.Config{
		Saved: searches,
		Floor: shop, Journal: store, Index: index, Voice: speaker, Socket: benches, Wall: benches.Wall(walls), Guide: help, Drift: charts, Counts: common, Lead: jobs, Compare: compare, Pages: pages, Log: s.log, Questions: asked,
		Hearing: ears.tell, Names: ears.names(), Again: ears.again(shop), Sounds: kept.sounds.Files, Photos: kept.photos, Seal: sealer,
	})
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	server := web.HTTP(ctx, handler)
	var group errgroup.Group
	group.Go(func() error {
		defer stop()
		if err := server.Serve(listener); !errors.Is(err, http.ErrServerClosed) {
			return fmt.Errorf("serve: %w", err)
		}
		return nil
	})
	group.Go(func() error {
		<-ctx.Done()
		end, cancel := context.WithTimeout(context.WithoutCancel(ctx), stopWithin)
		defer cancel()
		err := server.Shutdown(end)
		benches.Wait()
		return err
	})
	address := "http://" + listener.Addr().String()
	s.log.Info().Str("address", address).Msg("server started")
	if err := ready(address); err != nil {
		stop()
		return errors.Join(err, group.Wait())
	}
	err = group.Wait()
	s.log.Info().Msg("server stopped")
	return err
}

// knows tells the pages which jobs there are.
func knows(shop *floor.Floor) ui.Known {
	return func(ctx context.Context, job string) (bool, error) {
		_, err := shop.State(ctx, job)
		if errors.Is(err, journal.ErrNotFound) {
			return false, nil
		}
		return err == nil, err
	}
}

// inBackground runs work until its first result is called; the second then has what it ended with.
func inBackground(ctx context.Context, work func(context.Context) error) (stop func(), ended <-chan error) {
	ctx, stop = context.WithCancel(context.WithoutCancel(ctx))
	done := make(chan error, 1)
	go func() { done <- work(ctx) }()
	return stop, done
}

// stopped takes the end of a context for a good end.
func stopped(err error) error {
	if errors.Is(err, context.Canceled) {
		return nil
	}
	return err
}

func loadRegister(name string) (floor.Register, error) {
	file, src, err := readShop(name)
	if err != nil {
		return floor.Register{}, err
	}
	return floor.ReadRegister(file, src)
}

func loadSpecs(dir string) (floor.Specs, error) {
	if dir == "" {
		files, err := fs.Sub(testdata.Files, "specs")
		if err != nil {
			return floor.Specs{}, fmt.Errorf("specs: %w", err)
		}
		return floor.LoadSpecs(files)
	}
	if info, err := os.Stat(dir); err != nil || !info.IsDir() {
		return floor.Specs{}, hint(fmt.Errorf("--specs %s is not a folder", dir), "give a folder of .yaml files, or leave --specs out for the demo's")
	}
	specs, err := floor.LoadSpecs(os.DirFS(dir))
	if err != nil {
		return floor.Specs{}, hint(fmt.Errorf("specs in %s: %w", dir, err), "mend the specs; `readback spec lint FILE` checks one")
	}
	return specs, nil
}

func openStore(ctx context.Context, dir string) (*sqlite.Store, error) {
	if _, err := os.Lstat(filepath.Join(dir, backup.Unfinished)); err == nil {
		return nil, hint(fmt.Errorf("a restore into %s was cut short", dir), "remove that folder, and run `readback restore` again")
	}
	store, err := sqlite.Open(ctx, dir)
	switch {
	case errors.Is(err, journal.ErrInUse):
		return nil, hint(err, "each server needs a folder of its own: --data DIR")
	case errors.Is(err, journal.ErrReadOnly):
		return nil, hint(err, "make the folder writable for this user, or name another with --data")
	case errors.Is(err, journal.ErrFull):
		return nil, hint(err, "make room on that disk, or name a folder on another with --data")
	}
	return store, err
}

// openIndex opens the search index. It is a cache: one that the folder has no room for is
// kept in memory.
func openIndex(data string) (*search.Index, error) {
	index, err := search.Open(filepath.Join(data, indexFolder))
	if errors.Is(err, search.ErrInUse) {
		return nil, hint(err, "another program reads the index of %s; wait for it or stop it", data)
	}
	return index, err
}

func listenOn(ctx context.Context, address string) (net.Listener, error) {
	var config net.ListenConfig
	listener, err := config.Listen(ctx, "tcp", address)
	switch {
	case errors.Is(err, syscall.EADDRINUSE):
		return nil, hint(fmt.Errorf("another program listens on %s", address), "stop it, or choose another port with --listen; port 0 takes any free one")
	case errors.Is(err, syscall.EACCES):
		return nil, hint(fmt.Errorf("this user may not listen on %s", address), "choose a port above 1023 with --listen")
	case err != nil:
		return nil, hint(fmt.Errorf("listen on %s: %w", address, err), "give --listen as host:port, such as 127.0.0.1:7425")
	}
	return listener, nil
}

// version names the program that understood a note.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	out := info.Main.Version
	if out == "" || out == "(devel)" {
		out = "devel"
		for _, s := range info.Settings {
			if s.Key == "vcs.revision" {
				out += "-" + s.Value[:min(12, len(s.Value))]
			}
		}
	}
	return out
}
