package sphinx

import (
	"fmt"
	"sync"

	"github.com/ebitengine/purego"

	"readback/capture/hear"
)

// library holds the functions of the two shared libraries. Pointers to their structs are
// uintptr: nothing here looks inside.
type library struct {
	logTo       func(file uintptr)
	parseConfig func(inout, table uintptr, argc int32, argv **byte, strict int32) uintptr
	freeConfig  func(config uintptr) int32

	options   func() uintptr
	start     func(config uintptr) uintptr
	free      func(ps uintptr) int32
	setSearch func(ps uintptr, name string) int32
	setNet    func(ps uintptr, name string, net uintptr) int32
	logMath   func(ps uintptr) uintptr
	readNet   func(path string, logMath uintptr, weight float32) uintptr
	freeNet   func(net uintptr) int32
	stream    func(ps uintptr) int32
	begin     func(ps uintptr) int32
	process   func(ps uintptr, pcm *int16, n uintptr, noSearch, whole int32) int32
	ownFront  func(ps uintptr) uintptr

	processCepstra func(ps uintptr, rows **float32, n, noSearch, whole int32) int32
	newFront       func(config uintptr) uintptr
	freeFront      func(front uintptr) int32
	frontStream    func(front uintptr)
	frontBegin     func(front uintptr) int32
	frontAdd       func(front uintptr, pcm **int16, n *uintptr, rows **float32, frames, index *int32) int32
	frontEnd       func(front uintptr, row *float32, n *int32) int32
	cepstrumSize   func(front uintptr) int32

	end      func(ps uintptr) int32
	best     func(ps uintptr, score *int32) string
	frames   func(ps uintptr) int32
	segments func(ps uintptr) uintptr
	next     func(seg uintptr) uintptr
	word     func(seg uintptr) string
	place    func(seg uintptr, from, to *int32)
	scores   func(seg uintptr, acoustic, language, back *int32) int32
}

// load opens the libraries, once for the process.
var load = sync.OnceValues(func() (*library, error) {
	var l library
	err := bind("libpocketsphinx.so.3", map[string]any{
		"ps_args":         &l.options,
		"ps_init":         &l.start,
		"ps_free":         &l.free,
		"ps_set_search":   &l.setSearch,
		"ps_set_fsg":      &l.setNet,
		"ps_get_logmath":  &l.logMath,
		"ps_start_stream": &l.stream,
		"ps_start_utt":    &l.begin,
		"ps_process_cep":  &l.processCepstra,
		"ps_get_fe":       &l.ownFront,
		"ps_process_raw":  &l.process,
		"ps_end_utt":      &l.end,
		"ps_get_hyp":      &l.best,
		"ps_get_n_frames": &l.frames,
		"ps_seg_iter":     &l.segments,
		"ps_seg_next":     &l.next,
		"ps_seg_word":     &l.word,
		"ps_seg_frames":   &l.place,
		"ps_seg_prob":     &l.scores,
	})
	if err != nil {
		return nil, err
	}
	err = bind("libsphinxbase.so.3", map[string]any{
		"fe_init_auto_r":     &l.newFront,
		"fe_free":            &l.freeFront,
		"fe_start_stream":    &l.frontStream,
		"fe_start_utt":       &l.frontBegin,
		"fe_process_frames":  &l.frontAdd,
		"fe_end_utt":         &l.frontEnd,
		"fe_get_output_size": &l.cepstrumSize,
		"err_set_logfp":      &l.logTo,
		"cmd_ln_parse_r":     &l.parseConfig,
		"cmd_ln_free_r":      &l.freeConfig,
		"fsg_model_readfile": &l.readNet,
		"fsg_model_free":     &l.freeNet,
	})
	if err != nil {
		return nil, err
	}
	return &l, nil
})

// bind opens a library and points each function at its symbol.
func bind(name string, functions map[string]any) error {
	handle, err := purego.Dlopen(name, purego.RTLD_NOW|purego.RTLD_GLOBAL)
	if err != nil {
		return fmt.Errorf("%w: %w: install Debian's package libpocketsphinx3", hear.ErrMissing, err)
	}
	for symbol, function := range functions {
		at, err := purego.Dlsym(handle, symbol)
		if err != nil {
			return fmt.Errorf("%w: %s is another version than this program knows (%w): install Debian's package libpocketsphinx3", hear.ErrMissing, name, err)
		}
		purego.RegisterFunc(function, at)
	}
	return nil
}
