package seal

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"github.com/go-json-experiment/json/jsontext"

	"readback/capture/journal"
)

// What a bundle may be, so that no file takes more memory than a small machine has.
const (
	entryMost   = 1_000_000 // entries
	entryLong   = 8 << 20   // bytes of an entry
	valueMost   = 64 << 20  // bytes of the seal, of all other members together, and of a part of a file
	jobLong     = 1000      // bytes of a job's id
	wordsLong   = 300       // bytes of what is kept of text that an entry tells
	faultsShown = 20        // faults that are told one by one
)

// ErrUnreadable is of a file that is no bundle, or is torn, or that a newer program has made.
var ErrUnreadable = errors.New("it cannot be read as a bundle")

// Expect is what an auditor has from elsewhere. The zero Expect is nothing.
type Expect struct {
	Key  *Hash       // fingerprint of a key of the shop
	Head *SignedHead // a head of the shop log

	Takeout Takeout // gets the sounds and photos inside; nil: they are checked alone
}

// Fault is one thing that does not hold.
type Fault struct {
	Entry int64  // the seq of the entry, or 0
	Wrong string // in words
}

// Report says what was found of a bundle.
type Report struct {
	Job        string
	Entries    int      // that it has
	Faults     []Fault  // none: it holds
	Told       []string // what the record tells of itself: purges, jumps of the clock, an end that was lost
	Checked    []string // what holds, in words
	NotChecked []string // what this bundle does not say, in words
	Beyond     []string // what no bundle says by itself: who signed, what was said since, and whether it was true
	Sealed     bool     // it carries a seal
	Entire     bool     // the shop signed that these are all entries that the job had then
}

// Holds reports whether all that was checked holds.
func (r *Report) Holds() bool { return len(r.Faults) == 0 }

func (r *Report) wrong(entry int64, format string, args ...any) {
	r.Faults = append(r.Faults, Fault{entry, fmt.Sprintf(format, args...)})
}

func (r *Report) checked(format string, args ...any) {
	r.Checked = append(r.Checked, fmt.Sprintf(format, args...))
}

func (r *Report) notChecked(format string, args ...any) {
	r.NotChecked = append(r.NotChecked, fmt.Sprintf(format, args...))
}

func (r *Report) beyond(format string, args ...any) {
	r.Beyond = append(r.Beyond, fmt.Sprintf(format, args...))
}

// Verify checks a bundle: that its entries are what was sealed, all of them up to the head of the job that it
// carries, and that this is in the log whose head is signed. That the job had no more entries then is what the
// [Statement] says; of a bundle without it that is not checked, also with a head from elsewhere. Of a file that is
// no bundle it returns [ErrUnreadable].
func Verify(ctx context.Context, from io.Reader, want Expect) (Report, error) {
	b, err := readBundle(ctx, from, want.Takeout)
	if err != nil {
		return Report{Job: b.job, Entries: len(b.entries)}, err
	}
	r := Report{Job: b.job, Entries: len(b.entries), Sealed: b.seal != nil}
	if b.seal == nil {
		r.wrong(0, "the bundle has no seal: nothing of it can be proven")
		if want.Takeout != nil && b.inside.there {
			r.notChecked("the sounds and photos inside: none was taken out, since nothing proves that the entries which name them are true")
		}
		return r, nil
	}
	sealed := b.checkEntries(&r)
	before := len(r.Faults)
	b.checkHead(&r)
	sealed = sealed && before == len(r.Faults)
	b.checkRest(&r)
	good := b.checkFiles(&r)
	before = len(r.Faults)
	b.checkKey(&r, want.Key)
	b.checkKnown(&r, want.Head)
	if err := b.takeOut(&r, good, sealed && before == len(r.Faults)); err != nil {
		return r, err
	}
	if e := b.seal.Keys.lost(); e != nil && b.seal.Keys.fault() == "" {
		r.Told = append(r.Told, e.words()+". Heads of what was lost do not fit this log; ask what became of the notes")
	}
	r.beyond("that what was said was true, and that the clock of the shop was right")
	return r, nil
}

