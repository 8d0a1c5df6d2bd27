package facts

import (
	"context"
	"math/big"
	"slices"
	"strings"

	"readback/capture/journal"
	"readback/parse/unit"
)

// Range asks for readings by their value.
type Range struct {
	Callouts  []string // one of these; none: any
	Low, High *big.Rat // nil: no bound
	LowIn     bool     // Low itself is in
	HighIn    bool     // and High
	Unit      string   // UCUM code of both; "" or "1" for the unit of each reading
	Verdict   string   // "" for any
}

// Measured returns the positions of notes with such a reading, the newest first, at most limit;
// more says that there are others.
func (s *Store) Measured(ctx context.Context, r Range, limit int) (at []journal.Position, more bool, err error) {
	codes, err := s.units(ctx, r.Callouts)
	if err != nil {
		return nil, false, err
	}
	var where []string
	var args []any
	for _, code := range codes {
		low, ok1 := bound(r.Low, r.Unit, code)
		high, ok2 := bound(r.High, r.Unit, code)
		if !ok1 || !ok2 {
			continue
		}
		part := []string{"unit = ?"}
		args = append(args, code)
		for _, b := range []struct {
			value    *float64
			in       bool
			with, no string
		}{{low, r.LowIn, "value >= ?", "value > ?"}, {high, r.HighIn, "value <= ?", "value < ?"}} {
			if b.value == nil {
				continue
			}
			if args = append(args, *b.value); b.in {
				part = append(part, b.with)
			} else {
				part = append(part, b.no)
			}
		}
		where = append(where, "("+strings.Join(part, " AND ")+")")
	}
	if len(where) == 0 {
		return nil, false, nil
	}
	query := "SELECT DISTINCT position FROM readings WHERE (" + strings.Join(where, " OR ") + ")"
	if len(r.Callouts) > 0 {
		query += " AND callout IN (" + strings.TrimSuffix(strings.Repeat("?,", len(r.Callouts)), ",") + ")"
		for _, c := range r.Callouts {
			args = append(args, c)
		}
	}
	if r.Verdict != "" {
		query += " AND verdict = ?"
		args = append(args, r.Verdict)
	}
	args = append(args, limit+1)
	err = s.each(ctx, query+" ORDER BY position DESC LIMIT ?", func(scan func(...any) error) error {
		var p journal.Position
		err := scan(&p)
		at = append(at, p)
		return err
	}, args...)
	if len(at) > limit {
		at, more = at[:limit], true
	}
	return at, more, err
}

// units lists the units that readings of the callouts were said in.
func (s *Store) units(ctx context.Context, callouts []string) (codes []string, err error) {
	query, args := "SELECT DISTINCT unit FROM readings", []any{}
	if len(callouts) > 0 {
		query += " WHERE callout IN (" + strings.TrimSuffix(strings.Repeat("?,", len(callouts)), ",") + ")"
		for _, c := range callouts {
			args = append(args, c)
		}
	}
	err = s.each(ctx, query, func(scan func(...any) error) error {
		var code string
		err := scan(&code)
		codes = append(codes, code)
		return err
	}, args...)
	slices.Sort(codes)
	return codes, err
}

// bound returns v in another unit; ok is false where that is of another quantity.
func bound(v *big.Rat, from, to string) (y *float64, ok bool) {
	if v == nil {
		return nil, true
	}
	if from != "" && from != "1" && from != to {
		var err error
		if v, err = unit.Convert(v, from, to); err != nil {
			return nil, false
		}
	}
	f, _ := v.Float64()
	return &f, true
}
