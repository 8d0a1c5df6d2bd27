package main

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"readback/capture/journal/sqlite"
	"readback/search"
)

func searchCommand(s *std) *cobra.Command {
	var from source
	var limit int
	var order, words, like string
	c := &cobra.Command{
		Use:   "search QUERY (--data DIR | --server URL)",
		Short: "Search past notes by what they mean",
		Long: `Search finds notes of every job: what was said, what it was about, the job and the
person. Every word must be there, whatever its ending, or one that means the same: stuck
finds seized. Words in double quotes are found as they stand, one behind the other, and
-word leaves notes out. What a note denies ("no wear") is not found. Where few notes hold
every word, those come too whose job holds them.

"end play over 2 mm in long base", "since March", "by Ines", "out of limits" and a job's
id are filters. --order newest goes by time alone. The exit status is 0 also where nothing
is found.`,
		Example: `  readback search --server http://127.0.0.1:7425 thrust washer scored
  readback search --data ~/readback '"collar nut" MW-1041'
  readback search --data ~/readback --like MW-1041
  readback search --data ~/readback --words our-words.yaml nipped up`,
		Args: func(c *cobra.Command, args []string) error {
			if like != "" {
				return nil
			}
			return cobra.MinimumNArgs(1)(c, args)
		},
		RunE: func(c *cobra.Command, args []string) error {
			if limit < 1 {
				return hint(fmt.Errorf("--limit %d is not a count", limit), "give a whole number from 1")
			}
			if order != string(search.Best) && order != string(search.Newest) {
				return hint(fmt.Errorf("--order %s is none", order), "give best or newest")
			}
			if words != "" && from.server != "" {
				return hint(errors.New("a server goes by words of its own"), "start it with --words, or search with --data")
			}
			found, err := find(c.Context(), from, search.Query{Text: strings.Join(args, " "), Limit: limit, Order: search.Order(order), Like: like, Typed: true}, words)
			if err != nil {
				return err
			}
			for _, told := range found.Told {
				fmt.Fprintf(s.err, "readback: %s\n", told)
			}
			if found.Wide {
				fmt.Fprintln(s.err, "readback: few notes hold every word; jobs that hold them in several notes are among these")
			}
			for _, h := range found.Hits {
				fmt.Fprintf(s.out, "%s %s %d  %s: %s\n", h.At.Format("2006-01-02 15:04:05"), h.Job, h.Seq, h.Person, h.Text)
			}
			if more := found.Total - uint64(len(found.Hits)); more > 0 {
				fmt.Fprintf(s.err, "readback: %d more; raise --limit or add a word\n", more)
			}
			return nil
		},
	}
	from.register(c)
	c.Flags().StringVar(&order, "order", string(search.Best), "what comes first: `best or newest`")
	c.Flags().StringVar(&like, "like", "", "a `job`: look for jobs that had the same trouble")
	wordsFlag(c, &words)
	c.Flags().IntVar(&limit, "limit", 50, "the most notes to `show`")
	return c
}

// find searches through a server, or in a data folder without one.
func find(ctx context.Context, from source, query search.Query, words string) (found search.Results, err error) {
	if err := from.check(); err != nil {
		return found, err
	}
	if from.server != "" {
		q := url.Values{"q": {query.Text}, "limit": {strconv.Itoa(query.Limit)}, "order": {string(query.Order)}}
		if query.Like != "" {
			q.Set("like", query.Like)
		}
		err := from.get(ctx, "/api/search?"+q.Encode(), &found)
		return found, err
	}
	own, err := loadWords(words)
	if err != nil {
		return found, err
	}
	store, err := from.open(ctx)
	if err != nil {
		return found, err
	}
	defer func() { err = errors.Join(err, store.Close()) }()
	index, err := indexOf(ctx, from.data, store)
	if err != nil {
		return found, err
	}
	defer func() { err = errors.Join(err, index.Close()) }()
	index.Use(own.own.Groups)
	return index.Find(ctx, query)
}

// indexOf returns the index of a data folder, brought up to date. Where a server has it,
// or the folder cannot be written, one is built in memory.
func indexOf(ctx context.Context, data string, store *sqlite.Store) (*search.Index, error) {
	index, err := search.Open(filepath.Join(data, indexFolder))
	if err != nil {
		if index, err = search.OpenMemory(); err != nil {
			return nil, err
		}
	}
	if err := catchUp(ctx, store, index); err != nil {
		return nil, errors.Join(err, index.Close())
	}
	return index, nil
}

// catchUp copies into the index what it does not hold. An index of another journal is
// built again.
func catchUp(ctx context.Context, store *sqlite.Store, index *search.Index) error {
	mark, err := index.Last()
	if err != nil {
		return err
	}
	if mark.Position > 0 {
		at, err := store.After(ctx, mark.Position-1, 1)
		if err != nil {
			return err
		}
		if len(at) == 0 || at[0].Position != mark.Position || at[0].ID != mark.ID {
			mark = search.Mark{}
			if err := index.Reset(); err != nil {
				return err
			}
		}
	}
	for last := mark.Position; ; {
		entries, err := store.After(ctx, last, 1000)
		if err != nil || len(entries) == 0 {
			return err
		}
		if err := index.Put(entries); err != nil {
			return err
		}
		last = entries[len(entries)-1].Position
	}
}