// entry is what is kept of an entry while a bundle is read.
type entry struct {
	leaf  Hash
	job   string
	seq   int64
	fault string // why it has no leaf
}

// bundle is one that was read.
type bundle struct {
	job     string // of its first entry
	jobs    []string
	entries []entry
	faulty  int      // of the entries, those that have no leaf
	told    []string // what entries tell of the record itself, in words
	untold  int      // more of those
	seal    *Seal
	rest    map[string]json.RawMessage // the other members but the files
	inside  inside
	take    Takeout // nil for none
}

// meter reads from a file, and no more for one value than a value may have.
type meter struct {
	ctx  context.Context //nolint:containedctx // it lives as long as one reading
	from io.Reader
	left int
	most int // that left was set to
}

var errLarge = errors.New("one of its values is too large")

// allow lets the next value have so many bytes.
func (m *meter) allow(bytes int) { m.left, m.most = bytes, bytes }

func tooLarge(bytes int) error {
	return fmt.Errorf("%w: it has more than %d MiB", errLarge, bytes>>20)
}

func (m *meter) Read(p []byte) (int, error) {
	if err := context.Cause(m.ctx); err != nil {
		return 0, err
	}
	if m.left <= 0 {
		return 0, tooLarge(m.most)
	}
	n, err := m.from.Read(p)
	m.left -= n
	return n, err
}

func readBundle(ctx context.Context, from io.Reader, take Takeout) (bundle, error) {
	b := bundle{rest: map[string]json.RawMessage{}, inside: inside{byHash: map[Hash]int{}, purged: map[int64]gone{}}, take: take}
	m := &meter{ctx: ctx, from: from}
	m.allow(valueMost)
	in := jsontext.NewDecoder(m)
	err := b.read(in, m)
	if fault, ok := errors.AsType[takeoutError](err); ok {
		return b, fault.error
	}
	switch {
	case err == nil:
		return b, nil
	case ctx.Err() != nil:
		return b, context.Cause(ctx)
	case errors.Is(err, errLarge):
		return b, fmt.Errorf("%w: %w, %s", ErrUnreadable, tooLarge(m.most), b.reached())
	case errors.Is(err, io.ErrUnexpectedEOF), errors.Is(err, io.EOF):
		return b, fmt.Errorf("%w: it ends in the middle, %s", ErrUnreadable, b.reached())
	}
	return b, fmt.Errorf("%w: %s, %s", ErrUnreadable, plainFault(err), b.reached())
}

func (b *bundle) reached() string {
	switch len(b.entries) {
	case 0:
		return "before the first entry"
	case 1:
		return "behind the first entry"
	}
	return fmt.Sprintf("behind %d entries", len(b.entries))
}

var errNoBundle = errors.New("it is no object with entries, as `readback export --as json` writes it")

func (b *bundle) read(in *jsontext.Decoder, m *meter) error {
	if in.PeekKind() != '{' {
		if _, err := in.ReadToken(); err != nil {
			return err
		}
		return errNoBundle
	}
	if _, err := in.ReadToken(); err != nil {
		return err
	}
	entries, rest := false, 0
	for in.PeekKind() == '"' {
		name, err := in.ReadToken()
		if err != nil {
			return err
		}
		m.allow(valueMost)
		switch name := name.String(); name {
		case "entries":
			entries = true
			err = b.readEntries(in, m)
		case "seal":
			err = b.readSeal(in)
		case "files":
			err = b.readFiles(in, m)
		default:
			var value jsontext.Value
			if value, err = in.ReadValue(); err == nil {
				if rest += len(name) + len(value); rest > valueMost {
					m.allow(valueMost)
					return errLarge
				}
				b.rest[name] = json.RawMessage(bytes.Clone(value))
			}
		}
		if err != nil {
			return err
		}
		m.allow(valueMost)
	}
	if _, err := in.ReadToken(); err != nil {
		return err
	}
	if _, err := in.ReadToken(); !errors.Is(err, io.EOF) {
		return errors.New("something stands behind its end")
	}
	if !entries {
		return errNoBundle
	}
	return nil
}

