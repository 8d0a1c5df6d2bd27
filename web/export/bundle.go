package export

import (
	"bufio"
	"bytes"
	"context"
	"encoding/base64"
	"fmt"
	"io"
	"slices"

	"readback/capture/evidence"
	"readback/capture/seal"
)

// WriteWithFiles writes the record as a bundle with its sounds and photos inside, those that were found kept:
//
//	{"entries":[…],…,"seal":{…},"files":[{"hash":"…","parts":["base64 of 48 KiB",…]},…]}
//
// Each file stands there once, in the order of the entries that name them. They are read one after the other, and
// no more than one is in memory. Which are inside is signed with the rest. If one of them cannot be read any more
// it fails, and what was written is to be thrown away: it is torn.
func WriteWithFiles(ctx context.Context, to io.Writer, r Record, sounds, photos Reader) error {
	r.Evidence = slices.Clone(r.Evidence)
	var inside []Item
	known := map[string]bool{}
	for i := range r.Evidence {
		it := &r.Evidence[i]
		if it.Inside = it.State == Kept; it.Inside && !known[it.Hash] {
			known[it.Hash] = true
			inside = append(inside, *it)
		}
	}
	if len(inside) > 0 && r.Seal != nil {
		newer := *r.Seal
		newer.Version = seal.Version // an older program would say of it that it is not what was signed
		r.Seal = &newer
	}
	text, err := bundle(ctx, r)
	if err != nil {
		return err
	}
	out := bufio.NewWriterSize(to, 1<<16)
	if len(inside) == 0 {
		if _, err := out.Write(text); err != nil {
			return fmt.Errorf("export job %s: %w", r.State.ID, err)
		}
		return out.Flush()
	}
	_, err = out.Write(bytes.TrimSuffix(text, []byte("}\n")))
	for i := 0; err == nil && i < len(inside); i++ {
		if err = context.Cause(ctx); err != nil {
			break
		}
		from := sounds
		if inside[i].Sort == evidence.Photo {
			from = photos
		}
		begin := `,"files":[`
		if i > 0 {
			begin = ","
		}
		err = writeFile(out, begin, &inside[i], from)
	}
	if err == nil {
		_, err = out.WriteString("]}\n")
	}
	if err == nil {
		err = out.Flush()
	}
	if err != nil {
		return fmt.Errorf("export job %s with its files: %w", r.State.ID, err)
	}
	return nil
}

// writeFile writes one file, in parts.
func writeFile(out *bufio.Writer, begin string, it *Item, from Reader) error {
	data, err := from.Get(it.Hash)
	if err != nil {
		return fmt.Errorf("the %s of entry %d: %w", it.Sort, it.Seq, err)
	}
	if _, err := fmt.Fprintf(out, `%s{"hash":"%s","parts":[`, begin, it.Hash); err != nil {
		return err
	}
	var text []byte
	for i := 0; i < len(data); i += seal.FilePart {
		if i > 0 {
			text = append(text[:0], ',', '"')
		} else {
			text = append(text[:0], '"')
		}
		text = base64.StdEncoding.AppendEncode(text, data[i:min(i+seal.FilePart, len(data))])
		if _, err := out.Write(append(text, '"')); err != nil {
			return err
		}
	}
	_, err = out.WriteString("]}")
	return err
}
