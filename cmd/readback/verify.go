package main

import (
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"readback/capture/seal"
)

func verifyCommand(s *std) *cobra.Command {
	var key, head, dir string
	c := &cobra.Command{
		Use:   "verify BUNDLE... [--key FINGERPRINT] [--head FILE] [--files DIR]",
		Short: "Check an exported job: was anything changed, removed or added?",
		Long: `Verify checks a bundle that "export --as json" wrote, with nothing but the bundle, and says
what it has checked and what not. It ends with 0 if all that it checked holds, with 1 if
something does not, and with 2 if the file cannot be read as a bundle. Of several bundles it
writes a line each, what is wrong with it and in short what it leaves open, and a sum. It ends with 2 if
one of them cannot be read, also where another does not hold, and else with 1 if one does not hold.

A bundle alone shows that its entries are what was sealed, not who signed, nor whether more was
said since. That the job had no more entries by then is what the shop signs when it exports
with its key at hand; of a bundle without that it is told as not checked, also with --head,
since the shop's log has a head of the job for each entry, and so for fewer entries as well.
With --key, the fingerprint of the shop's key as the shop told you, it must be signed by
that key or by one for which it vouches. With --head, a signed head of the shop's log that
you have from elsewhere (the shop's witness file, or GET /api/seal/head), the record must
be the one of that head, or have grown from it: "export --head" with that file adds the proof.

Sounds and photos inside a bundle ("export --with-files") are checked against the hashes that the
entries name. Those whose entry is proven to be what was sealed are put into the folder of --files, to
listen to and look at: of a bundle without a seal, or not of the key of --key, that is none.`,
		Example: `  readback verify MW-1041.json --key 1f0c… --head heads.jsonl
  readback verify MW-1041.json --files MW-1041-sounds
  readback verify bundles/*.json --key 1f0c…`,
		Args: cobra.MinimumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			want, err := expected(key, head)
			if err != nil {
				return err
			}
			if dir != "" {
				take, err := newTakeout(dir)
				if err != nil {
					return err
				}
				want.Takeout = take
			}
			if len(args) > 1 {
				return verifyMany(c.Context(), s, args, want)
			}
			report, err := verifyFile(c.Context(), s.in, args[0], want)
			if err != nil {
				return err
			}
			tellReport(s.out, args[0], report)
			if !report.Holds() {
				return errFindings
			}
			return nil
		},
	}
	c.Flags().StringVar(&key, "key", "", "the `fingerprint` of the shop's key, as the shop told you")
	c.Flags().StringVar(&head, "head", "", "a `file` with a signed head of the shop's log; its last line counts")
	c.Flags().StringVar(&dir, "files", "", "put the sounds and photos inside, that hold, into this `folder`")
	return c
}

// expected reads what the auditor has from elsewhere.
func expected(key, head string) (seal.Expect, error) {
	var want seal.Expect
	if key != "" {
		fingerprint, err := fingerprintOf(key)
		if err != nil {
			return want, err
		}
		want.Key = &fingerprint
	}
	if head != "" {
		h, err := readHead(head)
		if err != nil {
			return want, err
		}
		want.Head = &h
	}
	return want, nil
}

// fingerprintOf reads a fingerprint as people write one: in either case, in groups.
func fingerprintOf(text string) (seal.Hash, error) {
	plain := strings.NewReplacer(" ", "", ":", "", "-", "").Replace(strings.ToLower(text))
	var out seal.Hash
	if err := out.UnmarshalText([]byte(plain)); err != nil {
		return out, hint(fmt.Errorf("--key %q is no fingerprint", text), "it has %d digits of hex, all of them: part of one could be another key's", hex.EncodedLen(len(out)))
	}
	return out, nil
}

func readHead(path string) (seal.SignedHead, error) {
	h, err := seal.ReadHead(path)
	if err != nil {
		return h, hint(fmt.Errorf("--head: %w", err), "name a witness file of the shop, or what GET /api/seal/head gave")
	}
	return h, nil
}

func verifyFile(ctx context.Context, in io.Reader, path string, want seal.Expect) (report seal.Report, err error) {
	if take, ok := want.Takeout.(*takeout); ok {
		defer func() { err = errors.Join(err, take.throwAway()) }()
	}
	from := in
	if path != "-" {
		f, err := os.Open(path)
		if err != nil {
			return report, hint(err, "name a file that `readback export --as json -o FILE` wrote")
		}
		defer func() { _ = f.Close() }() // it is only read
		from = f
	}
	report, err = seal.Verify(ctx, from, want)
	if errors.Is(err, seal.ErrUnreadable) {
		return report, hint(fmt.Errorf("%s: %w", path, err), "export the job again, and copy the whole file")
	}
	if err != nil {
		return report, fmt.Errorf("%s: %w", path, err)
	}
	return report, nil
}

// tellReport writes a report for people.
func tellReport(w io.Writer, name string, r seal.Report) {
	verdict := "It holds."
	if !r.Holds() {
		verdict = "It does not hold."
	}
	fmt.Fprintf(w, "%s: job %q, %s. %s\n", name, r.Job, counted(r.Entries, "entry", "entries"), verdict)
	tellFindings(w, r)
}