func (b *bundle) readEntries(in *jsontext.Decoder, m *meter) error {
	if in.PeekKind() != '[' {
		return errNoBundle
	}
	if _, err := in.ReadToken(); err != nil {
		return err
	}
	for in.PeekKind() != ']' {
		m.allow(entryLong)
		value, err := in.ReadValue()
		if err != nil {
			return err
		}
		if len(value) > entryLong { // what was read ahead is not counted
			return errLarge
		}
		if len(b.entries) == entryMost {
			return fmt.Errorf("it has more than %d entries", entryMost)
		}
		b.addEntry(value)
	}
	_, err := in.ReadToken()
	return err
}

// addEntry keeps of an entry what is told of it. Of those that do not hold all that could be told is kept of the
// first alone, so that no bundle takes more memory than its entries have hashes.
func (b *bundle) addEntry(text []byte) {
	e := readEntry(text)
	if len(b.entries) == 0 {
		b.job = e.job
	}
	known := slices.Index(b.jobs, e.job)
	switch {
	case known >= 0:
		e.job = b.jobs[known]
	case len(b.jobs) <= faultsShown:
		b.jobs = append(b.jobs, e.job)
	case e.fault == "":
		e.job, e.fault = "", "it is of yet another job"
	default:
		e.job = ""
	}
	if e.fault != "" {
		if b.faulty++; b.faulty > faultsShown {
			e.fault = "it does not hold"
		}
	}
	b.entries = append(b.entries, e)
	b.inside.note(len(b.entries)-1, &e, text)
	b.hear(&e, text)
}

// cut returns the beginning of text, as no more than so many bytes.
func cut(text string, most int) string {
	if len(text) <= most {
		return text
	}
	return strings.Clone(strings.ToValidUTF8(text[:most], "")) + "…"
}

func readEntry(text []byte) entry {
	var e entry
	leaf, err := EntryHash(text)
	if err != nil {
		e.fault = err.Error()
	}
	e.leaf = leaf
	var head struct {
		Job string `json:"job"`
		Seq int64  `json:"seq"`
	}
	if err := lenient(text, &head); err != nil {
		e.fault = "it is no entry of a record"
	}
	e.job, e.seq = head.Job, head.Seq
	if len(e.job) > jobLong {
		e.job, e.fault = cut(e.job, 80), fmt.Sprintf("its job has an id of %d bytes, which none has", len(e.job))
	}
	return e
}

func (b *bundle) readSeal(in *jsontext.Decoder) error {
	value, err := in.ReadValue()
	if err != nil {
		return err
	}
	var form struct {
		Version int64 `json:"version"`
	}
	if err := lenient(value, &form); err != nil {
		return errors.New("its seal is none")
	}
	if form.Version > Version {
		return fmt.Errorf("its seal has version %d, and this program knows %d: a newer readback made it, use that one", form.Version, Version)
	}
	b.seal = new(Seal)
	if err := strict(value, b.seal); err != nil {
		return fmt.Errorf("its seal is none: %w", err)
	}
	if b.seal.Version < 1 {
		return fmt.Errorf("its seal has version %d, which there never was", b.seal.Version)
	}
	return nil
}

// checkEntries holds the entries against the leaves, and those against the head of the job. It reports whether the
// leaves are those of the head.
func (b *bundle) checkEntries(r *Report) (leaves bool) {
	s := b.seal
	root, err := Root(s.Leaves)
	if err != nil || root != s.Job.Root || uint64(len(s.Leaves)) != s.Job.Size {
		r.wrong(0, "the hashes of the entries are not those of the job's head, which has %d entries", s.Job.Size)
	}
	before := len(r.Faults)
	leaves = before == 0
	shown := 0
	for i, e := range b.entries {
		if wrong := b.entryFault(i, e); wrong != "" {
			if shown++; shown <= faultsShown {
				r.wrong(int64(i+1), "%s", wrong)
			}
		}
	}
	if shown > faultsShown {
		r.wrong(0, "%d more entries do not hold", shown-faultsShown)
	}
	if n := len(b.entries); n < len(s.Leaves) {
		r.wrong(0, "%d were sealed and %d are here: the end is missing, or entries in between", len(s.Leaves), n)
	}
	b.tell(r)
	if before == len(r.Faults) {
		r.checked("each of the %d entries of job %s is what was sealed, in its place", len(b.entries), plain(s.Job.Job))
	}
	return leaves
}

// entryFault says what is wrong with the entry that stands at i, or "".
func (b *bundle) entryFault(i int, e entry) string {
	s := b.seal
	switch {
	case e.fault != "":
		return e.fault
	case e.job != s.Job.Job:
		return fmt.Sprintf("it is of job %.80q, and the seal of job %.80q", e.job, s.Job.Job)
	case e.seq != int64(i+1):
		return fmt.Sprintf("entry %d stands where entry %d should", e.seq, i+1)
	case i >= len(s.Leaves):
		return fmt.Sprintf("it was not sealed when the bundle was made, or was added: %d were sealed", len(s.Leaves))
	case e.leaf != s.Leaves[i]:
		return "it is not what was sealed"
	}
	return ""
}

// checkHead checks that the head of the job and the events of the key are in the shop log, and that its head
// is signed by the last key.
func (b *bundle) checkHead(r *Report) {
	s, before := b.seal, len(r.Faults)
	if leaf, err := s.Job.leaf(); err != nil || CheckInclusion(leaf, s.Index, s.Head.Size, s.Proof, s.Head.Root) != nil {
		r.wrong(0, "the job's head is not in the shop log that was signed")
	}
	if fault := s.Keys.fault(); fault != "" {
		r.wrong(0, "%s", fault)
		return
	}
	for _, e := range s.Keys {
		leaf, err := e.Entry.leaf()
		if err != nil || CheckInclusion(leaf, e.Index, s.Head.Size, e.Proof, s.Head.Root) != nil {
			r.wrong(0, "the key of %s is not in the shop log that was signed", clock(e.Entry.At))
		}
	}
	if err := s.Keys.checkHead(SignedHead{s.Head, s.Signature}); err != nil {
		r.wrong(0, "the head of the shop log is not signed by the shop's last key")
	}
	if s.Since != nil && CheckConsistency(s.Since.Size, s.Head.Size, s.Since.Proof, s.Since.Root, s.Head.Root) != nil {
		r.wrong(0, "the shop log did not grow from what it was at %d leaves", s.Since.Size)
	}
	if before == len(r.Faults) {
		r.checked("the head of the job, with %d entries, is in the shop log of %d leaves that key %s signed, by the shop's clock at %s: what was sealed is no later", s.Job.Size, s.Head.Size, s.Head.Key, clock(s.Head.At))
		if head, err := s.Head.Fingerprint(); err == nil {
			r.checked("that head of the shop log has the fingerprint %s, as print of the same head says", head)
		}
	}
}

// checkRest checks the statement about the rest of the bundle.
func (b *bundle) checkRest(r *Report) {
	s := b.seal
	if s.Export == nil {
		r.notChecked("whether the job had more entries at that head: nothing signed says how many it had, so ask the shop to export it again with its key at hand")
		if len(b.rest) > 0 {
			r.wrong(0, "what the bundle says beside its entries (%s) is not signed", plain(strings.Join(names(b.rest), ", ")))
		} else {
			r.notChecked("how the sounds and photos were found, and who handed the job over: the bundle says nothing of that but in its entries")
		}
		return
	}
	hash, err := restHash(s, b.rest)
	if err != nil || hash != s.Export.Rest {
		r.wrong(0, "what the bundle says beside its entries (%s) is not what was signed", plain(strings.Join(names(b.rest), ", ")))
		return
	}
	if len(s.Keys) == 0 || check(s.Keys.signer(s.Head.Size), exportContext, s.Export.signed(s.Job, s.Head.Key), s.Export.Signature) != nil {
		r.wrong(0, "what the bundle says beside its entries is not signed by the shop's last key")
		return
	}
	r.checked("what the bundle says beside its entries is what the server found when it was exported, at %s", clock(s.Export.At))
	switch n := s.Export.Entries; n {
	case 0:
		r.notChecked("whether the job had more entries at that head: the readback that made the bundle did not sign how many it had, so ask the shop to export it again")
	case s.Job.Size:
		r.checked("the shop signed that the job had %d entries at that head, and no more", n)
		r.Entire = true
	default:
		r.wrong(0, "the shop signed that the job had %d entries at that head, and the bundle proves %d: the end is missing", n, s.Job.Size)
	}
}

// checkKey checks that the key is the one that the auditor knows, or was vouched for by it.
func (b *bundle) checkKey(r *Report, want *Hash) {
	s := b.seal
	if want == nil {
		r.beyond("who signed: ask the shop, by another way than this bundle, whether %s is the fingerprint of its key, and give it with --key", s.Head.Key)
		return
	}
	if s.Keys.fault() != "" {
		return // told before
	}
	at := -1
	for i, e := range s.Keys {
		if e.Entry.Key.Fingerprint() == *want {
			at = i
		}
	}
	if at < 0 {
		r.wrong(0, "it is signed by key %s, and %s never signed in this log", s.Head.Key, *want)
		return
	}
	for _, e := range s.Keys[at+1:] {
		if e.Entry.Event == KeyLost {
			r.wrong(0, "key %s was given up at %s (%s) and does not vouch for the next, %s: ask the shop for the fingerprint of its key now", *want, clock(e.Entry.At), because(e.Entry), e.Entry.Key.Fingerprint())
			return
		}
	}
	if at == len(s.Keys)-1 {
		r.checked("it is signed by the key that you gave")
		return
	}
	r.checked("it is signed by a key for which the one that you gave vouches, in %d steps", len(s.Keys)-1-at)
}

func because(e Event) string {
	if e.Why == "" {
		return "no reason is told"
	}
	return plain(e.Why)
}

// plain writes text of a bundle for a terminal: as it is if all of it can be printed, and quoted otherwise.
func plain(text string) string {
	if quoted := strconv.QuoteToGraphic(text); quoted != `"`+text+`"` {
		return fmt.Sprintf("%.200s", quoted)
	}
	return fmt.Sprintf("%.200s", text)
}

// checkKnown holds the bundle against a head that the auditor has from elsewhere.
func (b *bundle) checkKnown(r *Report, known *SignedHead) {
	s := b.seal
	if known == nil {
		r.beyond("whether more was said on the job after this, and whether the shop showed others another log: give a head from the shop's witness with --head")
		return
	}
	if s.Keys.fault() != "" {
		return // told before
	}
	if err := s.Keys.checkHead(*known); err != nil {
		if known.Head.Log != s.Head.Log {
			r.wrong(0, "the head that you gave is of another log: %s, and not %s", known.Head.Log, s.Head.Log)
			return
		}
		if known.Head.Size <= s.Head.Size || known.Check(s.Keys[len(s.Keys)-1].Entry.Key) != nil {
			r.wrong(0, "the head that you gave is not signed by the shop's key of that time, as far as this bundle knows it")
			return
		}
	}
	switch was, is := known.Head, s.Head; {
	case was.Size > is.Size:
		r.wrong(0, "it is older than the head that you gave (%d leaves of %d): more may have been said since. Export it again", is.Size, was.Size)
	case was.Size == is.Size && was.Root != is.Root:
		r.wrong(0, "the head that you gave has the same size and another root: the shop has shown two records")
	case was.Size == is.Size:
		r.checked("the shop log is the one whose head you gave, and has nothing more")
	case s.Since == nil || s.Since.Size != was.Size:
		r.wrong(0, "it is newer than the head that you gave, and whether the log only grew since cannot be told: export it again with --head and that file")
	case s.Since.Root != was.Root:
		r.wrong(0, "the shop log did not grow from the one whose head you gave: what you knew was changed since")
	default:
		r.checked("the shop log grew from the one whose head you gave (%d leaves, %s), and nothing in it was changed since", was.Size, clock(was.At))
	}
}

// clock writes an instant for people, in UTC.
func clock(i journal.Instant) string { return i.Time().Format("2006-01-02 15:04:05 UTC") }
